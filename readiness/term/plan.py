"""Who stays and who moves, by the highest open stage and the places of classes. It proposes: the
desk moves a child from one class to another."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from readiness.models import ClassAim
from studio.models import Child, ClassGroup


@dataclass(frozen=True)
class Member:
    """A child with their classes and their highest open stage, by number."""

    child: Child
    classes: Sequence[ClassGroup]
    stage: int


@dataclass(frozen=True)
class Move:
    """``to``: None where no class of that stage in the same hall has a place; fits: whether there
    is one at all."""

    member: Member
    to: ClassGroup | None
    fits: bool


@dataclass(frozen=True)
class Plan:
    """Moves in the order of the members; after: how many children each class would have."""

    moves: list[Move]
    after: Counter[int]


def plan_term(members: Sequence[Member], aims: Sequence[ClassAim]) -> Plan:
    """A child of a class that is meant for their stage stays, and so does one of classes of which
    nothing is said. The others go where most places are left, one after the other."""
    by_class = {aim.group_id: aim for aim in aims}
    leaving = [member for member in members if not _stays(member, by_class)]
    staying = (member for member in members if _stays(member, by_class))
    after = Counter(group.pk for member in staying for group in member.classes)
    moves = []
    for member in leaving:
        halls = {group.location_id for group in member.classes}
        fitting = [aim for aim in aims if aim.group.location_id in halls and _is_for(aim, member)]
        free = [aim for aim in fitting if after[aim.group_id] < aim.places]
        best = max(free, key=lambda aim: (aim.places - after[aim.group_id], -aim.pk), default=None)
        if best is not None:
            after[best.group_id] += 1
        moves.append(Move(member, best.group if best else None, bool(fitting)))
    return Plan(moves, after)


def _stays(member: Member, aims: dict[int, ClassAim]) -> bool:
    known = [aims[group.pk] for group in member.classes if group.pk in aims]
    return not known or any(_is_for(aim, member) for aim in known)


def _is_for(aim: ClassAim, member: Member) -> bool:
    return aim.lowest <= member.stage <= aim.highest

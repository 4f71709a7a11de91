"""Children who may stand in the record twice. They are listed and never joined by the program.


Somebody who has looked at both may say that they are two: then they are listed no more.
"""

import datetime
import logging
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations

from django.db import transaction
from django.utils.translation import gettext as _

from studio.models import Child, ClassListChange, NotDouble, Staff
from studio.people.alike import Likes, Who, same_guardian, who_of

log = logging.getLogger("ladder.merging")


@dataclass(frozen=True)
class Double:
    """Two children who may be one, and what speaks for it."""

    one: Child
    other: Child
    why: tuple[str, ...]


def likely_doubles(children: Sequence[Child]) -> list[Double]:
    """Those who are alike, and of whom nobody has said that they are two; by name."""
    known = _said_to_be_two(children)
    likes: Likes[Child] = Likes()
    found = []
    for child in children:
        who = who_of(child)
        for other in likes.of(who):
            if frozenset((child.pk, other.pk)) not in known:
                found.append(Double(other, child, why_alike(other, child)))
        likes.add(who, child)
    return sorted(found, key=lambda each: each.one.search_key)


def came_unnamed(children: Iterable[Child]) -> list[Double]:
    """Those without a name who came into one class on one day: two tablets may have added one
    child. In one query."""
    unnamed = {child.pk: child for child in children if child.birth_year is None}
    came = ClassListChange.objects.filter(child__in=list(unnamed), joins=True)
    together: dict[tuple[int, datetime.date], list[Child]] = defaultdict(list)
    for key, group, day in came.order_by("child").values_list("child", "group", "day"):
        together[group, day].append(unnamed[key])
    why = (_("both came without a name into one class on one day"),)
    pairs = {pair for some in together.values() for pair in combinations(some, 2)}
    return [Double(*pair, why) for pair in sorted(pairs, key=lambda pair: [c.pk for c in pair])]


def doubles_of(child: Child, children: Iterable[Child]) -> list[Double]:
    """The same for one child."""
    others = [other for other in children if other != child]
    known = _said_to_be_two([child, *others])
    near = Likes((who_of(other), other) for other in others).of(who_of(child))
    return [
        Double(child, other, why_alike(child, other))
        for other in near
        if frozenset((child.pk, other.pk)) not in known
    ]


def why_alike(one: Child, other: Child) -> tuple[str, ...]:
    """What speaks for it that two who are alike are one child, in words."""
    who, other_who = who_of(one), who_of(other)
    said = [_name_words(one, other, who, other_who), _birth_words(one, other)]
    if same_guardian(who, other_who):
        said.append(_("the same guardian"))
    return tuple(filter(None, said))


def _name_words(one: Child, other: Child, who: Who, other_who: Who) -> str:
    words, others = set(who.words), set(other_who.words)
    if one.name_key == other.name_key:
        return _("the same name")
    if who.words == other_who.words:
        return _("the same name but for accents")
    if words == others:
        return _("the same names the other way round")
    if words & others and (words < others or others < words or same_guardian(who, other_who)):
        return _("a part of the name")
    return _("a name that is nearly the same")


def _birth_words(one: Child, other: Child) -> str:
    if one.birth_year is None or other.birth_year is None:
        return ""
    if one.born == other.born:
        return _("born in the same month") if one.birth_month else _("born in the same year")
    return _("another month of birth")


# Said to be two.


def say_two(one: Child, other: Child, by: Staff, now: datetime.datetime) -> None:
    """These are two children. Twice is once."""
    first, second = sorted((one, other), key=lambda child: child.pk)
    with transaction.atomic():
        list(Child.objects.filter(pk__in=[one.pk, other.pk]).order_by("pk").select_for_update())
        NotDouble.objects.get_or_create(
            one=first, other=second, ended_at=None, defaults={"by": by, "at": now}
        )
    log.info("two children one=%s other=%s by=%s", first.uuid, second.uuid, by.uuid)


def ask_again(row: NotDouble, by: Staff, now: datetime.datetime) -> None:
    """They may be one again. Twice is once."""
    NotDouble.objects.filter(pk=row.pk, ended_at=None).update(ended_at=now, ended_by=by)
    log.info("asked again one=%s other=%s by=%s", row.one.uuid, row.other.uuid, by.uuid)


def _said_to_be_two(children: Sequence[Child]) -> set[frozenset[int]]:
    """Pairs of the records that stand for the children."""
    rows = NotDouble.objects.filter(ended_at=None).select_related("one", "other")
    here = {child.pk for child in children}
    pairs = (frozenset((row.one.root, row.other.root)) for row in rows)
    return {pair for pair in pairs if pair <= here}

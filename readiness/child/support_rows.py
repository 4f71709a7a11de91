"""The support that each drill asks of a child, the way back, and the taps that give less."""

import datetime
from collections.abc import Callable, Iterable, Sequence
from dataclasses import asdict, dataclass
from itertools import groupby

from readiness.child.forms import StepForm
from readiness.child.history import LATELY_DAYS
from readiness.child.lookup import names_of
from readiness.engine.reading import SupportReading
from readiness.engine.replay.next_step import Tap, WayBackNow
from readiness.models import Decision
from readiness.record.snapshots import stage_snapshot
from readiness.record.standings import Reading
from readiness.record.two_people.taps import may_tap, taps_to_make_up
from readiness.words.decisions import give_support_label, step_stays_label, who_gives
from readiness.words.names import Names
from readiness.words.re_check import way_back_sentence, way_back_waits
from readiness.words.support import support_reasons
from studio.models import Child, Staff


@dataclass(frozen=True)
class Allowed:
    """The support on some surfaces; ``amount`` is None where the drill is not for now."""

    where: str
    amount: int | None
    why: list[str]


@dataclass(frozen=True)
class TapButton:
    """The form and the words of a step of less support that waits for a coach's yes."""

    form: StepForm
    label: str


@dataclass(frozen=True)
class BackStep:
    """One step of the way back: its support, and whether it is where the child is now."""

    amount: int
    now: bool


@dataclass(frozen=True)
class SupportRow:
    """A drill with the support it asks for and what brings less. ``shown``: done lately, or on
    the way back; the others are folded away. make_up: taps for steps that were given without.
    theirs: whose yes it waits for, where it is not this person's."""

    key: str
    drill: str
    allowed: list[Allowed]
    steps: list[BackStep]
    next_step: str
    taps: list[TapButton]
    make_up: list[TapButton]
    theirs: list[str]
    shown: bool


def support_rows(reading: Reading, staff: Staff, given: set[tuple[str, int]]) -> list[SupportRow]:
    """The drills that hands may help with, as far as they are open. ``given``: today's taps."""
    names = names_of(reading)
    backs = {back.drill: back for back in reading.read.ways_back}
    fallen = {entry.drill for entry in reading.read.support if entry.allowed.falls}
    due, overdue = (
        [tap for tap in some if (tap.drill, tap.support) not in given]
        for some in (reading.read.taps, taps_to_make_up(reading))
    )
    taps, make_up = ([tap for tap in some if _may(staff, reading, tap)] for some in (due, overdue))
    rows = []
    for key, entries in groupby(reading.read.support, key=lambda entry: entry.drill):
        on_surfaces = list(entries)
        drill = reading.ladder.engine.drills[key]
        if all(entry.allowed.causes == ("closed",) for entry in on_surfaces):
            continue
        if not drill.taught_by_hand and all(not entry.allowed.causes for entry in on_surfaces):
            continue
        # A fall of today starts the way back again: steps taken on it before no longer count.
        back = None if key in fallen else backs.get(key)
        next_step = way_back_sentence(back, given) if back else ""
        if key in fallen and any(entry.allowed.causes for entry in on_surfaces):
            next_step = way_back_waits()
        rows.append(
            SupportRow(
                key=key,
                drill=names.drill(key),
                allowed=_allowed(on_surfaces, names),
                steps=_back_steps(back) if back else [],
                next_step=next_step,
                taps=_buttons(reading, taps, key, give_support_label),
                make_up=_buttons(reading, make_up, key, step_stays_label),
                theirs=[who_gives(tap) for tap in due if tap.drill == key and tap not in taps],
                shown=back is not None or _done_lately(reading, key),
            )
        )
    return rows


def _done_lately(reading: Reading, drill: str) -> bool:
    day = reading.read.day
    days = reading.evidence.days(drill, day)
    return bool(days) and (day - days[-1]).days <= LATELY_DAYS


def _allowed(on_surfaces: Sequence[SupportReading], names: Names) -> list[Allowed]:
    """Surfaces side by side with the same answer share an entry."""
    result = []
    groups = [
        list(group)
        for _answer, group in groupby(
            on_surfaces, key=lambda entry: (entry.allowed.support, entry.allowed.causes)
        )
    ]
    for group in groups:
        allowed = group[0].allowed
        where = ""
        if len(groups) > 1:
            where = names.surfaces([entry.surface for entry in group])
        result.append(
            Allowed(
                where=where,
                amount=None if allowed.support is None else int(allowed.support),
                why=support_reasons(names, allowed.causes),
            )
        )
    return result


def _back_steps(back: WayBackNow) -> list[BackStep]:
    """From where the child is down to the goal; none if no support is left to give less of."""
    if back.level <= back.goal:
        return []
    return [
        BackStep(amount, amount == back.level) for amount in range(back.level, back.goal - 1, -1)
    ]


def _buttons(
    reading: Reading, taps: Iterable[Tap], drill: str, label: Callable[[Names, Tap], str]
) -> list[TapButton]:
    names = names_of(reading)
    return [
        TapButton(_tap_form(reading, tap), label(names, tap)) for tap in taps if tap.drill == drill
    ]


def _may(staff: Staff, reading: Reading, tap: Tap) -> bool:
    return may_tap(staff, tap, reading.child, reading.ladder.engine, reading.read.day)


def _tap_form(reading: Reading, tap: Tap) -> StepForm:
    snapshot = stage_snapshot(reading, tap.stage)
    return StepForm(
        auto_id=f"step-{tap.drill}-{int(tap.support)}-%s",
        initial={
            "drill": tap.drill,
            "support": int(tap.support),
            **asdict(snapshot),
        },
    )


def taps_given_on(child: Child, day: datetime.date) -> set[tuple[str, int]]:
    """The steps given on a day; they count from the next one."""
    given = Decision.objects.filter(child__in=child.records, kind=Decision.Kind.STEP, day=day)
    return {
        (drill, support)
        for drill, support in given.values_list("drill__key", "support")
        if drill is not None and support is not None
    }

"""What the evidence page shows of one child's record for one stage."""

import datetime
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TypeVar

from readiness.child.decision_forms import SeenForm, surface_choices
from readiness.child.history import decision_data
from readiness.child.lookup import names_of
from readiness.child.stage_panel import stage_panel
from readiness.child.standing_now import standing_now
from readiness.engine.evidence import Scope, counts
from readiness.engine.ladder import CleanGate
from readiness.engine.tallies import Tally
from readiness.evidence.forms import (
    ExceptionForm,
    RecommendForm,
    SendBackForm,
    SignForm,
    SurfaceForm,
)
from readiness.models import Decision
from readiness.record.decisions import (
    exception_of,
    exception_would_help,
    is_for_review,
    last_review,
    seen_stage,
    signed_today,
    surfaces_met,
)
from readiness.record.standings import Reading
from readiness.words.decisions import decision_text
from readiness.words.numbers import none_in_words
from studio.access import deciders, may_decide
from studio.models import Staff
from studio.templatetags.marks import percent

Form = TypeVar("Form", bound=SeenForm)
OnSurface = TypeVar("OnSurface", bound=SurfaceForm)

# How often clean is counted over as many days as the gates look back.
COUNTED_DAYS = 84


def page_context(
    reading: Reading, code: str, staff: Staff, refused: object = None
) -> dict[str, object]:
    """What the template names. ``refused``: a form that takes the place of a new one."""
    rows = day_rows(reading, code)
    return {
        "child": reading.child,
        "reading": reading,
        "stage": stage_panel(reading, code),
        "clean_counts": clean_counts(reading, code),
        "days": rows,
        "graders": graders(rows),
        "history": history(reading, code),
        "desk": desk(reading, code, staff, refused),
        "decides": may_decide(staff),
        **standing_now(reading),
    }


@dataclass(frozen=True)
class CleanCount:
    """How often clean, and apart from it the turns since the last stop sign.

    share: of clean turns, 0 to 1; None with no turns. stop_day: of the last stop sign.
    """

    drill: str
    support: int
    turns: int
    clean: int
    share: float | None
    stop_day: datetime.date | None
    since: int
    bound: str

    @property
    def percent(self) -> int:
        """The share as a whole percentage, rounded down."""
        return percent(self.share or 0.0)


@dataclass(frozen=True)
class DayRow:
    """The turns of one day, surface, support and author at a drill."""

    day: datetime.date
    drill: str
    surface: str
    support: int
    turns: int
    clean: int
    graded: int
    stop_signs: int
    by: str
    counts: bool


@dataclass(frozen=True)
class PastDecision:
    text: str
    by: str
    at: datetime.datetime
    reason: str
    ladder: int


def clean_gates(reading: Reading, code: str) -> list[CleanGate]:
    """The clean gates at the stage's own skills; of a stage with none, all its clean gates."""
    stage = reading.ladder.engine.stage[code]
    gates = [gate for gate in stage.gates if isinstance(gate, CleanGate)]
    return [gate for gate in gates if gate.graded] or gates


def clean_counts(reading: Reading, code: str) -> list[CleanCount]:
    """For each of these gates: k of n clean, and the turns since the last stop sign."""
    return [_clean_count(reading, gate) for gate in clean_gates(reading, code)]


def _clean_count(reading: Reading, gate: CleanGate) -> CleanCount:
    evidence, ladder, day = reading.evidence, reading.ladder.engine, reading.read.day
    scope = Scope(gate.support)
    days = evidence.clean_days(gate.drill, ladder, day, scope)
    recent = [entry for entry in days if (day - entry[0]).days <= COUNTED_DAYS]
    turns, clean = sum(n for _, n, _ in recent), sum(k for _, _, k in recent)
    stop_day = evidence.last_stop_day(gate.drill, day)
    since = sum(n for then, n, _ in days if stop_day is None or then > stop_day)
    return CleanCount(
        drill=names_of(reading).drill(gate.drill),
        support=int(gate.support),
        turns=turns,
        clean=clean,
        share=clean / turns if turns else None,
        stop_day=stop_day,
        since=since,
        bound=none_in_words(since) if since else "",
    )


def day_rows(reading: Reading, code: str) -> list[DayRow]:
    """Which days, on what surface, with what support, logged by whom; newest first."""
    evidence, day = reading.evidence, reading.read.day
    tallies: list[tuple[Tally, bool]] = []
    for gate in clean_gates(reading, code):
        scope = Scope(
            gate.support, reading.read.stage(code).surface if gate.signed_surface else None
        )
        for then in evidence.days(gate.drill, day):
            if (day - then).days <= COUNTED_DAYS:
                tallies.extend(
                    (tally, counts(tally, reading.ladder.engine, scope))
                    for tally in evidence.on(gate.drill, then)
                )
    authors = {tally.author for tally, _ in tallies}
    names = {staff.pk: staff.called for staff in Staff.objects.filter(pk__in=authors)}
    tallies.sort(key=lambda item: (item[0].day, item[0].first_at, item[0].first_id), reverse=True)
    return [_day_row(reading, tally, inside, names) for tally, inside in tallies]


def _day_row(reading: Reading, tally: Tally, inside: bool, authors: dict[int, str]) -> DayRow:
    names = names_of(reading)
    return DayRow(
        day=tally.day,
        drill=names.drill(tally.drill),
        surface=names.surface(tally.surface),
        support=tally.support,
        turns=tally.turns,
        clean=tally.clean,
        graded=tally.graded,
        stop_signs=tally.stop_signs,
        by=authors.get(tally.author, ""),
        counts=inside,
    )


def graders(rows: Iterable[DayRow]) -> list[tuple[str, int, int]]:
    """Who graded: name, graded turns, days."""
    turns: dict[str, int] = defaultdict(int)
    days: dict[str, set[datetime.date]] = defaultdict(set)
    for row in rows:
        if row.graded:
            turns[row.by] += row.graded
            days[row.by].add(row.day)
    return [(name, turns[name], len(days[name])) for name in sorted(turns)]


def history(reading: Reading, code: str) -> list[PastDecision]:
    """Everything decided about the stage, newest first."""
    names = names_of(reading)
    decisions = (
        Decision.objects.filter(child=reading.child, stage=code)
        .select_related("by", "surface", "drill", "ladder")
        .order_by("-at", "-pk")
    )
    return [
        PastDecision(
            text=decision_text(names, decision_data(decision)),
            by=decision.by.called,
            at=decision.at,
            reason=decision.reason,
            ladder=decision.ladder.number,
        )
        for decision in decisions
    ]


@dataclass(frozen=True)
class Desk:
    """What may be decided now, by this person; a form is None where it may not be.

    waiting: the recommendation that nobody has answered. own: this person made it.
    alone: nobody else may sign for this child today. signed: signed today.
    """

    recommend: RecommendForm | None
    sign: SignForm | None
    send_back: SendBackForm | None
    exception: ExceptionForm | None
    excepted: Decision | None
    waiting: Decision | None
    own: bool
    alone: bool
    signed: Decision | None
    for_review: bool


def desk(reading: Reading, code: str, staff: Staff, refused: object = None) -> Desk:
    """The forms of the evidence page, each made from this reading; ``refused``, a form that
    was not taken, stands in the place of a new one."""
    last, for_review = last_review(reading.child, code), is_for_review(reading, code)
    waiting = last if last is not None and last.kind == Decision.Kind.RECOMMEND else None
    own = waiting is not None and waiting.by_id == staff.pk
    signed, decides = signed_today(reading, last), may_decide(staff)
    opening = reading.read.stage(code).opening
    closes = for_review or (opening is not None and opening.how == "signature")
    excepted = exception_of(reading.child, code)
    others = deciders(reading.child, reading.read.day).exclude(pk=staff.pk)
    forms = _Forms(reading, code, refused)
    return Desk(
        recommend=forms.recommend(for_review and waiting is None and not signed),
        sign=forms.sign(for_review and decides and not own, waiting),
        send_back=forms.plain(SendBackForm, decides and (waiting is not None or closes)),
        exception=forms.plain(
            ExceptionForm, decides and excepted is None and exception_would_help(reading, code)
        ),
        excepted=excepted,
        waiting=waiting,
        own=own,
        alone=not others.exists(),
        signed=last if signed else None,
        for_review=for_review,
    )


@dataclass(frozen=True)
class _Forms:
    """Makes the forms of one reading."""

    reading: Reading
    code: str
    refused: object

    def plain(self, kind: type[Form], wanted: bool) -> Form | None:
        if not wanted:
            return None
        if isinstance(self.refused, kind):
            return self.refused
        seen = seen_stage(self.reading, self.code)
        return kind(initial={"digest": seen.digest, "last": seen.last})

    def recommend(self, wanted: bool) -> RecommendForm | None:
        form = self.plain(RecommendForm, wanted)
        return self._offer(form, surfaces_met(self.reading, self.code)) if form else None

    def sign(self, wanted: bool, waiting: Decision | None) -> SignForm | None:
        """For the surface that was recommended, and easier ones."""
        form = self.plain(SignForm, wanted and waiting is not None)
        if form is None or waiting is None:
            return None
        surfaces = surfaces_met(self.reading, self.code)
        if waiting.surface is not None:
            rank, most = self.reading.ladder.engine.rank, waiting.surface.key
            surfaces = [key for key in surfaces if rank(key) <= rank(most)]
        return self._offer(form, surfaces)

    def _offer(self, form: OnSurface, surfaces: list[str]) -> OnSurface:
        """The hardest surface is chosen at first."""
        form.offer(surface_choices(self.reading.ladder, surfaces))
        form.initial["surface"] = surfaces[-1] if surfaces else ""
        return form

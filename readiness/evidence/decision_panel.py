"""What may be decided on the evidence page, by whom, and the form of each decision."""

import datetime
from dataclasses import asdict, dataclass
from typing import TypeVar

from readiness.child.decision_forms import SnapshotForm, surface_choices
from readiness.child.lookup import names_of
from readiness.evidence.changes import drill_changes, gate_changes
from readiness.evidence.forms import (
    CloseForm,
    ExceptionForm,
    RecommendForm,
    SendBackForm,
    SignForm,
    SurfaceForm,
)
from readiness.evidence.turns import clean_gates
from readiness.evidence.words import change_sentences, now_and_tomorrow
from readiness.models import Decision
from readiness.record.decisions import exception_of, exception_would_help
from readiness.record.latest_events import latest_events
from readiness.record.snapshots import last_review, stage_snapshot
from readiness.record.standings import Reading, read
from readiness.record.two_people.signing import (
    is_for_review,
    may_be_closed,
    may_be_sent_back,
    seen_lately,
    signed_today,
    surfaces_met,
)
from readiness.words.decisions import not_yet_line
from studio.access import deciders, may_decide, may_direct, may_recommend
from studio.models import Staff
from studio.people.family import is_family

Form = TypeVar("Form", bound=SnapshotForm)
OnSurface = TypeVar("OnSurface", bound=SurfaceForm)


@dataclass(frozen=True)
class DecisionPanel:
    """What may be decided now, by this person; a form is None where it may not be.

    not_yet: what a director said last, where nothing was signed or closed since; empty if nothing.
    waiting: the recommendation that nobody has answered. changes: what has changed since then.
    own: this person made it. family: this person is family of the child; asked_by_family: so is
    whoever recommended.
    now: of a stage that was decided today, what is true now and from tomorrow.
    alone: nobody else may sign for this child today. signed: signed today.
    """

    recommend: RecommendForm | None
    sign: SignForm | None
    send_back: SendBackForm | None
    close: CloseForm | None
    exception: ExceptionForm | None
    excepted: Decision | None
    not_yet: str
    waiting: Decision | None
    changes: list[str]
    own: bool
    family: bool
    asked_by_family: bool
    now: list[str]
    alone: bool
    signed: Decision | None
    for_review: bool


def decision_panel(
    reading: Reading, code: str, staff: Staff, refused: object = None
) -> DecisionPanel:
    """The forms of the evidence page, each made from this reading; ``refused``, a form that
    was not taken, takes the place of a new one."""
    last, for_review = last_review(reading.child, code), is_for_review(reading, code)
    waiting = last if last is not None and last.kind == Decision.Kind.RECOMMEND else None
    own = waiting is not None and waiting.by_id == staff.pk
    signed, family = signed_today(reading, last), is_family(staff, reading.child)
    decides, recommends = may_decide(staff) and not family, may_recommend(staff) and not family
    excepted = exception_of(reading.child, code)
    others = deciders(reading.child, reading.read.day).exclude(pk=staff.pk)
    forms = _Forms(reading, code, staff, refused)
    return DecisionPanel(
        recommend=forms.recommend(for_review and waiting is None and not signed and recommends),
        sign=forms.sign(for_review and decides and not own, waiting),
        send_back=forms.plain(SendBackForm, decides and may_be_sent_back(reading, code, last)),
        close=forms.plain(CloseForm, decides and may_be_closed(reading, code, last)),
        exception=forms.exception(decides and may_direct(staff) and excepted is None),
        excepted=excepted,
        not_yet=_not_yet(reading, code),
        waiting=waiting,
        changes=_changes(reading, waiting) if waiting else [],
        own=own,
        family=family,
        asked_by_family=waiting is not None and is_family(waiting.by, reading.child),
        now=_now_and_tomorrow(reading, code, last),
        alone=not others.exists(),
        signed=last if signed else None,
        for_review=for_review,
    )


def _not_yet(reading: Reading, code: str) -> str:
    said = latest_events([reading.child.pk])[reading.child.pk].not_yet(code)
    return not_yet_line(names_of(reading), said.by, said.day, said.word) if said else ""


def _now_and_tomorrow(reading: Reading, code: str, last: Decision | None) -> list[str]:
    day = reading.read.day
    if last is None or last.day != day or last.kind == Decision.Kind.RECOMMEND:
        return []
    tomorrow = read(reading.child, day + datetime.timedelta(days=1))
    stages = reading.read.stage(code), tomorrow.read.stage(code)
    return now_and_tomorrow(names_of(reading), *stages)


def _changes(reading: Reading, recommended: Decision) -> list[str]:
    drills, gates = drill_changes(reading, recommended), gate_changes(reading, recommended)
    return change_sentences(names_of(reading), drills, gates)


@dataclass(frozen=True)
class _Forms:
    """Makes the forms of one reading for one person."""

    reading: Reading
    code: str
    staff: Staff
    refused: object

    def plain(self, kind: type[Form], wanted: bool) -> Form | None:
        if not wanted:
            return None
        if isinstance(self.refused, kind):
            return self.refused
        return kind(initial=asdict(stage_snapshot(self.reading, self.code)))

    def exception(self, wanted: bool) -> ExceptionForm | None:
        return self.plain(ExceptionForm, wanted and exception_would_help(self.reading, self.code))

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
        form.initial["seen_on"] = self._graded_on()
        return self._offer(form, surfaces)

    def _graded_on(self) -> datetime.date | None:
        """The last day, not too long ago, on which this person graded turns at the stage's
        skills."""
        evidence, day = self.reading.evidence, self.reading.read.day
        days = (
            then
            for drill in {gate.drill for gate in clean_gates(self.reading, self.code)}
            for then in evidence.days(drill, day)
            if seen_lately(then, day)
            and any(t.author == self.staff.pk and t.graded for t in evidence.on(drill, then))
        )
        return max(days, default=None)

    def _offer(self, form: OnSurface, surfaces: list[str]) -> OnSurface:
        """The hardest surface is chosen at first."""
        form.offer(surface_choices(self.reading.ladder, surfaces))
        form.initial["surface"] = surfaces[-1] if surfaces else ""
        return form

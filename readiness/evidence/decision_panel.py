"""What may be decided on the evidence page, by whom, and the form of each decision."""

from dataclasses import asdict, dataclass
from typing import TypeVar

from readiness.child.decision_forms import SnapshotForm, surface_choices
from readiness.child.lookup import names_of
from readiness.evidence.changes import drill_changes, gate_changes
from readiness.evidence.forms import (
    ExceptionForm,
    RecommendForm,
    SendBackForm,
    SignForm,
    SurfaceForm,
)
from readiness.evidence.words import change_sentences
from readiness.models import Decision
from readiness.record.decisions import (
    exception_of,
    exception_would_help,
    is_for_review,
    signed_today,
    surfaces_met,
)
from readiness.record.snapshots import last_review, stage_snapshot
from readiness.record.standings import Reading
from studio.access import deciders, may_decide, may_direct, may_recommend
from studio.models import Staff

Form = TypeVar("Form", bound=SnapshotForm)
OnSurface = TypeVar("OnSurface", bound=SurfaceForm)


@dataclass(frozen=True)
class DecisionPanel:
    """What may be decided now, by this person; a form is None where it may not be.

    waiting: the recommendation that nobody has answered. changes: what has changed since then.
    own: this person made it.
    alone: nobody else may sign for this child today. signed: signed today.
    """

    recommend: RecommendForm | None
    sign: SignForm | None
    send_back: SendBackForm | None
    exception: ExceptionForm | None
    excepted: Decision | None
    waiting: Decision | None
    changes: list[str]
    own: bool
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
    signed, decides = signed_today(reading, last), may_decide(staff)
    opening = reading.read.stage(code).opening
    closes = for_review or (opening is not None and opening.how == "signature")
    excepted = exception_of(reading.child, code)
    others = deciders(reading.child, reading.read.day).exclude(pk=staff.pk)
    forms = _Forms(reading, code, refused)
    return DecisionPanel(
        recommend=forms.recommend(
            for_review and waiting is None and not signed and may_recommend(staff)
        ),
        sign=forms.sign(for_review and decides and not own, waiting),
        send_back=forms.plain(SendBackForm, decides and (waiting is not None or closes)),
        exception=forms.plain(
            ExceptionForm,
            may_direct(staff) and excepted is None and exception_would_help(reading, code),
        ),
        excepted=excepted,
        waiting=waiting,
        changes=_changes(reading, waiting) if waiting else [],
        own=own,
        alone=not others.exists(),
        signed=last if signed else None,
        for_review=for_review,
    )


def _changes(reading: Reading, recommended: Decision) -> list[str]:
    drills, gates = drill_changes(reading, recommended), gate_changes(reading, recommended)
    return change_sentences(names_of(reading), drills, gates)


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
        return kind(initial=asdict(stage_snapshot(self.reading, self.code)))

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

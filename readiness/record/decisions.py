"""What coaches and directors decide about a child, and when that is refused.

Each verb locks the child's row, reads the record again, and decides only if it is still what
the person saw; then the decision is stored with its reading and the standing is refreshed. A
refusal is a DecisionRefused with a code; readiness.words.refusals has its
sentence. Nothing is stored if anything is refused.
"""

import datetime
import logging
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from django.db import transaction

from progression.models import Drill, LadderVersion, Surface
from readiness.models import Decision, Pause, PauseLift, Placing
from readiness.record.latest_events import latest_events
from readiness.record.snapshots import Snapshot, last_review, stage_json, stage_snapshot_digest
from readiness.record.standings import (
    Reading,
    digest_of,
    lock,
    read,
    refresh_standings,
)
from readiness.record.told.alerts import alert_classes_of
from readiness.record.two_people.new_accounts import gate_drills, too_new
from readiness.record.two_people.signing import (
    is_for_review,
    may_be_closed,
    may_be_sent_back,
    seen_lately,
    signed_today,
    surfaces_met,
)
from readiness.record.two_people.taps import may_tap, taps_to_make_up
from studio.access import (
    may_decide,
    may_decide_on,
    may_direct,
    may_direct_for,
    may_pause,
    may_recommend,
    may_recommend_for,
)
from studio.audit.chain import note
from studio.models import AuditEntry, Child, Staff
from studio.people.today import local_today, zone_of

log = logging.getLogger("ladder.decisions")

# A child is placed at this stage at most; what lies above is reached by gates and signature.
HIGHEST_PLACING = 7


Decided = Decision | Placing | PauseLift
# A verb that decides about one stage.
Verb = Callable[..., Decision]


class DecisionRefused(Exception):
    """Nothing was decided. ``code`` says why; ``details`` holds what its sentence names."""

    def __init__(self, code: str, **details: object) -> None:
        super().__init__(code)
        self.code = code
        self.details = details


# --- the verbs -----------------------------------------------------------------------


def recommend(
    child: Child,
    stage: str,
    by: Staff,
    snapshot: Snapshot,
    now: datetime.datetime,
    surface: str,
    reason: str = "",
) -> Decision:
    """Recommend a stage for a signature by somebody else, on a surface."""
    refuse_unless(may_recommend(by), "may-not")
    with _locked_case(child, by, now) as case:
        last = case.check_unchanged(stage, snapshot)
        waits = last is not None and last.kind == Decision.Kind.RECOMMEND
        if last is not None and (waits or signed_today(case.reading, last)):
            raise already_decided(last)
        refuse_unless(is_for_review(case.reading, stage), "not-for-review")
        refuse_unless(surface in surfaces_met(case.reading, stage), "surface-not-met")
        return case.record(Decision.Kind.RECOMMEND, stage, reason, surface=surface)


def sign(
    child: Child,
    stage: str,
    by: Staff,
    snapshot: Snapshot,
    now: datetime.datetime,
    surface: str,
    seen_on: datetime.date,
    reason: str = "",
) -> Decision:
    """Sign a stage that somebody else recommended, for that surface or an easier one. ``seen_on``:
    the day on which the signer saw the child do it."""
    refuse_unless(may_decide(by), "may-not")
    with _locked_case(child, by, now) as case:
        last = case.check_unchanged(stage, snapshot)
        if last is not None and signed_today(case.reading, last):
            raise already_decided(last)
        refuse_unless(is_for_review(case.reading, stage), "not-for-review")
        if last is None or last.kind != Decision.Kind.RECOMMEND:
            raise DecisionRefused("no-recommendation")
        refuse_unless(last.by_id != by.pk, "same-person")
        code = too_new(case.reading, gate_drills(case.reading, stage), last.by, by)
        refuse_unless(not code, code)
        rank = case.reading.ladder.engine.rank
        easier = last.surface is None or rank(surface) <= rank(last.surface.key)
        refuse_unless(easier and surface in surfaces_met(case.reading, stage), "surface-not-met")
        refuse_unless(seen_lately(seen_on, case.reading.read.day), "not-seen-lately")
        return case.record(
            Decision.Kind.SIGN, stage, reason, surface=surface, answers=last, seen_on=seen_on
        )


def send_back(
    child: Child, stage: str, by: Staff, snapshot: Snapshot, now: datetime.datetime, reason: str
) -> Decision:
    """Not yet. A stage that is open stays so, on the surface that it was signed for."""
    refuse_unless(may_decide(by), "may-not")
    refuse_unless(bool(reason.strip()), "reason-missing")
    with _locked_case(child, by, now) as case:
        last = case.check_unchanged(stage, snapshot)
        refuse_unless(may_be_sent_back(case.reading, stage, last), "not-for-review")
        waits = last is not None and last.kind == Decision.Kind.RECOMMEND
        is_open = case.reading.read.stage(stage).opening is not None
        kind = Decision.Kind.STAYS if is_open else Decision.Kind.SEND_BACK
        return case.record(kind, stage, reason.strip(), answers=last if waits else None)


def close(
    child: Child, stage: str, by: Staff, snapshot: Snapshot, now: datetime.datetime, reason: str
) -> Decision:
    """A stage that was signed closes at once; one that was signed today does not open."""
    refuse_unless(may_decide(by), "may-not")
    refuse_unless(bool(reason.strip()), "reason-missing")
    with _locked_case(child, by, now) as case:
        last = case.check_unchanged(stage, snapshot)
        refuse_unless(may_be_closed(case.reading, stage, last), "not-signed")
        waits = last is not None and last.kind == Decision.Kind.RECOMMEND
        answers = last if waits else None
        closed = case.record(Decision.Kind.CLOSE, stage, reason.strip(), answers=answers)
        alert_classes_of(child, closed.day)
        return closed


def write_exception(
    child: Child, stage: str, by: Staff, snapshot: Snapshot, now: datetime.datetime, reason: str
) -> Decision:
    """Let a stage be entered without one that it names as its exception."""
    refuse_unless(may_direct(by), "may-not")
    refuse_unless(bool(reason.strip()), "reason-missing")
    with _locked_case(child, by, now) as case:
        written = exception_of(child, stage)
        if written is not None:
            raise already_decided(written)
        case.check_unchanged(stage, snapshot)
        refuse_unless(exception_would_help(case.reading, stage), "no-exception")
        return case.record(Decision.Kind.EXCEPTION, stage, reason.strip())


def exception_of(child: Child, stage: str) -> Decision | None:
    written = Decision.objects.filter(
        child__in=child.records, stage=stage, kind=Decision.Kind.EXCEPTION
    )
    return written.select_related("by").order_by("-at", "-pk").first()


def exception_would_help(reading: Reading, stage: str) -> bool:
    """The stage waits for one that an exception may stand in for."""
    found = reading.read.stage(stage)
    return bool(set(found.waits_for) & set(found.stage.exception_for))


def give_step(
    child: Child,
    drill: str,
    support: int,
    by: Staff,
    snapshot: Snapshot,
    now: datetime.datetime,
    reason: str = "",
) -> Decision:
    """The tap that gives a step of less support; it counts from the next day."""
    refuse_unless(may_recommend(by), "may-not")
    with _locked_case(child, by, now) as case:
        given = step_given_on(child, drill, support, case.reading.read.day)
        if given is not None:
            raise already_decided(given)
        open_taps = (*case.reading.read.taps, *taps_to_make_up(case.reading))
        tap = next((t for t in open_taps if (t.drill, t.support) == (drill, support)), None)
        if tap is None:
            raise DecisionRefused("not-earned")
        ladder = case.reading.ladder.engine
        refuse_unless(may_tap(by, tap, child, ladder, case.reading.read.day), "may-not")
        case.check_unchanged(tap.stage, snapshot)
        return case.record(Decision.Kind.STEP, tap.stage, reason, drill=drill, support=support)


def step_given_on(child: Child, drill: str, support: int, day: datetime.date) -> Decision | None:
    given = Decision.objects.filter(
        child__in=child.records, kind=Decision.Kind.STEP, drill__key=drill, support=support, day=day
    )
    return given.select_related("by").first()


def place(
    child: Child,
    stage: int,
    by: Staff,
    snapshot: Snapshot,
    now: datetime.datetime,
    surface: str,
    reason: str,
) -> Placing:
    """A director saw the child do it: open the stage and those below, starting hands-on."""
    refuse_unless(may_direct(by), "may-not")
    refuse_unless(bool(reason.strip()), "reason-missing")
    if stage > HIGHEST_PLACING:
        raise DecisionRefused("stage-too-high", most=HIGHEST_PLACING)
    with _locked_case(child, by, now) as case:
        refuse_unless(may_direct_for(by, case.child), "family")
        last = Placing.objects.filter(child__in=child.records).order_by("-at", "-pk").first()
        if last is not None and str(last.uuid) != snapshot.last:
            raise already_decided(last)
        case.check_ladder(snapshot)
        refuse_unless(snapshot.digest == digest_of(case.reading.data), "evidence-changed")
        found = case.reading.ladder.engine.stage.get(str(stage))
        if found is None:
            raise DecisionRefused("stage-unknown")
        refuse_unless(not found.sign_off, "signed-stage")
        refuse_unless(found.code not in case.reading.read.state.opened, "already-open")
        refuse_unless(surface in case.reading.ladder.engine.surfaces, "surface-not-met")
        placing = Placing.objects.create(
            child=child,
            stage=stage,
            surface=Surface.objects.get(key=surface),
            reason=reason.strip(),
            by=by,
            at=now,
            day=case.reading.read.day,
            ladder=case.ladder(),
        )
        said = {"what": "place", "stage": stage, "surface": surface, "reason": reason.strip()}
        note(AuditEntry.Kind.DECISION, by, child.uuid, now, **said)
        log.info("placed child=%s stage=%s by=%s", child.uuid, stage, by.uuid)
        return placing


def pause(child: Child, by: Staff, now: datetime.datetime, reason: str) -> Pause:
    """Nobody may tumble this child. Never held up by a reading that has changed."""
    refuse_unless(may_pause(by), "may-not")
    refuse_unless(bool(reason.strip()), "reason-missing")
    with _locked_case(child, by, now) as case:
        paused = Pause.objects.create(
            child=child, reason=reason.strip(), by=by, at=now, day=case.reading.read.day
        )
        alert_classes_of(child, paused.day)
        said = {"what": "pause", "reason": reason.strip()}
        note(AuditEntry.Kind.DECISION, by, child.uuid, now, **said)
        log.info("paused child=%s by=%s", child.uuid, by.uuid)
        return paused


def lift(
    child: Child, by: Staff, snapshot: Snapshot, now: datetime.datetime, reason: str
) -> PauseLift:
    """End a pause, from the next day on."""
    refuse_unless(may_direct(by), "may-not")
    refuse_unless(bool(reason.strip()), "reason-missing")
    with _locked_case(child, by, now) as case:
        refuse_unless(may_direct_for(by, case.child), "family")
        lifted = lift_under_way(case.reading)
        if lifted is not None:
            raise already_decided(lifted)
        refuse_unless(case.reading.read.state.paused_since is not None, "not-paused")
        case.check_ladder(snapshot)
        refuse_unless(snapshot.digest == digest_of(case.reading.data), "evidence-changed")
        lifted = PauseLift.objects.create(
            child=child, reason=reason.strip(), by=by, at=now, day=case.reading.read.day
        )
        alert_classes_of(child, lifted.day)
        said = {"what": "lift", "reason": reason.strip()}
        note(AuditEntry.Kind.DECISION, by, child.uuid, now, **said)
        log.info("lifted child=%s by=%s", child.uuid, by.uuid)
        return lifted


def lift_under_way(reading: Reading) -> PauseLift | None:
    """The lift of this day that ends the pause tomorrow, if nothing has paused since."""
    child = reading.child
    if latest_events([child.pk])[child.pk].lift_under_way(reading.read.day) is None:
        return None
    return PauseLift.objects.filter(child__in=child.records).select_related("by").latest("at", "pk")


# --- one child, locked ---------------------------------------------------------------


# What nobody decides for a child of their own family; nor is it placed, or its pause lifted.
BY_NO_FAMILY = (
    Decision.Kind.RECOMMEND,
    Decision.Kind.SIGN,
    Decision.Kind.SEND_BACK,
    Decision.Kind.CLOSE,
    Decision.Kind.STAYS,
    Decision.Kind.EXCEPTION,
)
OF_A_KNOWN_CHILD = (Decision.Kind.RECOMMEND, Decision.Kind.SIGN, Decision.Kind.EXCEPTION)


@dataclass
class _LockedCase:
    """A child whose row is locked, read again."""

    child: Child
    by: Staff
    now: datetime.datetime
    reading: Reading

    def check_unchanged(self, stage: str, snapshot: Snapshot) -> Decision | None:
        """Refuse if anything was decided or logged since; the last decision of the stage."""
        last = last_review(self.child, stage)
        if last is not None and str(last.uuid) != snapshot.last:
            raise already_decided(last)
        self.check_ladder(snapshot)
        refuse_unless(
            snapshot.digest == stage_snapshot_digest(self.reading, stage), "evidence-changed"
        )
        return last

    def check_ladder(self, snapshot: Snapshot) -> None:
        """Refuse what was decided on the gates of another version than the one in force."""
        if snapshot.ladder != self.reading.ladder.number:
            raise DecisionRefused("ladder-changed", number=self.reading.ladder.number)

    def ladder(self) -> LadderVersion:
        return LadderVersion.objects.get(number=self.reading.ladder.number)

    def record(
        self,
        kind: Decision.Kind,
        stage: str,
        reason: str = "",
        surface: str | None = None,
        drill: str | None = None,
        **about: Any,
    ) -> Decision:
        """``about``: what only some decisions have."""
        if kind in OF_A_KNOWN_CHILD:
            refuse_unless(self.child.is_known, "child-not-known")
        if kind in BY_NO_FAMILY:
            may = may_recommend_for if kind == Decision.Kind.RECOMMEND else may_decide_on
            refuse_unless(may(self.by, self.child), "family")
        data = stage_json(self.reading, stage)
        decision = Decision.objects.create(
            child=self.child,
            kind=kind,
            stage=stage,
            drill=Drill.objects.get(key=drill) if drill else None,
            surface=Surface.objects.get(key=surface) if surface else None,
            by=self.by,
            as_director=may_decide(self.by),
            at=self.now,
            day=self.reading.read.day,
            reason=reason,
            ladder=self.ladder(),
            reading=data,
            digest=digest_of(data),
            **about,
        )
        said = {"what": str(kind), "stage": stage, "surface": surface, "drill": drill}
        said |= {"reason": reason, "reading": decision.digest}
        note(AuditEntry.Kind.DECISION, self.by, self.child.uuid, self.now, **said)
        log.info(
            "decided kind=%s child=%s stage=%s by=%s", kind, self.child.uuid, stage, self.by.uuid
        )
        return decision


@contextmanager
def _locked_case(child: Child, by: Staff, now: datetime.datetime) -> Iterator[_LockedCase]:
    """Lock the child, so that decisions and turns queue; read; refresh the standing at the end."""
    with transaction.atomic():
        locked = lock(Child.objects.filter(pk=child.pk)).get()
        day = local_today([locked], now)[locked.pk]
        yield _LockedCase(locked, by, now, read(locked, day))
        refresh_standings([locked], day)


def already_decided(decided: Decided) -> DecisionRefused:
    """Somebody was there first: who, when by the clock of the child's hall, and what."""
    what = decided.kind if isinstance(decided, Decision) else type(decided).__name__.lower()
    at = decided.at.astimezone(zone_of(decided.child))
    return DecisionRefused("already-decided", by=decided.by.called, at=at, what=str(what))


def refuse_unless(holds: bool, code: str) -> None:
    """Raise DecisionRefused with ``code`` unless it holds."""
    if not holds:
        raise DecisionRefused(code)

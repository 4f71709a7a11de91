"""Mai with a row in every table that holds a child, of two records, and a word in each text."""

import uuid

from progression.models import AttemptNote, LineResolution, RejectedLine, Strike
from readiness.models import Fell, LetterInRun, LetterRun, Standing
from readiness.record.privacy.parts import PARTS
from readiness.record.standings import refresh_standings
from studio.models import BroughtIn, Child, ImportDraft, NotDouble
from studio.people.merging import merge
from tests.support.cast import NOW, TODAY, Cast, Logged, make_child
from tests.support.child_rows.rows import value_for

# In whatever somebody said or wrote; nowhere else in the tests' data.
WORD = "Quillwort"
# Made by hand below, or by others as they work.
BY_HAND = {
    "studio.ClassGroup_children", "studio.Merge", "studio.NotDouble", "progression.Attempt",
    "progression.AttemptNote", "progression.AttemptProof", "progression.Confirmation",
    "progression.Strike", "progression.RejectedLine", "progression.LineResolution",
    "readiness.DayTally", "readiness.FaultTally", "readiness.Standing", "readiness.LetterInRun",
    "readiness.Erasure",
}  # fmt: skip


def fill(cast: Cast, log: Logged) -> Child:
    """The record that stands for her; the other one was merged into it."""
    mai = cast.mai
    columns = {"name": f"Mai {WORD}", "name_used": f"Mai {WORD}", "guardian": WORD}
    columns |= {"caution": WORD, "list_id": WORD, "kick_leg": "left"}
    for name, value in columns.items():
        setattr(mai, name, value)
    mai.save(update_fields=[*columns, "search_key"])
    turns = log(mai, "back-walkover", "1101", faults=("low-back-only",))
    for part in PARTS:
        if part.model._meta.label in BY_HAND:
            continue
        fields = [f for f in part.model._meta.concrete_fields if not f.auto_created]
        # What is no word of anybody's, a code or a digest, stays.
        own = [f for f in fields if f.related_model is None]
        said = [f.name for f in own if part.goes or f.name in part.words]
        words = {f.name: WORD if f.name in said else "some" for f in fields}
        about = {f.name: value_for(f, cast, words[f.name]) for f in fields}
        part.model._default_manager.create(**about)
    _of_the_log(cast, [turn.pk for turn in turns])
    run = LetterRun.objects.create(by=cast.petra, at=NOW)
    LetterInRun.objects.create(run=run, place=0, child=mai, left_out=WORD)
    NotDouble.objects.create(one=mai, other=cast.ilse, by=cast.petra, at=NOW)
    other = make_child(f"May {WORD}", cast.red, hands=False)
    log(other, "back-walkover", "1")
    merge(other, mai, cast.petra, NOW)
    refresh_standings([Child.objects.get(pk=mai.pk)], TODAY)
    Standing.objects.update(pack=WORD)
    ImportDraft.objects.create(
        kind="roster", owner=cast.petra, name=WORD, data=WORD.encode(), created_at=NOW
    )
    BroughtIn.objects.create(at=NOW, done={"was": WORD})
    return Child.objects.get(pk=mai.pk)


def _of_the_log(cast: Cast, turns: list[uuid.UUID]) -> None:
    AttemptNote.objects.create(attempt_id=turns[0], text=WORD)
    by = {"by": cast.omar, "at": NOW, "received_at": NOW}
    fall = Fell.objects.earliest("pk").pk
    Strike.objects.create(id=uuid.uuid4(), attempt_id=fall, code="wrong-child", digest="", **by)
    line = RejectedLine.objects.create(
        line_id="1", sender=cast.omar, received_at=NOW, answer="refused", code="not-in-class",
        body=f'{{"child": "{cast.mai.uuid}", "note": "{WORD}"}}', digest="1",
    )  # fmt: skip
    LineResolution.objects.create(line=line, logged=False, reason=WORD, by=cast.petra, at=NOW)

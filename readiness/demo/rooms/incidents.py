"""What happened lately: a fall with its account, a near miss, and one of months ago with an
addition. A turn in which a child was caught waits for its account (the story "stop-sign")."""

import datetime
import uuid
from collections.abc import Iterator, Mapping
from functools import partial
from random import Random

from progression.log.line_ids import uuid7
from readiness.demo.calendar import Evening
from readiness.demo.ids import uuid4
from readiness.demo.pupils import Pupil
from readiness.demo.recent_weeks import Step, send
from readiness.demo.rooms.scene import Scene
from readiness.record.told.incidents import add_to_account, write_account
from readiness.record.told.on_the_page import answer_about_pain
from studio.models import Child, Staff

# Of whom: by their stories (pupils.py).
FELL, NEARLY, BEFORE = "exception", "away", "show"
HOUR = datetime.timedelta(hours=1)
FALL: Mapping[str, object] = {
    "kind": "fall", "drill": "", "support": None, "hurt": "ankle",
    "mats": "Floor mats in one row, taped; nothing else near.",
    "what": "Stepped off the edge of the mat after the jump back, and sat down hard.",
    "first_aid": "Sat out with the foot up and a cold pack for ten minutes; stood on it after.",
}  # fmt: skip
NEAR_MISS: Mapping[str, object] = {
    "kind": "other", "drill": "kick-over-block", "support": 3, "hurt": "",
    "mats": "Two-block stack against the wall, floor mats before it.",
    "what": "The upper block slid as she kicked over; the coach held block and child. No touch "
    "of the head, nothing hurt.",
    "first_aid": "None needed.",
}  # fmt: skip
BLOCK_AGAIN = "The blocks were strapped together; a strap hangs beside them now."
TRIPPED: Mapping[str, object] = {
    "kind": "fall", "drill": "", "support": None, "hurt": "",
    "mats": "A water bottle had rolled onto the runway.",
    "what": "Trod on the bottle at a run and fell forward onto both hands.",
    "first_aid": "Looked at the wrists: no pain, full strength. None needed.",
}  # fmt: skip
BOTTLES = "Bottles stand behind the line at the door since."


def incident_steps(scene: Scene) -> Iterator[Step]:
    rng = Random(f"{scene.rows.people.groups[0].uuid} incidents")
    for pupil in scene.with_story(FELL):
        yield from _fall(scene, pupil, scene.last_evening(pupil), rng)
    for pupil in scene.with_story(NEARLY):
        evening = [each for each in pupil.evenings if each.day < pupil.story.away_from][-1]
        yield from _at_the_desk(scene, pupil, evening, uuid4(rng), NEAR_MISS, BLOCK_AGAIN)
    for pupil in scene.with_story(BEFORE)[:1]:
        evening = [each for each in pupil.evenings if each.day < scene.days_ago(75).date()][-1]
        yield from _at_the_desk(scene, pupil, evening, uuid4(rng), TRIPPED, BOTTLES)


def _fall(scene: Scene, pupil: Pupil, evening: Evening, rng: Random) -> Iterator[Step]:
    """Tapped on the floor, written down two hours later; the ankle is well the next day."""
    child, by = scene.child(pupil), scene.staff(evening.main)
    fell = evening.ends - HOUR / 4
    start = uuid7(fell, rng)
    line = {"kind": "fell", "id": str(start), "at": fell.isoformat(), "child": str(child.uuid)}
    sent = evening.ends + HOUR / 6
    yield sent, "2 fell", partial(send, (evening, evening.main), [line], sent, scene.rows)
    at = evening.ends + 2 * HOUR
    yield at, "2 account", partial(_write, child, by, at, start, evening, FALL)
    well = at + 22 * HOUR
    yield well, "2 well", partial(answer_about_pain, child, by, well, "ankle", "gone")


def _at_the_desk(
    scene: Scene,
    pupil: Pupil,
    evening: Evening,
    start: uuid.UUID,
    about: Mapping[str, object],
    added: str,
) -> Iterator[Step]:
    """Nothing was tapped: written down at the desk, with an addition in the next week."""
    child, by = scene.child(pupil), scene.staff(evening.main)
    at, later = evening.ends + 2 * HOUR, evening.ends + 117 * HOUR
    yield at, f"2 desk {pupil.index}", partial(_write, child, by, at, start, evening, about)
    if later < scene.now:
        act = partial(add_to_account, child, by, later, start, added)
        yield later, f"2 added {pupil.index}", act


def _write(
    child: Child,
    by: Staff,
    at: datetime.datetime,
    start: uuid.UUID,
    evening: Evening,
    about: Mapping[str, object],
) -> None:
    time = evening.starts.astimezone(evening.midnight.tzinfo).time()
    facts = {**about, "day": evening.day, "time": time, "surface": evening.surface}
    write_account(child, by, at, start, None, **facts)

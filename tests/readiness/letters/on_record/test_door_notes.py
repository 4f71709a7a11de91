"""Every sentence of a note for the door is judged by the raw record, in every language: all kinds
here, those of the demo by ``python -m tests.letters_truth``."""

import re
from pathlib import Path

import pytest
import time_machine

from readiness.record.intake import take_lines
from studio.models import Location
from tests.support.cast import NOW, TODAY, time_ordered_id
from tests.support.letters import notes as support
from tests.support.letters.files import DAY
from tests.support.letters.notes.truth import NoteReader
from tests.support.letters.record import RawRecord
from tests.support.letters.table import LANGUAGES
from tests.support.letters.truth import Told
from tests.support.ready import MAT, place_at

SUPPORT = Path(support.__file__).parent
FALSE = {
    "fall": {"day", "weekday", "hour", "name", "telephone", "did", "a word", "a sentence"},
    "head": {"day", "weekday", "hour", "name", "telephone", "number", "flag", "a word"},
    "hands": {"day", "weekday", "hour", "name", "telephone", "drill", "seen", "a sentence"},
}


def send(cast, kind, **about):
    line = {"kind": kind, "id": str(time_ordered_id(NOW)), "at": NOW.isoformat()}
    line |= {"child": str(cast.mai.uuid), **about}
    (answer,) = take_lines(cast.meeting, cast.omar, "tablet 3", NOW, [line], 3, NOW)
    assert answer.answer == "kept"


@pytest.fixture
def evening(cast, log, ladder):
    """What happened to Mai tonight, by the kind of note that it has."""
    Location.objects.filter(pk=cast.hall.pk).update(phone="030 55")

    def happens(kind):
        if kind == "fall":
            send(cast, "fell")
        elif kind == "head":
            send(cast, "hurt", place="head")
        else:
            place_at(cast, cast.mai, 4, TODAY - 56 * DAY)
            for weeks in (3, 2, 1):
                day = TODAY - weeks * 7 * DAY
                log(cast.mai, "back-walkover", "1111", day=day, support=2, surface=MAT)
            log(cast.mai, "back-walkover", "0", support=2, surface=MAT, faults=("arms-give",))
        return cast.mai

    with time_machine.travel(NOW, tick=False):
        yield happens


@pytest.mark.parametrize("kind", FALSE)
def test_every_note_is_true_in_every_language_and_nothing_false_passes(kind, evening, cast):
    told, child = Told(), evening(kind)
    record = RawRecord(child, TODAY)
    NoteReader(told, record.content, cast.petra, each=1).read(record)
    assert told.wrong == [], "\n".join(told.wrong)
    assert told.missed == [], "\n".join(told.missed)
    assert told.notes == dict.fromkeys(LANGUAGES, 1)
    assert FALSE[kind] <= told.altered.keys()


def test_the_judge_has_nothing_of_what_writes_the_notes():
    for name in ("table", "event", "judge", "lies"):
        source = (SUPPORT / f"{name}.py").read_text(encoding="utf-8")
        assert not re.search(r"readiness\.(letters|door_note)|translation|gettext|locale", source)

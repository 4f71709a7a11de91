"""A reading that was stored says the same when it is read back."""

import json

from hypothesis import given
from hypothesis import strategies as st

from readiness.engine.reading_json import as_json, from_json, stage_as_json
from tests.support.engine.plays import plays
from tests.support.engine.profiles import FEW


@FEW
@given(plays(), st.sampled_from([0, 1, 30, 200]))
def test_what_lists_show_comes_back_as_it_was_stored(play, later):
    reading = play.read(play.number + later)
    data = json.loads(json.dumps(as_json(reading, "child", 1)))
    stored = from_json(data, play.ladder)
    assert (stored.day, stored.paused_since) == (reading.day, reading.paused_since)
    assert stored.ways_back == reading.ways_back
    assert [each.stage for each in stored.stages] == [each.stage for each in reading.stages]
    for read, back in zip(reading.stages, stored.stages, strict=True):
        assert stage_as_json(back, stored) == stage_as_json(read, reading)
        assert back.state == read.state

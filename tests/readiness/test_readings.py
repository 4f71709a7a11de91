"""manage.py readings: where one child stands, as JSON."""

import datetime
import io
import json

import pytest
from django.core.management import CommandError, call_command

from tests.support.cast import TODAY, make_child


def run(*arguments):
    out, err = io.StringIO(), io.StringIO()
    call_command("readings", *arguments, stdout=out, stderr=err)
    return out.getvalue()


def test_the_reading_has_every_stage_gate_and_support(cast, log):
    log(cast.mai, "hollow-hold", [16.0])
    data = json.loads(run("--child", "Mai Tran", "--day", TODAY.isoformat(), "--json"))
    assert (data["child"], data["day"], data["ladder"]) == ("Mai Tran", TODAY.isoformat(), 1)
    assert [stage["stage"] for stage in data["stages"]] == list(range(1, 10))
    gate = next(g for g in data["stages"][1]["gates"] if g["code"] == "2.hollow-hold")
    assert {"code", "kind", "met", "progress", "value", "need", "stale_on"} <= set(gate)
    assert (gate["met"], gate["value"], gate["need"]) == (False, 0.0, 15)
    # None of a stage that waits for another one.
    assert [stage["score"] is None for stage in data["stages"]] == [False] * 2 + [True] * 2 + [
        False
    ] + [True] * 4
    row = data["support"][0]
    assert set(row) == {"drill", "surface", "allowed", "causes"}


@pytest.mark.parametrize("name", ["mai  TRAN", "Mai"])
def test_a_name_is_found_whatever_its_case_and_spaces(cast, name):
    assert json.loads(run("--child", name, "--json"))["child"] == "Mai Tran"


def test_a_name_that_fits_two_children_lists_them_and_exits_2(cast):
    make_child("Mai Tran", cast.red, born=(2014, 1))
    err = io.StringIO()
    with pytest.raises(SystemExit) as stopped:
        call_command("readings", "--child", "Mai Tran", stderr=err)
    assert stopped.value.code == 2
    assert "2016-04" in err.getvalue()
    assert "2014-01" in err.getvalue()


def test_an_unknown_name_is_an_error(cast):
    with pytest.raises(CommandError, match="Nobody"):
        call_command("readings", "--child", "Nobody")


def test_a_past_day_is_read_as_it_was(cast, log):
    log(cast.mai, "hollow-hold", [16.0], day=TODAY - datetime.timedelta(days=7))
    log(cast.mai, "hollow-hold", [17.0])
    before = TODAY - datetime.timedelta(days=1)
    for day, value in ((before, 0.0), (TODAY, 16.0)):
        data = json.loads(run("--child", "Mai", "--day", day.isoformat(), "--json"))
        gate = next(g for g in data["stages"][1]["gates"] if g["code"] == "2.hollow-hold")
        assert gate["value"] == value

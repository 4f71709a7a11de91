"""manage.py load_ladder: all or nothing, with every fault said, and versioned."""

import copy
import datetime
import io

import pytest
import tomli_w
from django.core.management import CommandError, call_command

from progression.ladder.file import parse
from progression.models import Drill, LadderVersion, Surface
from readiness.record.ladder_loading import LadderRefused, check, load
from readiness.record.ladders import Ladders
from tests.support.cast import HALF, LADDER_FILE, NOW, whole_handstand_alone


@pytest.fixture
def write(tmp_path, ladder_content):
    """Write a changed ladder to a file."""

    def write(change):
        content = copy.deepcopy(ladder_content)
        change(content)
        path = tmp_path / "ladder.toml"
        path.write_text(tomli_w.dumps(content), encoding="utf-8")
        return path

    return write


def run(path, **options):
    errors = io.StringIO()
    try:
        call_command("load_ladder", str(path), stdout=io.StringIO(), stderr=errors, **options)
    except CommandError:
        return errors.getvalue() or "refused"
    return ""


def test_the_shipped_ladder_loads_once(db):
    assert run(LADDER_FILE) == ""
    assert run(LADDER_FILE) == ""
    assert LadderVersion.objects.get().number == 1
    assert (Drill.objects.count(), Surface.objects.count()) == (39, 6)


def test_check_loads_nothing(db):
    assert run(LADDER_FILE, check=True) == ""
    assert not LadderVersion.objects.exists()


def test_every_fault_is_said_with_its_key_and_nothing_is_changed(db, write):
    def spoil(content):
        content["drill"][0]["strand"] = "magic"
        content["stage"][1]["gate"][0]["drill"] = "salto"

    said = run(write(spoil))
    assert "drill hollow-hold" in said
    assert "gate 2.hollow-hold" in said
    assert not LadderVersion.objects.exists()
    assert not Drill.objects.exists()


def test_a_ladder_that_nobody_could_climb_is_refused(db, write):
    def never_sure(content):
        gates = [gate for stage in content["stage"] for gate in stage.get("gate", [])]
        gate = next(gate for gate in gates if gate["code"] == "6.sit-fall")
        gate["rate"], gate["certainty"] = 0.95, 0.9999

    said = run(write(never_sure))
    assert "stage 6" in said
    assert not LadderVersion.objects.exists()


def test_a_ladder_on_which_one_director_gets_a_child_to_unspotted_is_refused(
    db, ladder_content, monkeypatch
):
    """The climb finds it by itself, whatever the checks of the file let through."""
    content = copy.deepcopy(ladder_content)
    seen = {"4.seen-by-two", "8.seen-by-two"}
    for stage in content["stage"]:
        stage["gate"] = [gate for gate in stage.get("gate", []) if gate["code"] not in seen]
    monkeypatch.setattr("readiness.record.ladder_loading.faults_in", lambda _content: [])
    with pytest.raises(LadderRefused) as refused:
        check(content)
    assert {fault.key for fault in refused.value.faults} == {
        "drill back-walkover",
        "drill handspring",
    }


def test_a_changed_ladder_keeps_the_old_one_readable(db, write):
    run(LADDER_FILE)

    def longer(content):
        content["stage"][1]["gate"][0]["at_least"] = 17

    assert run(write(longer)) == ""
    old, new = LadderVersion.objects.order_by("number")
    assert old.content["stage"][1]["gate"][0]["at_least"] == 15
    assert new.content["stage"][1]["gate"][0]["at_least"] == 17
    assert Ladders().named_on(new.from_day).number == 2


def test_a_drill_keeps_its_measure(db, write):
    run(LADDER_FILE)

    def remeasured(content):
        roll = next(drill for drill in content["drill"] if drill["key"] == "log-roll")
        roll["measure"], roll["most"] = "reps", 20

    assert "drill log-roll" in run(write(remeasured))
    assert LadderVersion.objects.count() == 1


def test_a_file_that_is_not_toml_is_refused_with_the_line(db, tmp_path):
    path = tmp_path / "ladder.toml"
    path.write_text('title = "one"\n[[drill]\n', encoding="utf-8")
    with pytest.raises(CommandError, match="line 2"):
        call_command("load_ladder", str(path))


# --- a drill that is split -----------------------------------------------------------


def test_a_drill_is_split_from_the_first_day_of_a_version_that_has_it(db, write):
    def later(content):
        content["title"] = "With another title"

    days = [datetime.date(2026, month, 2) for month in (1, 2, 3)]
    for number, change in enumerate([whole_handstand_alone, lambda _: None, later]):
        content = parse(write(change).read_text(encoding="utf-8"))
        load(content, now=NOW, from_day=days[number])
    ladders = Ladders()
    assert ladders.on(days[0]).split_on == {}
    assert [ladders.on(day).split_on[HALF] for day in days[1:]] == [days[1], days[1]]
    assert "wall-shrugs-upright" not in ladders.on(days[2]).split_on


def test_a_drill_of_the_first_version_was_never_split(db):
    run(LADDER_FILE)
    assert Ladders().newest.engine.split_on == {}

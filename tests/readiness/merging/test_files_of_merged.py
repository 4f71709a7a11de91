"""A roster and a paper log that still have both records: no child is doubled, no turn either."""

import io

import pytest
import time_machine
from django.core.management import call_command

from progression.models import Attempt
from readiness.record.standings import read
from studio.models import Child
from studio.people.merging import merge
from tests.support.cast import NOW, TODAY, Cast, make_child

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _today():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def other(cast: Cast) -> Child:
    made = make_child("Mai T. Tran", cast.red, born=(2016, 5))
    made.list_id = "77"
    made.save(update_fields=["list_id"])
    return made


def bring_in(kind: str, path, *more: str) -> str:
    out = io.StringIO()
    call_command(kind, str(path), "--commit", *more, stdout=out)
    return out.getvalue()


def test_a_roster_line_of_the_old_record_makes_no_child(cast: Cast, other: Child, tmp_path) -> None:
    merge(other, cast.mai, cast.petra, NOW)
    path = tmp_path / "roster.csv"
    path.write_text("Id,Name,Birth,Class\n77,Mai T. Tran,2016-05,Blue\n,Mai Tran,2016-04,Blue\n")
    before = list(Child.objects.order_by("pk").values("pk", "name", "list_id", "birth_month"))
    said = bring_in("import_roster", path)
    assert "0 new" in said
    after = list(Child.objects.order_by("pk").values("pk", "name", "list_id", "birth_month"))
    assert after == before


def test_two_records_alike_are_no_question_once_they_are_one(cast: Cast, tmp_path) -> None:
    twin = make_child("Mai Tran", cast.red)
    path = tmp_path / "roster.csv"
    path.write_text("Name,Birth,Class\nMai Tran,2016-04,Blue\n")
    assert "1 asked about" in bring_in("import_roster", path)
    merge(twin, cast.mai, cast.petra, NOW)
    assert "0 asked about" in bring_in("import_roster", path)


def test_a_paper_log_brought_in_again_after_merging_adds_nothing(
    cast: Cast, other: Child, tmp_path
) -> None:
    path = tmp_path / "log.csv"
    path.write_text("date,child,drill,surface,value\n2026-02-03,Mai T. Tran,log-roll,wedge,clean\n")
    bring_in("import_attempts", path, "--by", "petra")
    merge(other, cast.mai, cast.petra, NOW)
    bring_in("import_attempts", path, "--by", "petra")
    assert Attempt.objects.count() == 1
    path.write_text("date,child,drill,surface,value\n2026-02-04,Mai T. Tran,log-roll,wedge,clean\n")
    bring_in("import_attempts", path, "--by", "petra")
    tallies = read(Child.objects.get(pk=cast.mai.pk), TODAY).record.tallies
    assert sum(tally.turns for tally in tallies) == Attempt.objects.count() == 2

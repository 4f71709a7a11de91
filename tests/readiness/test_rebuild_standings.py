"""manage.py rebuild_standings: the log folded again, compared or put right."""

from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from readiness.models import DayTally, FaultTally, Standing
from readiness.standings import current, read
from tests.conftest import NOW, TODAY, Cast, Logged
from tests.readiness.ready import ready_to_be_signed

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def kept(cast: Cast, log: Logged) -> Standing:
    """A record with a fault, and a standing that is read and begun on its last day."""
    ready_to_be_signed(cast, log)
    log(cast.mai, "back-walkover", "10", support=1, faults=("low-back-only",))
    log(cast.rosa, "wall-shrugs", [5, 6], by=cast.ines)
    return current([cast.mai, cast.rosa], NOW)[cast.mai.pk]


def rebuild(*options: str) -> str:
    said = StringIO()
    call_command("rebuild_standings", *options, stdout=said)
    return said.getvalue()


def told(*options: str) -> tuple[str, str]:
    """What was said, and the last sentence of a command that ends with 1."""
    said = StringIO()
    with pytest.raises(CommandError) as error:
        call_command("rebuild_standings", *options, stdout=said)
    return said.getvalue(), str(error.value)


def test_a_record_that_is_as_the_log_says_is_said_to_be() -> None:
    assert rebuild("--check") == "3 children: all is as the log says.\n"
    assert rebuild() == "3 children: all is as the log says.\n"


def spoil_a_tally(cast: Cast) -> None:
    DayTally.objects.filter(child=cast.mai, day=TODAY, drill__key="back-walkover").update(clean=2)


def lose_a_tally(cast: Cast) -> None:
    DayTally.objects.filter(child=cast.rosa).delete()


def add_a_tally(cast: Cast) -> None:
    tally = DayTally.objects.filter(child=cast.rosa).get()
    tally.pk, tally.child = None, cast.ilse
    tally.save()


def spoil_a_fault(cast: Cast) -> None:
    FaultTally.objects.filter(child=cast.mai).update(count=7)


def spoil_a_reading(cast: Cast) -> None:
    standing = Standing.objects.get(child=cast.mai)
    standing.reading["stages"][3]["gates"][0]["value"] = 0.5
    standing.save(update_fields=["reading"])


def spoil_a_start(cast: Cast) -> None:
    standing = Standing.objects.get(child=cast.mai)
    assert standing.start is not None
    standing.start["state"]["exceptions"] = ["8"]
    standing.save(update_fields=["start"])


@pytest.mark.parametrize(
    ("spoil", "who", "what"),
    [
        (spoil_a_tally, "mai", "tally of back-walkover on sprung-dance-floor at 1"),
        (lose_a_tally, "rosa", "tally of wall-shrugs on sprung-dance-floor at 0"),
        (add_a_tally, "ilse", "tally of wall-shrugs on sprung-dance-floor at 0"),
        (spoil_a_fault, "mai", "fault low-back-only at back-walkover on 2026-03-04"),
        (spoil_a_reading, "mai", "reading of 2026-03-04"),
        (spoil_a_start, "mai", "start of 2026-03-04"),
    ],
)
def test_what_differs_is_said_and_then_put_right(cast: Cast, spoil, who: str, what: str) -> None:
    spoil(cast)
    said, last = told("--check")
    assert f"{getattr(cast, who).uuid}: {what}" in said
    assert "differ from what the log says." in last
    # Checking changes nothing.
    assert told("--check") == (said, last)
    assert "put right." in rebuild()
    assert rebuild("--check") == "3 children: all is as the log says.\n"
    assert current([cast.mai], NOW)[cast.mai.pk].reading == read(cast.mai, TODAY).data

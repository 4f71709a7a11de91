"""What has been kept long enough: counted first, and let go only when somebody says so."""

import datetime
import io

import pytest
import time_machine
from django.core.management import call_command

from readiness.models import Erasure, Note
from readiness.record.privacy.erasing import take_back
from studio.models import BroughtIn, Child, ImportDraft
from tests.support.cast import NOW, TODAY

pytestmark = pytest.mark.django_db
DAY = datetime.timedelta(days=1)


def retention(*options):
    out = io.StringIO()
    with time_machine.travel(NOW, tick=False):
        call_command("retention", *options, stdout=out)
    return out.getvalue()


def note(cast, day):
    Note.objects.create(
        id=cast.mai.uuid if day < TODAY else cast.ilse.uuid, child=cast.mai, meeting=cast.meeting,
        text="tired", by=cast.omar, day=day, received_at=NOW,
    )  # fmt: skip


def test_the_preview_counts_and_changes_nothing_and_apply_lets_go(cast):
    note(cast, TODAY - datetime.timedelta(days=500))
    note(cast, TODAY)
    about = {"kind": "roster", "owner": cast.petra, "name": "a", "data": b"Mai"}
    ImportDraft.objects.create(created_at=NOW - 29 * DAY, **about)
    ImportDraft.objects.create(created_at=NOW - 27 * DAY, **about)
    BroughtIn.objects.create(at=NOW - 29 * DAY, done={"was": "Mai"})
    said = retention()
    assert "Notes on children, of more than 13 months ago: 1\n" in said
    assert "Files that were brought in, of more than 28 days ago: 1\n" in said
    assert "the studio has no rule yet (LEFT_KEPT_YEARS)" in said
    assert "Nothing was changed." in said
    assert (Note.objects.count(), ImportDraft.objects.count()) == (2, 2)
    retention("--apply")
    assert (Note.objects.count(), ImportDraft.objects.count()) == (1, 1)
    assert BroughtIn.objects.get().done == {}


def test_who_left_long_ago_is_put_up_for_a_directors_yes_once(cast, settings):
    settings.LEFT_KEPT_YEARS = 3
    Child.objects.filter(pk=cast.mai.pk).update(left_on=datetime.date(2023, 3, 3))
    Child.objects.filter(pk=cast.ilse.pk).update(left_on=datetime.date(2023, 3, 4))
    assert f"  {cast.mai.uuid} 2023-03-03\n" in retention()
    assert not Erasure.objects.exists()
    retention("--apply")
    asked = Erasure.objects.get()
    assert (asked.child, asked.by, asked.done) == (cast.mai, None, None)
    assert Child.objects.get(pk=cast.mai.pk).name == "Mai Tran"
    take_back(asked.uuid, cast.mai, cast.petra, NOW)
    retention("--apply")
    assert Erasure.objects.count() == 1

"""Both records side by side, what would change, merging and parting on the page."""

import datetime

import pytest

from readiness.record import decisions
from readiness.record.merged.signed import signed_stages
from readiness.record.snapshots import child_snapshot
from readiness.record.standings import read
from studio.models import Child, Merge
from studio.people.merging import NotMerged, merge
from tests.support import deciding
from tests.support.cast import NOW, TODAY, Cast, Logged, give_consent, make_child
from tests.support.ready import ready_to_be_signed

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _this_evening(time_machine) -> None:
    time_machine.move_to(NOW, tick=False)


@pytest.fixture
def other(cast: Cast) -> Child:
    return make_child("Mai Tran Okafor", cast.red)


def pair(loser: Child, survivor: Child) -> str:
    return f"/children/{loser.uuid}/same-as/{survivor.uuid}"


def test_two_are_chosen_looked_at_merged_and_parted(cast: Cast, client, other: Child) -> None:
    client.force_login(cast.petra)
    listed = client.get("/doubles").content.decode()
    assert "a part of the name, born in the same month" in listed
    chosen = client.get(f"/children/{other.uuid}/same-as", {"with": str(cast.mai.uuid)})
    assert chosen.url == pair(other, cast.mai)
    assert "What Mai Tran may do stays as it is." in client.get(chosen.url).content.decode()
    assert not Merge.objects.exists()
    done = client.post(chosen.url, follow=True)
    assert done.redirect_chain[-1][0] == f"/children/{cast.mai.uuid}"
    assert "one record now" in done.content.decode()
    row = Merge.objects.get()
    listed = client.get("/doubles").content.decode()
    assert f"/merges/{row.uuid}/undo" in listed
    assert "No two children here look like one." in listed
    client.post(f"/merges/{row.uuid}/undo")
    assert Child.objects.get(pk=other.pk).merged_into is None
    assert client.post(f"/merges/{row.uuid}/undo").status_code == 404


def test_the_likely_ones_are_given_out_for_a_spreadsheet(cast: Cast, client, other: Child) -> None:
    client.force_login(cast.petra)
    answer = client.get("/doubles?as=csv")
    assert answer["Content-Disposition"] == 'attachment; filename="doubles-2026-03-04.csv"'
    _head, row = answer.content.decode("utf-8-sig").splitlines()
    assert row.startswith('"Mai Tran","2016-04","Mai Tran Okafor","2016-04",')


def test_the_old_ids_pages_show_the_survivor(cast: Cast, client, other: Child) -> None:
    merge(other, cast.mai, cast.petra, NOW)
    client.force_login(cast.petra)
    for page in ("", "/evidence/4", "/letter"):
        shown = client.get(f"/children/{other.uuid}{page}")
        assert shown.status_code == 200
        assert "Okafor" not in shown.content.decode()
    # Who sees only the class of the record that was merged sees the child.
    client.force_login(cast.ines)
    assert client.get(f"/children/{other.uuid}").status_code == 200
    assert client.get(f"/children/{cast.mai.uuid}").status_code == 200


def test_what_changes_is_said_before_and_stays_undone(cast: Cast, client, other: Child) -> None:
    seen = child_snapshot(read(other, TODAY))
    decisions.place(other, 3, cast.petra, seen, NOW, "sprung-dance-floor", "seen")
    decisions.pause(other, cast.omar, NOW, "fever")
    give_consent(other, yes=False)
    client.force_login(cast.petra)
    page = client.get(pair(other, cast.mai)).content.decode()
    assert "This changes for Mai Tran, at once:" in page
    assert "is paused until a director lifts it." in page
    assert "no to a coach&#x27;s hands counts for Mai." in page
    assert not Merge.objects.exists()
    assert Child.objects.get(pk=other.pk).merged_into is None


def test_a_stage_that_would_open_is_named(cast: Cast, client, other: Child, time_machine) -> None:
    seen = child_snapshot(read(other, TODAY))
    decisions.place(other, 3, cast.petra, seen, NOW, "sprung-dance-floor", "seen")
    time_machine.move_to(NOW.replace(day=5), tick=False)
    client.force_login(cast.petra)
    page = client.get(pair(other, cast.mai)).content.decode()
    assert ": open, and was not." in page
    assert "May be done, and might not:" in page


@pytest.mark.parametrize("who", ["tam", "omar"])
def test_only_directors_get_there(cast: Cast, client, other: Child, who: str) -> None:
    client.force_login(getattr(cast, who))
    assert client.get("/doubles").status_code == 403
    assert client.post(pair(cast.ilse, cast.mai)).status_code == 403
    assert not Merge.objects.exists()


def test_a_child_of_another_hall_is_not_found(cast: Cast, client) -> None:
    far = make_child("Mai Tran", cast.far)
    client.force_login(cast.petra)
    assert client.get(pair(far, cast.mai)).status_code == 404
    assert client.post(pair(far, cast.mai)).status_code == 404
    assert not Merge.objects.exists()


def test_what_is_merged_already_is_said(cast: Cast, client, other: Child) -> None:
    client.force_login(cast.petra)
    assert client.post(pair(other, cast.mai)).status_code == 302
    twice = client.post(pair(other, cast.mai))
    assert twice.status_code == 409
    assert "These are one child already." in twice.content.decode()
    assert Merge.objects.count() == 1


def test_a_merge_opens_no_stage_that_two_people_sign(cast: Cast, log: Logged) -> None:
    """The other way round it opens none: the record that was signed stays."""
    signed, twin = cast.mai, make_child("Mai Tran Okafor", cast.blue)
    ready_to_be_signed(cast, log)
    deciding.recommend(signed, cast.omar)
    deciding.sign(signed, cast.petra)
    later = deciding.LATER + datetime.timedelta(days=1)
    assert signed_stages(signed, later) == {"4"}
    with pytest.raises(NotMerged, match="opens-signed"):
        merge(signed, twin, cast.petra, later)
    assert not Merge.objects.exists()
    assert Child.objects.get(pk=signed.pk).merged_into is None
    merge(twin, signed, cast.petra, later)
    assert signed_stages(Child.objects.get(pk=signed.pk), later) == {"4"}

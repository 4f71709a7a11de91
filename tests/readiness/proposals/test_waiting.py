"""A change of the ladder that waits for a second director, or for seven days."""

import copy
import datetime
import io

import pytest
import time_machine
import tomli_w
from django.core.management import CommandError, call_command
from django.test import Client

from progression.models import LadderProposal, LadderVersion
from readiness.record.ladders import Ladders
from readiness.record.two_people.second_yes import NotAnswered
from readiness.record.two_people.waiting import bring_in, put_in_force
from studio.models import AccountChange, Staff
from studio.staff.leaving import leave
from tests.support.cast import NOW, TODAY, make_staff
from tests.support.guards import lifted
from tests.support.pages import signed_in

DAY = datetime.timedelta(days=1)
LOOSER = {"certainty": 0.7}


def content_with(code="4.back-walkover", **values):
    content = copy.deepcopy(LadderVersion.objects.get(number=1).content)
    gates = [gate for stage in content["stage"] for gate in stage.get("gate", [])]
    next(gate for gate in gates if gate["code"] == code).update(values or LOOSER)
    return content


def propose(by, **values):
    return bring_in(content_with(**values), now=NOW, from_day=TODAY + DAY, reason="too few", by=by)


def answer(staff, proposal, verb="yes", days=0):
    with time_machine.travel(NOW + days * DAY, tick=False):
        return signed_in(staff).post(f"/gates/waiting/{proposal.uuid}/{verb}")


def in_force():
    return Ladders().newest.number


@pytest.fixture
def alone(cast):
    """Petra is the only director there is."""
    Staff.objects.filter(pk__in=[cast.luis.pk, cast.dora.pk]).update(role="coach")
    return cast.petra


def test_a_looser_gate_waits_and_a_tighter_one_does_not(cast):
    waits = propose(cast.petra)
    assert isinstance(waits, LadderProposal)
    assert in_force() == 1
    with lifted():
        LadderProposal.objects.all().delete()
    assert propose(cast.petra, certainty=0.9).number == in_force() == 2


def test_a_second_director_puts_it_in_force_from_the_next_day(cast):
    proposal = propose(cast.petra)
    assert answer(cast.luis, proposal).status_code == 302
    version = LadderVersion.objects.get(number=2)
    assert (version.from_day, version.loaded_by) == (TODAY + DAY, cast.petra)
    proposal.refresh_from_db()
    assert (proposal.answered_by, proposal.version) == (cast.luis, version)
    assert answer(cast.dora, proposal).status_code == 409


@pytest.mark.parametrize("days", [0, 7, 300])
def test_whoever_proposed_it_does_not_while_there_is_another_director(cast, days):
    proposal = propose(cast.petra)
    refused = answer(cast.petra, proposal, days=days)
    assert refused.status_code == 422
    assert "Somebody else has to say yes" in refused.text
    assert in_force() == 1


def test_the_only_director_waits_seven_days(alone):
    proposal = propose(alone)
    assert "Not yet" in answer(alone, proposal, days=6).text
    assert in_force() == 1
    assert answer(alone, proposal, days=7).status_code == 302
    assert in_force() == 2


def test_the_other_director_sent_away_meanwhile_still_has_to_say_yes(cast):
    Staff.objects.filter(pk=cast.dora.pk).update(role="coach")
    proposal = propose(cast.petra)
    leave(cast.luis, TODAY + DAY, None, NOW)
    assert answer(cast.petra, proposal, days=8).status_code == 422
    assert in_force() == 1


@pytest.mark.parametrize("who", ["omar", "tam"])
def test_nobody_else_says_yes_or_takes_it_back(cast, who):
    proposal = propose(cast.petra)
    for verb in ("yes", "take-back"):
        assert answer(getattr(cast, who), proposal, verb).status_code == 403
    with pytest.raises(NotAnswered):
        put_in_force(proposal.uuid, getattr(cast, who), NOW, TODAY)
    proposal.refresh_from_db()
    assert proposal.answered_at is None


def test_a_guest_is_no_second_director(cast):
    guest = make_staff("Greta", "director", cast.hall)
    Staff.objects.filter(pk=guest.pk).update(guest_on=TODAY)
    proposal = propose(cast.petra)
    assert answer(Staff.objects.get(pk=guest.pk), proposal).status_code == 403
    assert in_force() == 1


def test_a_director_made_for_it_is_no_second_director(cast):
    new = make_staff("Nils", "director", cast.hall)
    AccountChange.objects.create(staff=new, what="made", by=None, at=NOW - DAY / 2)
    proposal = propose(cast.petra)
    assert answer(new, proposal, days=6).status_code == 422
    assert in_force() == 1


def test_it_can_be_taken_back(cast):
    proposal = propose(cast.petra)
    assert answer(cast.petra, proposal, "take-back").status_code == 302
    assert answer(cast.luis, proposal).status_code == 409
    assert in_force() == 1
    assert isinstance(propose(cast.petra), LadderProposal)


def test_one_waits_at_a_time_and_another_version_makes_it_worthless(cast):
    from readiness.record.ladder_loading import LadderMoved

    proposal = propose(cast.petra)
    with pytest.raises(LadderMoved):
        propose(cast.luis, certainty=0.6)
    propose(cast.luis, certainty=0.9)
    assert answer(cast.luis, proposal).status_code == 409
    assert in_force() == 2


def test_it_is_shown_on_every_page_that_decides(cast, log):
    log(cast.mai, "wall-shrugs", [7])
    propose(cast.petra)
    pages = ["/gates", "/gates/4.back-walkover", "/gates/versions", "/gates/waiting", "/review"]
    pages += [f"/children/{cast.mai.uuid}", f"/children/{cast.mai.uuid}/evidence/4"]
    with time_machine.travel(NOW, tick=False):
        client = signed_in(cast.luis)
        for page in pages:
            assert "Petra proposed another ladder on 4 Mar 2026" in client.get(page).text, page
        shown = client.get("/gates/waiting").text
        assert "sure 80\xa0% → 70\xa0%" in shown
        assert "Yes, put it in force" in shown
        assert "Yes, put it in force" not in signed_in(cast.petra).get("/gates/waiting").text


def test_a_gate_saved_looser_on_its_page_waits(cast):
    import re

    with time_machine.travel(NOW, tick=False):
        client = signed_in(cast.petra)
        page = client.get("/gates/4.back-walkover?certainty=70").text
        part = re.search(r'<form[^>]*action="/gates/save/.*?</form>', page, re.S).group()
        form = dict(re.findall(r'name="([^"]+)" value="([^"]*)"', part))
        sent = client.post("/gates/save/4.back-walkover", form | {"reason": "Too few"})
    assert sent["Location"] == "/gates/waiting"
    assert (in_force(), LadderProposal.objects.get().by) == (1, cast.petra)


# At the server


@pytest.fixture
def load(tmp_path):
    def load(*words, **values):
        path = tmp_path / "ladder.toml"
        path.write_text(tomli_w.dumps(content_with(**values)), encoding="utf-8")
        out = io.StringIO()
        with time_machine.travel(NOW, tick=False):
            call_command("load_ladder", str(path), *words, stdout=out)
        return out.getvalue()

    return load


def test_a_looser_file_waits_too(cast, load):
    assert "does not count yet" in load("--by", "petra")
    assert in_force() == 1
    with pytest.raises(CommandError, match="one at a time"):
        load("--by", "luis", certainty=0.6)
    proposal = LadderProposal.objects.get()
    assert answer(cast.petra, proposal).status_code == 422
    assert answer(cast.luis, proposal).status_code == 302


def test_a_file_of_nobody_who_was_named_waits_seven_days_for_any_director(cast, load):
    load()
    proposal = LadderProposal.objects.get()
    assert answer(cast.luis, proposal, days=6).status_code == 422
    assert answer(cast.luis, proposal, days=7).status_code == 302


def test_a_tighter_file_counts_at_once(cast, load):
    assert load(certainty=0.9).startswith("Version 2 counts from")


def invited(by, days):
    """A director whom somebody invited on the page so many days from NOW, as she would be."""
    staff = make_staff("Nils", "director", by.locations.get())
    at = NOW + days * DAY
    AccountChange.objects.create(staff=staff, what="made", by=by, at=at)
    return staff


@pytest.mark.parametrize("days", [-3, -6])
def test_a_director_whom_the_proposer_invited_says_no_yes_within_seven_days(cast, days):
    nils = invited(cast.petra, days)
    proposal = propose(cast.petra)
    refused = answer(nils, proposal)
    assert refused.status_code == 422
    assert "by whoever proposed the change" in refused.text
    assert in_force() == 1
    assert answer(nils, proposal, days=7 + days + 1).status_code == 302


def test_a_lone_director_makes_herself_no_second_one(alone):
    """By hand over the pages: invited, link used, proposed, said yes to, within the day."""
    client = signed_in(alone)
    with time_machine.travel(NOW, tick=False):
        hall = alone.locations.get().pk
        about = {"first_name": "Second", "username": "second", "role": "director", "halls": [hall]}
        assert client.post("/staff/invite", about).status_code == 302
        second = Staff.objects.get(username="second")
        page = client.post(f"/staff/{second.uuid}/link").text
        code = page.split("/new-password#")[1].split('"')[0]
        word = "seven lanterns over a weir"
        fields = {"code": code, "password": word, "again": word}
        assert Client().post("/new-password", fields).status_code == 302
    second.refresh_from_db()
    proposal = propose(alone)
    for days in (0, 1, 6):
        assert answer(second, proposal, days=days).status_code == 422
        assert answer(alone, proposal, days=days).status_code == 422
    assert in_force() == 1


def test_nor_does_she_take_over_a_coach_and_raise_him(alone):
    omar = Staff.objects.get(username="omar")
    AccountChange.objects.create(staff=omar, what="pass", by=alone, at=NOW - 2 * DAY)
    AccountChange.objects.create(staff=omar, what="role", by=alone, at=NOW - 2 * DAY)
    Staff.objects.filter(pk=omar.pk).update(role="director")
    proposal = propose(alone)
    assert answer(omar, proposal).status_code == 422
    assert in_force() == 1

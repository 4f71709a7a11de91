"""A fault on the map changed by a director: it waits for a second one, as all that is not proven
tighter; what is wrong changes nothing and is said."""

import datetime
import re
import uuid

import pytest
import time_machine

from progression.models import LadderProposal, LadderVersion
from readiness.record.ladder_loading import load
from readiness.record.ladders import Ladders
from studio.models import Staff
from tests.support.cast import NOW, TODAY, make_staff
from tests.support.pages import get, signed_in, text_of

pytestmark = pytest.mark.usefixtures("_later")

SQUATS, SAVE = "/fault-map/squats", "/fault-map/squats/save"
OTHER = {"root": "shape", "leads_to": "Slow and short", "reason": "Seen so all term"}


def sent(html, **more):
    """The form as it stands on a page."""
    part = re.search(r'<form[^>]*action="[^"]*/save".*?</form>', html, re.S).group()
    fields = dict(re.findall(r'<input type="(?:hidden|text)" name="(\w+)" value="([^"]*)"', part))
    fields |= dict(re.findall(r'name="(root)" value="(\w+)"[^>]* checked', part))
    for name, options in re.findall(r'<select name="(\w+)".*?>(.*?)</select>', part, re.S):
        chosen = re.search(r'value="([^"]*)" selected', options)
        fields[name] = chosen.group(1) if chosen else ""
    return fields | more


@pytest.fixture
def form(cast, client):
    return sent(get(client, cast.petra, SQUATS).text, reason="Seen so all term")


def refused(answer, status, said):
    assert answer.status_code == status
    assert said in text_of(answer)
    assert LadderProposal.objects.count() == 0
    assert LadderVersion.objects.count() == 1
    return answer.text


def fault_now(key="squats"):
    return Ladders().newest.faults[key]


def test_the_form_stands_as_the_ladder_does(cast, client, form):
    assert form["root"] == "sit"
    assert [form[f"drill_{at}"] for at in range(1, 5)] == [
        *(mend["drill"] for mend in fault_now()["mend"]),
        "",
    ]
    assert "Root: The sit" in text_of(client.get(SQUATS))
    assert client.get("/fault-map/back-lifts").text.count('value="bent knees first"') == 1


def test_a_change_waits_is_told_in_words_and_counts_with_the_second_yes(cast, client, form):
    others = {"drill_1": "swing-jump", "note_1": "arms only", "drill_2": "", "drill_4": "arch-hold"}
    answer = client.post(SAVE, form | OTHER | others)
    assert (answer.status_code, answer["Location"]) == (302, "/gates/waiting")
    assert fault_now()["root"] == "sit"
    words = text_of(signed_in(cast.luis).get("/gates/waiting"))
    assert (
        "Fault “Hips sink to knee height, or the sit stops there”: root The sit → Shape; leads to "
        "“No push left, slow, short” → “Slow and short”; mended by The sit, hands held · Swing and "
        "jump tall · Sit-fall onto an incline → Swing and jump tall (arms only) · Sit-fall onto an "
        "incline · Arch hold."
    ) in words
    assert "Changed as well" not in words
    proposal = LadderProposal.objects.get()
    assert (proposal.by, proposal.reason) == (cast.petra, "Seen so all term")
    assert signed_in(cast.luis).post(f"/gates/waiting/{proposal.uuid}/yes").status_code == 302
    fault = fault_now()
    assert (fault["root"], fault["leads_to"]) == ("shape", "Slow and short")
    assert fault["mend"] == [
        {"drill": "swing-jump", "note": "arms only"},
        {"drill": "sit-fall"},
        {"drill": "arch-hold"},
    ]
    assert LadderVersion.objects.get(number=2).from_day == TODAY + datetime.timedelta(days=1)


@pytest.mark.parametrize(
    "one", [{"root": "shape"}, {"leads_to": "Short"}, {"note_1": "higher"}, {"drill_3": ""}]
)
def test_each_of_these_alone_waits(cast, client, form, one):
    assert client.post(SAVE, form | one)["Location"] == "/gates/waiting"
    assert LadderVersion.objects.count() == 1


def test_whoever_changed_it_says_no_yes_and_a_lone_director_waits_seven_days(cast, client, form):
    client.post(SAVE, form | OTHER)
    yes = f"/gates/waiting/{LadderProposal.objects.get().uuid}/yes"
    assert client.post(yes).status_code == 422
    Staff.objects.filter(pk__in=[cast.luis.pk, cast.dora.pk]).update(role="coach")
    for days, status in ((6, 422), (8, 302)):
        with time_machine.travel(NOW + datetime.timedelta(days=days), tick=False):
            assert signed_in(cast.petra).post(yes).status_code == status
    assert fault_now()["root"] == "shape"


def test_the_notice_of_a_change_that_waits_stands_on_the_map_for_directors(cast, client, form):
    client.post(SAVE, form | OTHER)
    said = "Petra proposed another ladder"
    assert said in text_of(get(client, cast.luis, "/fault-map"))
    assert said in text_of(client.get(SQUATS))
    assert said not in text_of(get(client, cast.omar, "/fault-map"))


def test_a_form_sent_twice_asks_once(cast, client, form):
    first, second = client.post(SAVE, form | OTHER), client.post(SAVE, form | OTHER)
    assert first["Location"] == second["Location"]
    assert LadderProposal.objects.count() == 1


WRONG = [
    ({"reason": " "}, "Write a reason"),
    ({"root": "luck"}, "Select a valid choice"),
    ({"leads_to": ""}, "This field is required."),
    ({"drill_1": "somersault"}, "Select a valid choice"),
    ({"drill_1": ""}, "This field is required."),
    ({"drill_2": "sit-depth"}, "This drill stands above already."),
    ({"note_4": "higher"}, "A note needs its drill."),
    ({"base": ""}, "look again and save"),
    ({"token": "x"}, "look again and save"),
]


@pytest.mark.parametrize(("wrong", "said"), WRONG, ids=[str(wrong) for wrong, _said in WRONG])
def test_what_is_wrong_is_said_at_its_field_and_nothing_is_saved(cast, client, form, wrong, said):
    html = refused(client.post(SAVE, form | OTHER | wrong), 422, said)
    assert "Nothing was saved" in html
    again = sent(html, **OTHER, drill_1="sit-depth", drill_2="", note_4="")
    assert client.post(SAVE, again).status_code == 302


def test_a_list_that_leaves_a_child_nothing_is_refused_with_fault_and_place(cast, client, form):
    alone = {"drill_1": "two-handsprings", "drill_2": "", "drill_3": ""}
    html = refused(
        client.post(SAVE, form | alone),
        422,
        "fault squats No mending drill is surely open to a child who shows it at “sit-depth”.",
    )
    assert "With this the ladder would be refused." in html


def test_the_last_fault_of_a_root_is_not_taken_away_from_it(cast, client):
    content = LadderVersion.objects.get().content
    for fault in content["fault"]:
        if fault["root"] == "block" and fault["key"] != "lands-low":
            fault["root"] = "shape"
    load(content, now=NOW, from_day=TODAY)
    form = sent(get(client, cast.petra, "/fault-map/lands-low").text, root="sit", reason="x")
    answer = client.post("/fault-map/lands-low/save", form)
    assert answer.status_code == 422
    assert "strand block No fault has its root here." in text_of(answer)
    assert LadderProposal.objects.count() == 0


def test_nothing_changed_is_nothing_saved(cast, client, form):
    refused(client.post(SAVE, form), 422, "Nothing is another than now.")


def test_one_change_waits_at_a_time(cast, client, form):
    client.post(SAVE, form | OTHER)
    other = sent(get(client, cast.luis, SQUATS).text, reason="x", root="block")
    answer = client.post(SAVE, other)
    assert answer.status_code == 409
    assert "Another change waits for its answer" in text_of(answer)
    assert LadderProposal.objects.get().by == cast.petra


def test_a_version_saved_meanwhile_is_told_of_and_what_was_written_is_kept(cast, client, form):
    content = LadderVersion.objects.get().content
    next(f for f in content["fault"] if f["key"] == "squats")["leads_to"] = "Slow"
    load(content, now=NOW, from_day=TODAY, by=cast.luis)
    answer = client.post(SAVE, form | OTHER)
    assert answer.status_code == 409
    words = text_of(answer)
    assert "Luis saved version 2 of the ladder since this page was drawn." in words
    assert "Leads to: Slow" in words
    assert LadderProposal.objects.count() == 0
    again = sent(answer.text, reason="Looked again")
    assert again["leads_to"] == "Slow and short"
    assert client.post(SAVE, again).status_code == 302


def test_only_a_director_changes_it_and_no_guest(cast, client, form):
    guest = make_staff("Greta", "director", cast.hall)
    Staff.objects.filter(pk=guest.pk).update(guest_on=TODAY)
    for who in (cast.omar, cast.tam, Staff.objects.get(pk=guest.pk)):
        client.force_login(who)
        assert client.get(SQUATS).status_code == 403
        fresh = form | OTHER | {"token": str(uuid.uuid4())}
        assert client.post(SAVE, fresh).status_code == 403
    assert LadderProposal.objects.count() == 0
    assert LadderVersion.objects.count() == 1

"""A note for the door: of this evening alone, to a named adult, kept word for word."""

import copy
import datetime
import html
import json
import uuid

import pytest
import time_machine

from progression.models import LadderVersion
from readiness.floor.pack import build_pack
from readiness.models import DoorNote, LetterLanguageRead, Told
from readiness.record.intake import take_lines
from readiness.record.ladder_loading import load
from studio.models import Contact, Location
from tests.support.cast import NOW, TODAY, make_child, time_ordered_id
from tests.support.pages import text_of
from tests.support.ready import MAT, place_at

MINUTE = datetime.timedelta(minutes=1)
WEEK = datetime.timedelta(days=7)


def line(kind, child, minutes_ago=0, **about):
    at = NOW - minutes_ago * MINUTE
    known = {"kind": kind, "id": str(time_ordered_id(at)), "at": at.isoformat()}
    return known | {"child": str(child.uuid)} | about


def send(cast, *lines):
    answers = take_lines(cast.meeting, cast.omar, "tablet 3", NOW, lines, 3, NOW)
    assert {answer.answer for answer in answers} == {"kept"}


def fell(cast, child=None):
    sent = line("fell", child or cast.mai, 20)
    send(cast, sent)
    return sent["id"]


def notes(child, what=""):
    return f"/children/{child.uuid}/door-notes{what}"


def mother(child, **about):
    return Contact.objects.create(child=child, **({"name": "Lan Tran", "phone": "1"} | about))


def show(page, child, kind, start, **said):
    return page.post(notes(child, f"/{kind}/{start}"), {"token": str(uuid.uuid4()), **said})


def give(page, child, kind, start, mark=None, **said):
    mark = mark or show(page, child, kind, start, **said).context["mark"]
    data = {"token": str(uuid.uuid4()), "seen": mark, **said}
    return page.post(notes(child, f"/{kind}/{start}/give"), data)


def kinds(page, child):
    return [offer.what.kind for offer in page.get(notes(child)).context["offers"]]


def at_light_touch(cast, log):
    place_at(cast, cast.mai, 4, TODAY - 8 * WEEK)
    for weeks in (3, 2, 1):
        log(cast.mai, "back-walkover", "1111", day=TODAY - weeks * WEEK, support=2, surface=MAT)


def test_a_fall_without_pain_is_told_and_one_with_pain_is_not(page, cast):
    assert kinds(page, cast.mai) == []
    fell(cast)
    assert kinds(page, cast.mai) == ["fall"]
    send(cast, line("hurt", cast.mai, 5, place="wrist"))
    assert kinds(page, cast.mai) == []


def test_a_fall_that_was_a_wrong_tap_is_not_told(page, cast):
    start = fell(cast)
    send(cast, line("strike", cast.mai, 5, turn=start, code="wrong-tap"))
    assert kinds(page, cast.mai) == []
    assert page.get(notes(cast.mai, f"/fall/{start}")).status_code == 404


def test_a_knock_to_the_head_here_is_told_and_one_elsewhere_is_not(page, cast):
    send(cast, line("hurt", cast.mai, 10, place="head"), line("fell", cast.mai, 10))
    assert kinds(page, cast.mai) == ["head"]
    about = {"token": str(uuid.uuid4()), "on": TODAY, "elsewhere": "on"}
    assert page.post(f"/children/{cast.ilse.uuid}/head/knock", about).status_code == 302
    assert kinds(page, cast.ilse) == []


def test_a_sore_neck_has_no_note_that_says_it_was_a_knock(page, cast):
    send(cast, line("hurt", cast.mai, 10, place="neck"))
    assert kinds(page, cast.mai) == []


def test_hands_that_come_back_after_a_stop_sign_are_told_with_what_was_seen(page, cast, log):
    at_light_touch(cast, log)
    assert kinds(page, cast.mai) == []
    (turn,) = log(cast.mai, "back-walkover", "0", support=2, surface=MAT, faults=("arms-give",))
    with time_machine.travel(NOW + MINUTE, tick=False):
        assert kinds(page, cast.mai) == ["hands"]
        words = html.unescape(text_of(page.get(notes(cast.mai, f"/hands/{turn.pk}"))))
    assert "In today's class, at “Back walkover”, the arms bent." in words
    assert "told us" not in words


def test_who_was_held_anyway_is_not_told_that_hands_are_there_again(page, cast, log):
    at_light_touch(cast, log)
    log(cast.mai, "back-walkover", "0", support=3, faults=("arms-give",))
    assert kinds(page, cast.mai) == []


def test_stopping_twice_is_right_and_has_no_note(page, cast, log):
    at_light_touch(cast, log)
    log(cast.mai, "back-walkover", "00", support=2, surface=MAT, faults=("stopped-before",))
    assert kinds(page, cast.mai) == []


def test_yesterday_is_not_told_today(page, cast):
    start = fell(cast)
    with time_machine.travel(NOW + datetime.timedelta(days=1), tick=False):
        assert kinds(page, cast.mai) == []
        assert give(page, cast.mai, "fall", start, mark="0").status_code == 404
    assert (DoorNote.objects.count(), Told.objects.count()) == (0, 0)


def test_a_note_is_kept_word_for_word_and_the_family_counts_as_told(page, cast):
    start, lan = fell(cast), mother(cast.mai, relation="mother")
    said = {"adult": lan.pk, "did": "shapes", "nothing_hurts": "on"}
    shown = show(page, cast.mai, "fall", start, **said)
    assert (DoorNote.objects.count(), Told.objects.count()) == (0, 0)
    assert "data-print" in shown.content.decode()
    answer = give(page, cast.mai, "fall", start, **said)
    note = DoorNote.objects.get()
    assert answer["Location"] == notes(cast.mai, f"/given/{note.pk}")
    assert note.words.startswith("Wednesday 4 March 2026, 17:40, Blue, Mill hall. For the family")
    assert "Mai said that nothing hurts." in note.words
    assert "What we did: went on with shapes on the floor." in note.words
    assert note.words.endswith("Questions: 030 55. Emergency: 112.")
    told = note.told
    assert (note.given_to, told.whom) == ("Lan Tran", "Lan Tran")
    assert (told.child, told.about, told.day, told.by) == (cast.mai, "fall", TODAY, cast.omar)
    again = html.unescape(text_of(page.get(answer["Location"])))
    assert " ".join(note.words.split()) in again
    # The floor asks nobody again.
    pack = json.loads(build_pack(cast.meeting, cast.omar, NOW))
    assert [(each["child"], each["what"]) for each in pack["told"]] == [
        (str(cast.mai.uuid), "fall")
    ]


def test_a_note_sent_twice_is_given_once(page, cast):
    start, lan = fell(cast), mother(cast.mai)
    data = {"token": str(uuid.uuid4()), "adult": lan.pk}
    data["seen"] = show(page, cast.mai, "fall", start, **data).context["mark"]
    for _twice in range(2):
        assert page.post(notes(cast.mai, f"/fall/{start}/give"), data).status_code == 302
    assert (DoorNote.objects.count(), Told.objects.count()) == (1, 1)


@pytest.mark.parametrize("said", [{}, {"adult": "else"}, {"adult": "else", "other": "Bo Tran"}])
def test_a_note_without_an_adult_or_to_one_who_must_not_be_told_is_refused(page, cast, said):
    start = fell(cast)
    mother(cast.mai, name="Bo  Trân", not_told=True)
    if "other" in said:
        said = said | {"other": "bo tran"}
    shown = show(page, cast.mai, "fall", start, **said)
    assert shown.status_code == 422
    assert "data-print" not in shown.content.decode()
    assert "Bo" not in str(shown.context["form"].fields["adult"].choices)
    assert give(page, cast.mai, "fall", start, mark="0", **said).status_code == 422
    assert (DoorNote.objects.count(), Told.objects.count()) == (0, 0)


def test_words_that_changed_since_they_were_shown_are_not_given(page, cast):
    start, lan = fell(cast), mother(cast.mai)
    mark = show(page, cast.mai, "fall", start, adult=lan.pk).context["mark"]
    Location.objects.filter(pk=cast.hall.pk).update(phone="030 56")
    answer = give(page, cast.mai, "fall", start, mark, adult=lan.pk)
    assert answer.status_code == 409
    assert "has changed since it was shown" in text_of(answer)
    assert (DoorNote.objects.count(), Told.objects.count()) == (0, 0)


def test_staff_is_told_what_the_note_cannot_say_before_it_is_printed(page, cast):
    start = fell(cast)
    address = notes(cast.mai, f"/fall/{start}")
    assert page.get(address).context["missing"] == []
    Location.objects.filter(pk=cast.hall.pk).update(confirmed_on=None)
    assert "is not confirmed" in text_of(page.get(address))
    Location.objects.filter(pk=cast.hall.pk).update(phone="", emergency_number="")
    words = text_of(page.get(address))
    assert "no telephone for families is entered" in words
    assert "no emergency number is entered" in words
    assert "Questions:" not in words


def test_a_child_of_another_class_is_not_found_and_an_assistant_is_refused(page, cast, client):
    start = fell(cast)
    client.force_login(cast.ines)
    assert client.get(notes(cast.mai)).status_code == 404
    assert give(client, cast.mai, "fall", start, mark="0").status_code == 404
    client.force_login(cast.tam)
    assert client.get(notes(cast.mai)).status_code == 403
    assert DoorNote.objects.count() == 0


def test_the_list_asks_no_more_with_twenty_notes_than_with_two(
    page, cast, django_assert_max_num_queries
):
    start, lan = fell(cast), mother(cast.mai)

    def queries(times):
        for _each in range(times):
            assert give(page, cast.mai, "fall", start, adult=lan.pk).status_code == 302
        with django_assert_max_num_queries(100) as counted:
            page.get(notes(cast.mai))
        return len(counted)

    assert queries(2) == queries(18)


def test_the_familys_language_stands_above_the_studios_and_staff_is_told_who_read_it(page, cast):
    start = fell(cast)
    cast.mai.letter_language = "de"
    cast.mai.save()
    shown = show(page, cast.mai, "fall", start)
    above, below = shown.context["versions"]
    assert above[1][0].startswith("In der heutigen Stunde ist Mai gestürzt.")
    assert below[1][0].startswith("In today's class Mai fell.")
    unread = "Nobody at home in German has read these sentences. English stands below them."
    assert unread in shown.context["missing"]
    LetterLanguageRead.objects.create(language="de", reader="Ruth", by=cast.petra, at=NOW)
    assert unread not in show(page, cast.mai, "fall", start).context["missing"]


def test_a_drill_is_called_as_in_letters_and_where_the_ladder_lacks_it_staff_is_told(
    page, cast, log
):
    at_light_touch(cast, log)
    cast.mai.letter_language = "de"
    cast.mai.save()
    (turn,) = log(cast.mai, "back-walkover", "0", support=2, surface=MAT, faults=("arms-give",))
    with time_machine.travel(NOW + MINUTE, tick=False):
        shown = show(page, cast.mai, "hands", turn.pk)
        above, _below = shown.context["versions"]
        assert above[1][0].startswith(
            "In der heutigen Stunde, hierbei: Bogengang rückwärts: die Arme"
        )
        assert "The ladder has no words" not in text_of(shown)
        content = copy.deepcopy(LadderVersion.objects.latest("number").content)
        (drill,) = (each for each in content["drill"] if each["key"] == "back-walkover")
        del drill["letter_in"]["de"]
        load(content, now=NOW, from_day=TODAY)
        shown = show(page, cast.mai, "hands", turn.pk)
        assert "hierbei: Back walkover: die Arme" in shown.context["versions"][0][1][0]
        assert "no words in German for what this note names" in text_of(shown)


def test_what_tells_two_of_one_name_apart_stands_in_the_english_note_alone(page, cast):
    make_child("Mai Tran", cast.blue)
    cast.mai.letter_language = "de"
    cast.mai.save()
    above, below = show(page, cast.mai, "fall", fell(cast)).context["versions"]
    assert "Für die Familie von Mai Tran. " in above[0][0]
    assert "For the family of Mai Tran, born" in below[0][0]


def test_an_english_note_stands_once(page, cast):
    assert len(show(page, cast.mai, "fall", fell(cast)).context["versions"]) == 1

"""The evidence for one stage, and the forms that decide on it."""

import datetime
import re
import uuid

import pytest
import time_machine
from django.test import Client

from progression.models import LadderVersion
from readiness.models import Decision
from readiness.record.told.on_the_page import note_not_tonight
from studio.models import Child, SpentToken, Staff
from studio.people.family import say_family
from tests.support.cast import TODAY, give_consent, make_staff
from tests.support.deciding import LATER, at_once
from tests.support.pages import decide, evidence, filled, get, recommended, text_of
from tests.support.ready import MAT, back_after_summer, place_at

pytestmark = pytest.mark.usefixtures("_later")


def test_clean_and_stop_signs_are_shown_apart_with_days_graders_and_surface(cast, client, mai):
    words = text_of(evidence(client, cast.petra, mai))
    assert "18 of 18 clean, 100 %" in words
    # 1 - .05^(1/18) = .1533: Clopper & Pearson's one-sided bound, as in most_after_none.
    assert "There is none on record. So far: 18 turns at standing by or less, 18 at any" in words
    assert "None in 18 turns still leaves up to about 16 in 100 possible." in words
    by = "Graded by, in 84 days, at any support Ines (2 turns, days: 1); Omar (16 turns, days: 4)"
    assert f"{by} Read by ladder 1" in words
    assert "read for: Mat on sprung dance floor" in words
    assert "25 Feb 2026 Mat on sprung dance floor standing by 2 of 2 2 Ines" in words


def test_consent_caution_and_faults_by_root_stand_above_the_decision(cast, client, mai, log):
    words = text_of(evidence(client, cast.petra, mai))
    assert (
        "Hands-on spotting yes Caution none Faults of eight weeks, by drill and root none seen"
        in words
    )
    Child.objects.filter(pk=mai.pk).update(caution="no weight on the left wrist")
    give_consent(mai, yes=False, day=TODAY)
    for back, fault in (
        (60, "arms-give"),
        (9, "arms-give"),
        (8, "arms-give"),
        (2, "low-back-only"),
    ):
        day = TODAY - datetime.timedelta(days=back)
        log(mai, "back-walkover", "0", day=day, support=1, surface=MAT, faults=(fault,))
    words = text_of(evidence(client, cast.petra, mai))
    assert "no weight on the left wrist" in words
    assert "Hands-on spotting: no." in words
    ladder = LadderVersion.objects.get().content
    sees = {fault["key"]: fault["sees"] for fault in ladder["fault"]}
    roots = {fault["key"]: fault["root"] for fault in ladder["fault"]}
    names = {strand["key"]: strand["name"] for strand in ladder["strand"]}
    arms = f"stop sign: {sees['arms-give']} (2 times, last on 24 Feb)"
    back = f"{sees['low-back-only']} (once, on 2 Mar)"
    said = f"{names[roots['arms-give']]}: {arms}. {names[roots['low-back-only']]}: {back}."
    assert f"by drill and root Back walkover {said}" in words


def test_faults_stand_by_drill_with_the_stages_own_skill_first(cast, client, mai, log):
    day = TODAY - datetime.timedelta(days=3)
    log(mai, "kick-over-block", "000", day=day, surface=MAT, faults=("low-back-only",))
    log(mai, "back-walkover", "0", day=day, support=1, surface=MAT, faults=("low-back-only",))
    words = text_of(evidence(client, cast.petra, mai))
    words = words[words.index("by drill and root") : words.index("Graded by")]
    skill, other = words.index("Back walkover"), words.index("Kick-over from a raised block")
    assert "(once, on 1 Mar) . At other drills" in words[skill:other].replace(").", ") .")
    assert "(3 times, last on 1 Mar)" in words[other:]


def test_not_yet_is_kept_for_next_friday_on_the_evidence_and_in_the_review(cast, client, mai, log):
    def shown(who):
        row = text_of(get(client, who, "/review"))
        return said in text_of(evidence(client, who, mai)), said in row

    recommended(client, cast.omar, mai)
    decide(client, cast.petra, mai, "send-back", reason="the bridge is not calm")
    said = "Not yet, said Petra on 4 Mar: “the bridge is not calm”"
    week = datetime.timedelta(days=7)
    with time_machine.travel(LATER + week, tick=False):
        log(mai, "back-walkover", "11", day=TODAY + week, support=1, surface=MAT)
        assert shown(cast.luis) == (True, True)
        # Recommended once more: that is what the signer looks for.
        recommended(client, cast.omar, mai)
        assert shown(cast.luis) == (True, True)
        seen_on = TODAY + week
        decide(client, cast.luis, mai, "sign", surface=MAT, reason="", seen_on=seen_on)
        assert shown(cast.luis) == (False, False)


def test_not_tonight_is_shown_to_who_may_read_it_and_not_printed(cast, client, mai):
    note_not_tonight(mai, cast.omar, LATER)
    html = evidence(client, cast.omar, mai).text
    assert '<dt class="no-print">Said “not tonight”, in confidence</dt>' in html
    assert '<dd class="no-print">4 Mar</dd>' in html
    page = client.get(f"/children/{mai.uuid}").text
    assert re.search(r'<li class="no-print">.{0,60}Said “not tonight”', page)
    guest = make_staff("Gail", "director", cast.hall)
    Staff.objects.filter(pk=guest.pk).update(guest_on=TODAY)
    assert "not tonight" not in evidence(client, guest, mai).text


def test_a_yes_that_is_due_has_a_link_to_where_it_is_given(cast, client, log):
    ilse = cast.ilse
    back_after_summer(cast, log, ilse, TODAY)
    page = evidence(client, cast.petra, ilse)
    assert "it waits for a director" in text_of(page)
    assert f'href="/children/{ilse.uuid}#support">The yes is given on Ilse’s page' in page.text
    assert "The signature stands, and a re-check needs no new one" in text_of(page)
    assert "no harder surface" not in text_of(page)
    row = f'<a href="/children/{ilse.uuid}#support">Unspotted again is earned'
    assert row in get(client, cast.petra, "/review").text
    # Whose it is not is told whose it is.
    assert "A director gives it." in get(client, cast.omar, f"/children/{ilse.uuid}").text
    assert "A director gives it." not in get(client, cast.petra, f"/children/{ilse.uuid}").text
    assert "#support" not in evidence(client, cast.petra, cast.mai).text


def test_on_re_check_the_turns_at_the_skill_itself_are_shown(cast, client, log):
    place_at(cast, cast.ilse, 3, TODAY - datetime.timedelta(weeks=3))
    log(cast.ilse, "kick-over-block", "111", day=TODAY - datetime.timedelta(days=9), support=3)
    log(cast.ilse, "back-walkover", "10", support=3, faults=("arms-give",))
    words = text_of(evidence(client, cast.petra, cast.ilse, "3"))
    assert "Back walkover: since the last stop sign That was on 4 Mar 2026." in words
    assert "1 of 2 clean, 50 %" in words
    assert "Kick-over from a block: since" not in words
    assert "This stage is open: a gate that is no longer met is a reminder" in words
    entry = text_of(evidence(client, cast.petra, cast.mai, "3"))
    assert "This stage is open" not in entry
    assert "Back walkover: since" not in entry


def test_turns_of_long_ago_are_not_told_as_none(cast, client, log):
    day = TODAY - datetime.timedelta(days=90)
    log(cast.ilse, "back-walkover", "1", day=day, support=1, surface=MAT)
    log(cast.ilse, "bridge-line", [2, 2], day=day - datetime.timedelta(days=7), support=0)
    words = text_of(evidence(client, cast.petra, cast.ilse))
    assert "Back walkover No turn in 84 days." in words
    assert "So far: 1 turn at standing by or less" in words
    assert "of 80, 0 turns in 84 days" in words
    assert "Grade 2, twice in a class, on 2 days; none lately." in words


def test_turns_after_a_stop_sign_are_counted_from_it(cast, client, mai, log):
    day = TODAY - datetime.timedelta(days=8)
    log(mai, "back-walkover", "0", day=day, support=1, surface=MAT, faults=("arms-give",))
    words = text_of(evidence(client, cast.petra, mai))
    assert "That was on 24 Feb 2026. On later days: 10 turns at standing by or less" in words
    assert "None in 10 turns still leaves up to about 26 in 100 possible." in words


def test_evidence_is_for_those_who_see_the_child(cast, client, mai):
    assert evidence(client, cast.omar, mai).status_code == 200
    assert evidence(client, cast.tam, mai).status_code == 403
    assert evidence(client, cast.ines, mai).status_code == 404
    assert evidence(client, cast.dora, mai).status_code == 404
    assert evidence(client, cast.omar, mai, stage="12").status_code == 404
    assert evidence(client, cast.omar, mai, stage="9/two-handsprings").status_code == 200


def test_a_coach_recommends_a_director_signs_and_both_stand_in_the_history(cast, client, mai):
    html = evidence(client, cast.omar, mai).content.decode()
    assert "/sign/4" not in html
    assert "/send-back/4" not in html
    recommended(client, cast.omar, mai)
    answer = decide(client, cast.petra, mai, "sign", surface=MAT, reason="")
    assert (answer.status_code, answer["Location"]) == (302, f"/children/{mai.uuid}/evidence/4")
    words = text_of(evidence(client, cast.omar, mai))
    assert "and easier (Petra, today 20:00). It counts from tomorrow, 5 Mar." in words
    assert "Omar, 4 Mar 2026, 20:00, under ladder 1 three calm classes" in words
    assert "Signed: Back walkover, unspotted, on Mat on sprung dance floor and easier" in words


def test_the_recommender_is_refused_by_the_server_not_just_by_the_page(cast, client, mai):
    recommended(client, cast.petra, mai)
    page = evidence(client, cast.petra, mai)
    assert f"/children/{mai.uuid}/sign/4" not in page.content.decode()
    assert "The person who recommends never signs" in text_of(page)
    other = evidence(client, cast.luis, mai).content.decode()
    answer = decide(client, cast.petra, mai, "sign", html=other, surface=MAT)
    assert answer.status_code == 403
    assert "Somebody else has to sign" in text_of(answer)
    assert Decision.objects.get().kind == Decision.Kind.RECOMMEND


@pytest.mark.parametrize("verb", ["sign", "send-back", "exception"])
def test_a_coach_s_account_may_not_decide(cast, client, mai, verb):
    recommended(client, cast.omar, mai)
    client.force_login(cast.omar)
    data = {"token": str(uuid.uuid4()), "digest": "x", "surface": MAT, "reason": "x"}
    assert client.post(f"/children/{mai.uuid}/{verb}/4", data).status_code == 403
    assert Decision.objects.count() == 1


@pytest.mark.parametrize("verb", ["recommend", "sign", "send-back", "exception"])
def test_nothing_is_decided_by_a_link_or_about_another_hall_s_child(cast, client, mai, verb):
    client.force_login(cast.petra)
    assert client.get(f"/children/{mai.uuid}/{verb}/4").status_code == 405
    client.force_login(cast.dora)
    data = {"token": str(uuid.uuid4()), "digest": "x", "surface": MAT, "reason": "x"}
    assert client.post(f"/children/{mai.uuid}/{verb}/4", data).status_code == 404
    client.force_login(cast.tam)
    assert client.post(f"/children/{mai.uuid}/{verb}/4", data).status_code == 403
    assert not Decision.objects.exists()


def test_evidence_that_changed_since_the_page_was_drawn_redraws_it(cast, client, mai, log):
    recommended(client, cast.omar, mai)
    html = evidence(client, cast.petra, mai).content.decode()
    log(mai, "back-walkover", "0", support=1, surface=MAT)
    answer = decide(client, cast.petra, mai, "sign", html=html, surface=MAT)
    assert answer.status_code == 409
    assert "The evidence has changed since this page was drawn." in text_of(answer)
    assert "18 of 19 clean, 94 %" in text_of(answer)
    assert Decision.objects.count() == 1
    assert not SpentToken.objects.filter(job="sign").exists()
    # The page that was drawn again can be signed.
    again = answer.content.decode()
    assert decide(client, cast.petra, mai, "sign", html=again, surface=MAT).status_code == 302


def test_a_form_sent_twice_signs_once_and_lands_on_the_same_page(cast, client, mai):
    recommended(client, cast.omar, mai)
    html = evidence(client, cast.petra, mai).content.decode()
    for _ in range(2):
        answer = decide(client, cast.petra, mai, "sign", html=html, surface=MAT)
        assert (answer.status_code, answer["Location"]) == (302, f"/children/{mai.uuid}/evidence/4")
    assert Decision.objects.filter(kind=Decision.Kind.SIGN).count() == 1


def test_the_second_director_is_told_who_decided_and_when(cast, client, mai):
    recommended(client, cast.omar, mai)
    html = evidence(client, cast.luis, mai).content.decode()
    assert decide(client, cast.petra, mai, "sign", surface=MAT).status_code == 302
    answer = decide(client, cast.luis, mai, "send-back", html=html, reason="not yet")
    assert answer.status_code == 409
    assert "Already decided by Petra at 20:00: signed. Nothing was changed." in text_of(answer)
    assert Decision.objects.count() == 2


def test_family_is_told_that_somebody_else_decides(cast, client, mai):
    recommended(client, cast.omar, mai)
    html = evidence(client, cast.luis, mai).content.decode()
    say_family(mai, cast.petra, cast.luis, LATER)
    page = evidence(client, cast.petra, mai)
    assert "You are family of Mai: somebody else decides here." in text_of(page)
    assert not re.findall(r"/(?:sign|send-back|close)/4", page.content.decode())
    answer = decide(client, cast.petra, mai, "sign", html=html, surface=MAT)
    assert (answer.status_code, Decision.objects.count()) == (403, 1)
    assert "You are family of this child: somebody else decides." in text_of(answer)
    say_family(mai, cast.omar, cast.luis, LATER)
    assert "Omar is family of Mai." in text_of(evidence(client, cast.luis, mai))


def test_family_is_nobody_who_could_sign_beside_another(cast, client, mai):
    say_family(mai, cast.luis, cast.petra, LATER)
    assert "guest reviewer" in text_of(evidence(client, cast.petra, mai))


def test_sending_back_without_a_reason_shows_the_form_again(cast, client, mai):
    recommended(client, cast.omar, mai)
    answer = decide(client, cast.petra, mai, "send-back", reason="  ")
    assert answer.status_code == 422
    assert "Write a reason" in text_of(answer)
    assert Decision.objects.count() == 1


def test_a_director_sends_back_and_the_page_says_what_is_waited_for(cast, client, mai):
    recommended(client, cast.omar, mai)
    assert decide(client, cast.petra, mai, "send-back", reason="first turn").status_code == 302
    assert "Sent back: it waits for a new class day." in text_of(evidence(client, cast.omar, mai))


def test_a_director_writes_an_exception_for_stage_six(cast, client, mai):
    place_at(cast, mai, 5, TODAY - datetime.timedelta(weeks=8))
    answer = decide(client, cast.petra, mai, "exception", stage="6", reason="stiff, and strong")
    assert answer.status_code == 302
    words = text_of(evidence(client, cast.petra, mai, stage="6"))
    assert "Petra wrote an exception on 4 Mar 2026." in words


def test_a_surface_that_is_not_met_is_refused(cast, client, mai):
    answer = decide(client, cast.omar, mai, "recommend", surface="hard-floor")
    assert answer.status_code == 422
    assert "The gates are not met on this surface" in text_of(answer)
    assert not Decision.objects.exists()


def test_a_studio_with_one_adult_is_told_why_and_what_a_guest_reviewer_is_for(cast, client, mai):
    cast.luis.is_active = False
    cast.luis.save(update_fields=["is_active"])
    words = text_of(evidence(client, cast.petra, mai))
    assert "The other stages need no second signature; spotters as the drill says." in words
    assert "This one needs two people" in words
    assert "one adult" not in words
    assert "guest reviewer: an account for one day" in words


def test_a_stage_without_a_signature_still_has_its_spotters(cast, client, mai):
    words = text_of(evidence(client, cast.petra, mai, stage="3"))
    assert "It needs no second signature; spotters as the drill says." in words


def test_a_guest_reviewer_signs_on_the_day_of_the_account(cast, client, mai):
    cast.luis.is_active = False
    cast.luis.save(update_fields=["is_active"])
    recommended(client, cast.petra, mai)
    guest = make_staff("Greta", "director", cast.hall)
    guest.guest_on = TODAY
    guest.save(update_fields=["guest_on"])
    assert "guest reviewer" not in text_of(evidence(client, cast.petra, mai))
    assert decide(client, guest, mai, "sign", surface=MAT).status_code == 302
    assert Decision.objects.get(kind=Decision.Kind.SIGN).by == guest


@pytest.mark.django_db(transaction=True)
def test_of_two_directors_who_press_at_the_same_moment_one_wins_and_one_gets_409(cast, mai):
    first, second = Client(), Client()
    recommended(first, cast.omar, mai)
    forms = {
        first: (cast.petra, "sign", {"surface": MAT, "seen_on": TODAY}),
        second: (cast.luis, "send-back", {"reason": "not yet"}),
    }
    sent = {}
    for client, (who, verb, more) in forms.items():
        html = evidence(client, who, mai).content.decode()
        sent[client] = (f"/children/{mai.uuid}/{verb}/4", filled(html, f"{verb}/4", **more))
    answers = []
    at_once(*(lambda c=client: answers.append(c.post(*sent[c])) for client in sent))
    assert sorted(answer.status_code for answer in answers) == [302, 409]
    lost = next(answer for answer in answers if answer.status_code == 409)
    assert re.search(r"Already decided by (Petra|Luis) at 20:00", text_of(lost))
    assert Decision.objects.exclude(kind=Decision.Kind.RECOMMEND).count() == 1

"""Changing over by PIN on a shared tablet: who gets in, with which rights, and who guesses."""

import datetime
import threading
from concurrent.futures import ThreadPoolExecutor

import pytest
import time_machine
from django.contrib.auth import authenticate
from django.contrib.sessions.models import Session
from django.db import connection
from django.test import Client

from readiness.models import Decision, Pause, PauseLift, Placing
from readiness.record import decisions
from readiness.record.decisions import DecisionRefused
from readiness.record.snapshots import Snapshot
from studio import access
from studio.models import ImportDraft, SignInTry, Staff, Tablet
from studio.sign_in import pins, throttle
from studio.sign_in.pins import set_pin
from studio.sign_in.throttle import FREE, FREE_AT_A_TABLET, LONGEST_WAIT, wait_after
from studio.tablets.enrolment import COOKIE, enrol
from tests.support.access import ACCESS, counts
from tests.support.cast import Cast, Logged
from tests.support.every_page import EVENING, Site, addresses, build

NOW = datetime.datetime(2026, 3, 4, 17, 0, tzinfo=datetime.UTC)
PASSWORD = "a long enough word"
PIN = "490273"
WRONG = "518207"


@pytest.fixture(autouse=True)
def clock():
    with time_machine.travel(NOW, tick=False) as traveller:
        yield traveller


@pytest.fixture
def tablet(cast: Cast) -> Tablet:
    """Omar, Tam and Petra have a PIN; the tablet's secret is its ``secret``."""
    for staff in (cast.omar, cast.tam, cast.petra):
        set_pin(staff, PIN, NOW)
    tablet, tablet.secret = enrol("Blue case", cast.hall, cast.petra, NOW)
    return tablet


def at(tablet: Tablet) -> Client:
    """A browser on the tablet."""
    client = Client()
    client.cookies[COOKIE] = tablet.secret
    return client


def tap(client: Client, staff: Staff, pin: str = PIN, **more: str):
    headers = more.pop("headers", {})
    data = {"who": str(staff.uuid), "pin": pin, **more}
    return client.post("/change-over", data, headers=headers)


def signed_in(client: Client) -> str | None:
    return client.session.get("_auth_user_id")


# Without the tablet nothing


@pytest.mark.parametrize("cookie", [None, "", "guessed", "ü"])
def test_on_a_device_that_is_not_enrolled_a_pin_is_good_for_nothing(client, cast, tablet, cookie):
    if cookie is not None:
        client.cookies[COOKIE] = cookie
    assert client.get("/change-over?next=/review")["Location"] == "/sign-in?next=%2Freview"
    answer = tap(client, cast.omar)
    assert answer["Location"] == "/sign-in?next=%2F"
    assert signed_in(client) is None
    assert not SignInTry.objects.exists()


def test_on_a_withdrawn_tablet_a_pin_is_good_for_nothing(cast, tablet):
    Tablet.objects.update(withdrawn_at=NOW)
    client = at(tablet)
    assert tap(client, cast.omar)["Location"] == "/sign-in?next=%2F"
    assert signed_in(client) is None


def names_on(client: Client) -> set[str]:
    return {staff.called for staff in client.get("/change-over").context["staff"]}


def test_the_names_to_tap_are_those_of_the_location_who_have_a_pin(cast, tablet):
    set_pin(cast.dora, PIN, NOW)  # of the other hall
    assert names_on(at(tablet)) == {"Omar", "Tam", "Petra"}


def test_an_account_that_has_ended_and_a_guest_on_another_day_are_not_among_them(cast, tablet):
    Staff.objects.filter(pk=cast.omar.pk).update(is_active=False)
    Staff.objects.filter(pk=cast.petra.pk).update(guest_on=NOW.date() + datetime.timedelta(1))
    assert names_on(at(tablet)) == {"Tam"}
    for staff in (cast.omar, cast.petra):
        client = at(tablet)
        assert tap(client, staff).status_code == 422
        assert signed_in(client) is None


@pytest.mark.parametrize("who", ["", "1", "x", "00000000-0000-0000-0000-000000000000"])
def test_somebody_unknown_is_not_let_in(tablet, who):
    client = at(tablet)
    assert client.post("/change-over", {"who": who, "pin": PIN}).status_code == 422
    assert client.get(f"/change-over?who={who}").status_code == 200
    assert signed_in(client) is None
    assert not SignInTry.objects.exists()


def test_somebody_of_another_location_is_not_let_in_with_the_right_pin(cast, tablet):
    set_pin(cast.dora, PIN, NOW)
    client = at(tablet)
    assert tap(client, cast.dora).status_code == 422
    assert signed_in(client) is None


def test_the_form_needs_its_token(cast, tablet):
    client = Client(enforce_csrf_checks=True)
    client.cookies[COOKIE] = tablet.secret
    assert tap(client, cast.omar).status_code == 403
    assert signed_in(client) is None


# In


def test_name_and_pin_sign_in_and_lead_back(cast, tablet):
    client = at(tablet)
    answer = tap(client, cast.omar, next=f"/floor/{cast.meeting.uuid}")
    assert (answer.status_code, answer["Location"]) == (302, f"/floor/{cast.meeting.uuid}")
    assert client.get(answer["Location"]).status_code == 200
    assert signed_in(client) == str(cast.omar.pk)


def test_the_pages_carry_on_where_to_go_next(cast, tablet):
    client = at(tablet)
    link = f"?who={cast.omar.uuid}&amp;next=%2Freview%3Fstate%3Dopen"
    assert link in client.get("/change-over?next=/review%3Fstate%3Dopen").text
    page = client.get(f"/change-over?who={cast.omar.uuid}&next=/review%3Fstate%3Dopen")
    assert 'name="next" value="/review?state=open"' in page.text
    again = tap(client, cast.omar, WRONG, next="/review?state=open")
    assert 'name="next" value="/review?state=open"' in again.text


@pytest.mark.parametrize(
    "address",
    [
        "https://elsewhere.example/",
        "//elsewhere.example/",
        "///elsewhere.example",
        "http:elsewhere.example",
        "javascript:alert(1)",
        "/\\elsewhere.example",
        "/nowhere",
        "",
    ],
)
def test_changing_over_never_leads_to_another_host_or_nowhere(cast, tablet, address):
    assert tap(at(tablet), cast.omar, next=address)["Location"] == "/"
    page = at(tablet).get("/change-over", {"next": address}).text
    assert "elsewhere.example" not in page
    assert "javascript" not in page.replace("text/javascript", "")


def test_who_takes_over_another_s_class_is_led_to_their_own_evening(cast, tablet):
    set_pin(cast.ines, PIN, NOW)
    answer = tap(at(tablet), cast.ines, next=f"/floor/{cast.meeting.uuid}")
    assert answer["Location"] == "/"


def test_changing_over_ends_the_sign_in_of_whoever_was_there_before(cast, tablet):
    client = at(tablet)
    client.force_login(cast.petra)
    before = client.session.session_key
    client.get("/change-over")
    tap(client, cast.omar)
    assert client.session.session_key != before
    assert not Session.objects.filter(pk=before).exists()
    other = Client()
    other.cookies["sessionid"] = before
    assert other.get("/").status_code == 302


def test_changing_over_to_oneself_makes_a_new_session_too(cast, tablet):
    client = at(tablet)
    tap(client, cast.omar)
    before = client.session.session_key
    tap(client, cast.omar)
    assert client.session.session_key != before
    assert not Session.objects.filter(pk=before).exists()


def test_a_wrong_pin_leaves_the_one_before_signed_in(cast, tablet):
    client = at(tablet)
    tap(client, cast.omar)
    assert tap(client, cast.tam, WRONG).status_code == 422
    assert signed_in(client) == str(cast.omar.pk)


def test_each_change_over_keeps_the_tablet_enrolled_for_longer(cast, tablet):
    cookie = tap(at(tablet), cast.omar).cookies[COOKIE]
    assert cookie.value == tablet.secret
    assert cookie["max-age"] == 400 * 24 * 3600
    assert cookie["httponly"] is True


def test_the_page_can_tell_whose_it_is(cast, tablet):
    cookie = tap(at(tablet), cast.omar).cookies["whose"]
    assert cookie.value == str(cast.omar.uuid)
    assert cookie["httponly"] == ""


def test_the_sign_in_page_offers_the_pin_on_an_enrolled_tablet_only(client, tablet):
    link = 'href="/change-over?next=%2Freview"'
    assert link in at(tablet).get("/sign-in?next=/review").text
    assert link not in client.get("/sign-in?next=/review").text


# Guessing


def refusal(answer) -> list[str]:
    assert answer.status_code == 422
    return list(answer.context["form"].errors["pin"])


def test_a_wrong_pin_and_one_that_must_wait_are_refused_with_the_same_sentence(cast, tablet):
    client = at(tablet)
    wrong = [refusal(tap(client, cast.omar, WRONG)) for _each in range(FREE)]
    waits = refusal(tap(client, cast.omar, WRONG))
    right_but_waits = refusal(tap(client, cast.omar))
    assert len({str(sentence) for sentence in [*wrong, waits, right_but_waits]}) == 1
    assert signed_in(client) is None


def test_what_has_to_wait_is_not_looked_at_and_not_counted(cast, tablet, monkeypatch):
    client = at(tablet)
    for _each in range(FREE):
        tap(client, cast.omar, WRONG)
    monkeypatch.setattr(
        "studio.sign_in.pins.check_password", lambda *args: pytest.fail("looked at")
    )
    for _each in range(20):
        tap(client, cast.omar)
    assert SignInTry.objects.count() == FREE


def test_four_mistakes_and_then_the_right_pin_cost_no_wait(cast, tablet):
    client = at(tablet)
    for _each in range(FREE - 1):
        tap(client, cast.omar, WRONG)
    assert tap(client, cast.omar).status_code == 302
    assert not SignInTry.objects.filter(counts=True).exists()


def test_the_wait_doubles_from_half_a_minute_to_an_hour(cast, tablet, clock):
    client = at(tablet)
    for _each in range(FREE):
        tap(client, cast.omar, WRONG)
    for seconds in (30, 60, 120, 240, 480, 960, 1920, 3600, 3600):
        clock.shift(seconds - 1)
        before = SignInTry.objects.count()
        tap(client, cast.omar)
        assert SignInTry.objects.count() == before, seconds
        clock.shift(1)
        tap(client, cast.omar, WRONG)
        assert SignInTry.objects.count() == before + 1, seconds
    clock.shift(3600)
    assert tap(client, cast.omar).status_code == 302


def test_what_one_person_mistypes_holds_up_nobody_else(cast, tablet):
    client = at(tablet)
    for _each in range(30):
        tap(client, cast.omar, WRONG)
    assert tap(client, cast.omar).status_code == 422
    assert tap(client, cast.tam).status_code == 302


def test_nor_the_same_person_on_another_tablet(cast, tablet):
    other, other.secret = enrol("Red case", cast.hall, cast.petra, NOW)
    for _each in range(FREE):
        tap(at(tablet), cast.omar, WRONG)
    assert tap(at(other), cast.omar).status_code == 302


def test_nor_anybody_s_password(cast, tablet):
    client = at(tablet)
    for _each in range(FREE + 1):
        tap(client, cast.omar, WRONG)
    answer = client.post("/sign-in", {"username": "omar", "password": PASSWORD})
    assert answer.status_code == 302
    assert signed_in(client) == str(cast.omar.pk)


def test_the_own_right_pin_does_not_pardon_guesses_at_another_s(cast, tablet):
    client = at(tablet)
    for _each in range(FREE):
        tap(client, cast.petra, WRONG)
    tap(client, cast.omar)
    assert tap(client, cast.petra).status_code == 422
    assert signed_in(client) == str(cast.omar.pk)


def test_another_browser_with_the_tablet_s_cookie_begins_no_new_count(cast, tablet):
    for _each in range(FREE):
        tap(at(tablet), cast.omar, WRONG)
    assert tap(at(tablet), cast.omar).status_code == 422


def test_headers_and_addresses_change_nothing(cast, tablet):
    for n in range(FREE):
        tap(at(tablet), cast.omar, WRONG, headers={"X-Forwarded-For": f"203.0.113.{n}"})
    for n in range(20):
        client = at(tablet)
        client.defaults["REMOTE_ADDR"] = f"198.51.100.{n}"
        headers = {"X-Forwarded-For": f"203.0.113.{n}", "X-Real-IP": "::1", "Forwarded": "for=_x"}
        assert tap(client, cast.omar, headers=headers).status_code == 422
        assert signed_in(client) is None
    assert SignInTry.objects.count() == FREE


def test_many_names_on_one_tablet_make_everybody_wait_there(cast, tablet, clock):
    client = at(tablet)
    people = [cast.omar, cast.tam, cast.petra, *more_people(cast, 3)]
    for staff in people:
        for _each in range(4):
            tap(client, staff, WRONG)
    assert SignInTry.objects.count() == FREE_AT_A_TABLET
    last = more_people(cast, 5)[-1]
    assert tap(client, last).status_code == 422
    clock.shift(30)
    assert tap(client, last).status_code == 302


def test_after_an_hour_a_tablet_s_mistakes_no_longer_count_together(cast, tablet, clock):
    for staff in more_people(cast, 10):
        for _each in range(2):
            assert throttle.begin(staff, tablet, NOW)
    last = more_people(cast, 12)[-1]
    assert not throttle.begin(last, tablet, NOW)
    assert throttle.begin(last, tablet, NOW + datetime.timedelta(hours=1))


def more_people(cast: Cast, count: int) -> list[Staff]:
    found = []
    for n in range(count):
        staff, is_new = Staff.objects.get_or_create(username=f"more{n}", role="assistant")
        if is_new:
            staff.locations.set([cast.hall])
            set_pin(staff, PIN, NOW)
        found.append(staff)
    return found


def test_a_director_unlocks_a_tablet(cast, tablet):
    client = at(tablet)
    for _each in range(FREE):
        tap(client, cast.omar, WRONG)
    director = Client()
    director.force_login(cast.luis)
    assert director.post(f"/tablets/{tablet.uuid}/unlock").status_code == 302
    assert tap(client, cast.omar).status_code == 302


def test_by_pin_nobody_unlocks_a_tablet(cast, tablet):
    client = at(tablet)
    for _each in range(FREE):
        tap(client, cast.omar, WRONG)
    tap(client, cast.petra)
    assert client.post(f"/tablets/{tablet.uuid}/unlock").status_code == 403
    assert tap(client, cast.omar).status_code == 422


def guessing(tries_wanted: int) -> list[datetime.timedelta]:
    """When each try at one person's PIN on one tablet is made by somebody who never rests."""
    at_, moments = datetime.timedelta(), []
    for wrong in range(tries_wanted):
        at_ += wait_after(wrong)
        moments.append(at_)
    return moments


def test_guessing_a_pin_is_hopeless():
    moments = guessing(10_000)
    # Ten thousand tries at one PIN on one tablet: over a year, day and night, ...
    assert moments[-1] > datetime.timedelta(days=400)
    # ... and then, at best (each PIN tried once), one chance in ninety-nine.
    left = sum(not pins.is_easily_guessed(f"{n:06}") for n in range(1_000_000))
    assert 10_000 / left < 0.0102
    # In a week of every night and day on one tablet, less than one chance in 5,000.
    in_a_week = sum(moment < datetime.timedelta(days=7) for moment in moments)
    assert in_a_week / left < 1 / 5_000


def test_one_person_alone_never_makes_a_whole_tablet_wait():
    moments = guessing(200)
    hour = datetime.timedelta(hours=1)
    most = max(sum(moment - hour < other <= moment for other in moments) for moment in moments)
    assert most < FREE_AT_A_TABLET
    assert wait_after(10_000) == LONGEST_WAIT


@pytest.mark.django_db(transaction=True)
def test_guesses_sent_at_the_same_moment_all_count(cast, tablet, monkeypatch):
    checked = []
    everybody = threading.Barrier(12)

    def check(typed: str, stored: str) -> bool:
        checked.append(typed)
        return False

    monkeypatch.setattr("studio.sign_in.pins.check_password", check)

    def guess(n: int) -> int:
        client = at(tablet)
        everybody.wait(timeout=30)
        try:
            # One is looked at, at a time: the others are told to come again.
            while (status := tap(client, cast.omar, f"51820{n % 10}").status_code) == 429:
                pass
            return status
        finally:
            connection.close()

    with ThreadPoolExecutor(12) as pool:
        statuses = list(pool.map(guess, range(12)))
    assert statuses == [422] * 12
    assert len(checked) == FREE
    assert SignInTry.objects.filter(counts=True).count() == FREE


# Rights


@pytest.fixture
def site(cast: Cast, log: Logged, clock) -> Site:
    clock.move_to(EVENING)
    return build(cast, log)


def by_pin(site: Site, staff: Staff) -> Client:
    client = Client()
    client.cookies[COOKIE] = site.secret
    assert tap(client, staff).status_code == 302
    return client


# What is another answer on a tablet, or by PIN, for anybody; and what two graders, or whoever began
# a run of letters, alone see.
OTHERWISE = {
    "pin", "change-over", "sign-out", "hour-sheet",
    "letter-run", "letter-run-on", "letter-run-pdf", "letter-run-zip",
}  # fmt: skip


def answers(site: Site, staff: Staff) -> dict[tuple[str, str], int]:
    """What each address answers to somebody who came by PIN."""
    found = {}
    for name, method, *_expected in ACCESS:
        if name not in OTHERWISE:
            client = by_pin(site, staff)
            found[name, method] = getattr(client, method)(addresses(site)[name]).status_code
    return found


def expected(role: int) -> dict[tuple[str, str], int]:
    return {row[:2]: row[2 + role] for row in ACCESS if row[0] not in OTHERWISE}


def test_a_director_by_pin_who_teaches_the_class_gets_a_coach_s_answers_everywhere(site):
    site.cast.blue.staff.add(site.cast.petra)
    site.cast.meeting.staff.add(site.cast.petra)
    before = counts()
    # Twelve figures are for whoever was asked to grade them.
    omars = {("eyes-twelve", "get"): 404, ("eyes-twelve", "post"): 404}
    assert answers(site, site.cast.petra) == expected(1) | omars
    # Each call began with a sign-in by PIN, and opening today's meeting is a coach's too, as are a
    # letter and what is prepared for it.
    changed = ("SignInTry", "Meeting", "LetterDraft", "PrintedLetter", "AuditEntry")
    theirs = {name: before[name] for name in changed}
    assert counts() | theirs == before


def test_a_director_by_pin_who_does_not_teach_it_gets_those_of_a_coach_of_another(site):
    assert answers(site, site.cast.petra) == expected(2)


def test_an_assistant_by_pin_gets_an_assistant_s(site):
    assert answers(site, site.cast.tam) == expected(0)


def test_a_coach_by_pin_gets_a_coach_s(site):
    assert answers(site, site.cast.omar) == expected(1)


@pytest.mark.parametrize("who", ["omar", "tam", "petra"])
def test_by_pin_nobody_sets_a_pin(site, who):
    staff = getattr(site.cast, who)
    client = by_pin(site, staff)
    data = {"password": PASSWORD, "pin": WRONG, "again": WRONG}
    answer = client.post("/pin", data)
    assert answer.status_code == 403
    assert "Sign in with your password for it." in answer.text
    staff = Staff.objects.get(pk=staff.pk)
    assert not authenticate(staff=staff, pin=WRONG, tablet=site.tablet, now=EVENING)


DIRECTORS_LINKS = ("/gates", "/roster", "/paper", "/tablets", "/pin")


@pytest.mark.parametrize("address", ["/", "/nowhere"])
def test_by_pin_no_page_shows_a_link_to_what_is_refused(site, address):
    page = by_pin(site, site.cast.petra).get(address).text
    assert 'href="/review"' in page
    assert [link for link in DIRECTORS_LINKS if f'href="{link}"' in page] == []


def test_a_director_by_pin_is_refused_every_decision(site):
    cast = site.cast
    petra = Staff.objects.get(pk=cast.petra.pk)
    petra.coach_rights_only = True
    seen, floor, why = Snapshot("", "", 1), "sprung-dance-floor", "because"
    verbs = [
        lambda: decisions.sign(cast.mai, "4", petra, seen, EVENING, floor, EVENING.date()),
        lambda: decisions.send_back(cast.mai, "4", petra, seen, EVENING, why),
        lambda: decisions.write_exception(cast.mai, "6", petra, seen, EVENING, why),
        lambda: decisions.place(cast.mai, 5, petra, seen, EVENING, floor, why),
        lambda: decisions.lift(cast.ilse, petra, seen, EVENING, why),
    ]
    models = (Decision, Placing, Pause, PauseLift)
    before = [model.objects.count() for model in models]
    for verb in verbs:
        with pytest.raises(DecisionRefused) as refused:
            verb()
        assert refused.value.code == "may-not"
    assert [model.objects.count() for model in models] == before


def test_rights_by_pin_are_a_coach_s_at_most(cast):
    rights = [
        access.may_decide, access.may_import, access.may_change_gates, access.may_keep_tablets,
        access.may_set_pin, access.may_grade, access.may_see_records, access.may_recommend,
    ]  # fmt: skip
    for staff, with_password, with_pin in (
        (cast.petra, [True] * 8, [False] * 5 + [True] * 3),
        (cast.omar, [False] * 4 + [True] * 4, [False] * 5 + [True] * 3),
        (cast.tam, [False] * 4 + [True] + [False] * 3, [False] * 8),
    ):
        assert [may(staff) for may in rights] == with_password
        staff.coach_rights_only = True
        assert [may(staff) for may in rights] == with_pin
    assert list(access.visible_classes(cast.petra)) == []
    assert list(access.visible_classes(cast.omar)) == [cast.blue]


def test_the_password_gives_the_whole_rights_back_in_the_same_browser(site):
    client = by_pin(site, site.cast.petra)
    assert client.get("/gates").status_code == 403
    client.post("/sign-in", {"username": "petra", "password": PASSWORD})
    assert client.get("/gates").status_code == 200
    assert "by_pin" not in client.session


def test_the_pin_takes_the_whole_rights_away_in_the_same_browser(site):
    client = by_pin(site, site.cast.omar)
    client.post("/sign-in", {"username": "petra", "password": PASSWORD})
    assert client.get("/gates").status_code == 200
    tap(client, site.cast.petra)
    assert client.get("/gates").status_code == 403


def test_a_director_s_own_import_is_out_of_reach_by_pin(site):
    client = by_pin(site, site.cast.petra)
    assert ImportDraft.objects.filter(owner=site.cast.petra).exists()
    assert client.get(f"/roster/{site.drafts['roster-new']}").status_code == 403


# The end of a sign-in by PIN


def test_a_sign_in_by_pin_ends_after_four_hours_however_busy(cast, tablet, clock):
    client = at(tablet)
    tap(client, cast.omar)
    for _each in range(4):
        clock.shift(3599)
        assert client.get("/").status_code == 200
    clock.shift(4)
    assert client.get("/")["Location"] == "/sign-in?next=/"
    assert signed_in(client) is None


def test_its_hours_are_a_setting(cast, tablet, clock, settings):
    settings.PIN_SESSION_AGE = 60
    client = at(tablet)
    tap(client, cast.omar)
    clock.shift(61)
    assert client.get("/").status_code == 302


def test_it_ends_when_the_tablet_is_withdrawn(cast, tablet):
    client = at(tablet)
    tap(client, cast.omar)
    director = Client()
    director.force_login(cast.petra)
    director.post(f"/tablets/{tablet.uuid}/withdraw")
    assert client.get("/").status_code == 302
    assert signed_in(client) is None


def test_it_is_good_on_its_tablet_only(cast, tablet):
    client = at(tablet)
    tap(client, cast.omar)
    copied = Client()
    copied.cookies["sessionid"] = client.session.session_key
    assert copied.get("/").status_code == 302
    assert not Session.objects.filter(pk=client.cookies["sessionid"].value).exists()


def test_a_call_of_the_floor_page_is_then_answered_with_json(cast, tablet, clock):
    client = at(tablet)
    tap(client, cast.omar)
    assert client.get(f"/floor/{cast.meeting.uuid}/pack").status_code == 200
    clock.shift(4 * 3600)
    answer = client.get(f"/floor/{cast.meeting.uuid}/pack")
    assert (answer.status_code, answer.json()["error"]) == (401, "sign-in")


def test_a_sign_in_by_password_on_the_tablet_is_not_ended_with_it(cast, tablet, clock, settings):
    settings.DESK_IDLE_MINUTES = 0
    client = at(tablet)
    client.post("/sign-in", {"username": "omar", "password": PASSWORD})
    Tablet.objects.update(withdrawn_at=NOW)
    clock.shift(5 * 3600)
    assert client.get("/").status_code == 200


def test_an_account_that_has_ended_is_out_at_once(cast, tablet):
    client = at(tablet)
    tap(client, cast.omar)
    Staff.objects.filter(pk=cast.omar.pk).update(is_active=False)
    assert client.get("/").status_code == 302

"""Who may see and do what: every address, method and role, with the answer expected.

The address belongs to the blue class, to Mai who is in it, or to Petra's own upload. A form
is sent empty: 400 and 422 are past the door, and no further. A new address fails here until
it has its rows.
"""

import json
import re
from collections.abc import Iterator
from datetime import timedelta

import pytest
import time_machine
from django.db import transaction
from django.test import Client
from django.urls import get_resolver

from progression.models import Attempt, RejectedLine
from studio.models import Child, ImportDraft, Meeting, Staff
from tests.support.access import ACCESS, counts
from tests.support.cast import TODAY, Cast
from tests.support.every_page import EVENING, Site, addresses, build, names, patterns

ROLES = ("assistant", "coach", "other coach", "director", "director elsewhere", "nobody")


# The addresses that need no sign-in.
PUBLIC = {
    "sign-in", "sign-out", "change-over", "new-password", "health",
    "floor-start", "floor-shell", "floor-words", "floor-worker", "floor-manifest",
}  # fmt: skip
# What is posted to without anything being changed: a page is shown, or somebody is let in.
POST_SHOWS_A_PAGE = {
    "evidence-hour", "hour-sheet", "term-end", "newcomers",
    "sign-in", "letter", "class-letters", "roster-import", "paper-import", "outbox-file", "pin",
    "change-over", "consents", "own-turns", "late-turns", "merge", "new-password", "staff-invite",
    "children", "child-add", "child-facts", "season-sheet",
    "class-add", "ready-notes", "door-note", "hall-equipment", "child-pictures",
    "eyes", "eyes-twelve", "second-grade",
}  # fmt: skip


@pytest.fixture
def site(cast, log) -> Iterator[Site]:
    with time_machine.travel(EVENING, tick=False):
        yield build(cast, log)


def people(cast: Cast) -> dict[str, Staff | None]:
    staff = (cast.tam, cast.omar, cast.ines, cast.petra, cast.dora, None)
    return dict(zip(ROLES, staff, strict=True))


def request_as(staff: Staff | None, method: str, address: str, **headers: str):
    """The answer; whatever it changed is taken back, so that the next role finds the same."""
    client = Client()
    if staff is not None:
        client.force_login(staff)
    with transaction.atomic():
        answer = getattr(client, method)(address, headers=headers)
        transaction.set_rollback(True)
    return answer


def test_no_address_is_left_out():
    assert {row[0] for row in ACCESS} == set(names())


def test_no_address_is_left_out_of_those_with_objects_behind(site):
    assert set(addresses(site)) == set(names())


def test_no_row_stands_twice():
    rows = [row[:2] for row in ACCESS]
    assert len(rows) == len(set(rows))


SECRETS = ("Mai", "Tran", "Ilse", "Brand", "Nia", "Oduya", "Weir Lane")


def wrong_answers(site: Site, **headers: str) -> list[str]:
    """The rows whose answer is not the table's, or tells of a child to whom it keeps out."""
    found = []
    where = addresses(site)
    for name, method, *expected in ACCESS:
        for (role, staff), status in zip(people(site.cast).items(), expected, strict=True):
            if staff is None and "HX-Request" in headers and name not in PUBLIC:
                status = 401
            answer = request_as(staff, method, where[name], **headers)
            if answer.status_code != status:
                found.append(f"{method} {name}, {role}: {answer.status_code}, not {status}")
            if status in (302, 401, 403, 404) and name not in PUBLIC:
                body = answer.content.decode()
                leaked = [secret for secret in SECRETS if re.search(rf"\b{secret}\b", body)]
                found += [f"{method} {name}, {role}: {leaked}"] if leaked else []
    return found


def test_each_role_gets_the_answer_expected_and_who_is_kept_out_learns_of_no_child(site):
    assert wrong_answers(site) == []


def test_an_htmx_request_is_let_in_and_kept_out_alike(site):
    assert wrong_answers(site, **{"HX-Request": "true"}) == []


def test_an_answer_that_keeps_somebody_out_changes_nothing(site):
    before, at = counts(), addresses(site)
    for name, method, *expected in ACCESS:
        for staff, status in zip(people(site.cast).values(), expected, strict=True):
            if status in (401, 403, 404, 405) or (staff is None and name not in PUBLIC):
                client = Client()
                if staff is not None:
                    client.force_login(staff)
                getattr(client, method)(at[name])
        assert counts() == before, (name, method)


def test_what_changes_something_is_post_only():
    posted = {name for name, method, *_ in ACCESS if method == "post"}
    refused = {name for name, method, *expected in ACCESS if method == "get" and expected[3] == 405}
    assert posted - POST_SHOWS_A_PAGE - refused == {"floor-pack", "floor-since", "head"}


def test_every_page_that_can_be_got_is_looked_at():
    got = {name for name, method, *_ in ACCESS if method == "get"}
    assert got == set(names())


# Somebody who is no longer let in


def test_an_account_that_has_ended_is_kept_out_everywhere(site):
    Staff.objects.update(is_active=False)
    at = addresses(site)
    for staff in (site.cast.tam, site.cast.omar, site.cast.petra):
        for name, method, *expected in ACCESS:
            answer = request_as(staff, method, at[name])
            assert answer.status_code == expected[-1], name


@pytest.fixture
def guest(site) -> Staff:
    """A guest reviewer, for the day of the meeting."""
    staff = Staff.objects.create_user("gast", role="director", guest_on=TODAY)
    staff.locations.set([site.cast.hall])
    ImportDraft.objects.update(owner=staff)
    return staff


# What a guest reviewer does: looks at the record, grades on the floor, signs, pauses whom somebody
# must pause, and writes down a knock on the head or a symptom. Everything else is refused.
OPEN_TO_A_GUEST = {
    "sign-in", "sign-out", "new-password", "tonight", "open-meeting",
    "floor-start", "floor-shell", "floor-words", "floor-worker", "floor-manifest",
    "floor", "floor-pack", "floor-since", "floor-attempts", "floor-key",
    "class", "review", "everyone", "review-next", "own-turns", "child",
    "pause", "head", "head-knock", "head-symptom",
    "shows", "show", "show-child", "show-sign", "show-put",
    "evidence", "sign", "send-back", "close-stage", "drills", "drill",
    "station-cards", "station-cards-print", "fault-map", "change-over",
    "causes", "class-causes", "stations-wall", "health", "sign-ins", "sign-ins-end",
}  # fmt: skip


def test_a_guest_reviewer_looks_grades_and_signs_on_the_day_and_does_nothing_else(site, guest):
    found, at = [], addresses(site)
    for name, method, *expected in ACCESS:
        status = request_as(guest, method, at[name]).status_code
        # An address that only takes a form says so before it asks who it is.
        refused = (405, 403) if expected[3] == 405 else (403,)
        wanted = (expected[3],) if name in OPEN_TO_A_GUEST else refused
        if status not in wanted:
            found.append(f"{method} {name}: {status}, not {wanted}")
    assert found == []


def test_a_guest_reviewer_gives_no_exception_places_nobody_and_recommends_nobody(site, guest):
    for address in ("recommend/4", "exception/6", "place", "lift", "step", "consent", "told"):
        answer = request_as(guest, "post", f"/children/{site.cast.mai.uuid}/{address}")
        assert answer.status_code == 403, address


NO_WAY_FOR_A_GUEST = (
    'href="/gates"', 'href="/roster"', 'href="/tablets"', 'href="/staff"', "/letter", "/place",
    "/told", "/consent", "/growing", "/recommend/", "/pin",
)  # fmt: skip


def test_a_guest_reviewer_sees_no_way_to_what_is_refused(site, guest):
    client = Client()
    client.force_login(guest)
    for page in ("/", "/review", addresses(site)["child"], addresses(site)["evidence"]):
        html = client.get(page).text
        for word in NO_WAY_FOR_A_GUEST:
            assert word not in html, (page, word)


def test_a_guest_reviewer_is_kept_out_everywhere_on_any_other_day(site, guest):
    at = addresses(site)
    for days in (-1, 1):
        with time_machine.travel(EVENING + timedelta(days=days), tick=False):
            for name, method, *expected in ACCESS:
                answer = request_as(guest, method, at[name])
                assert answer.status_code == expected[-1], (name, days)


def test_a_coach_who_leaves_the_class_is_kept_out_at_once(site):
    cast = site.cast
    cast.blue.staff.remove(cast.omar)
    cast.meeting.staff.remove(cast.omar)
    Meeting.objects.get(pk=cast.meeting.pk)
    for name in ("floor", "floor-pack", "letter", "kept-letters", "class-letters"):
        assert request_as(cast.omar, "get", addresses(site)[name]).status_code == 404, name


def test_a_stand_in_sees_the_meeting_and_its_children_and_no_other_meeting(site):
    cast = site.cast
    cast.meeting.staff.add(cast.ines)
    for name in ("floor", "floor-pack", "letter"):
        assert request_as(cast.ines, "get", addresses(site)[name]).status_code == 200, name
    later = Meeting.objects.create(
        group=cast.blue, date=TODAY + timedelta(days=7), starts_at=cast.blue.starts_at
    )
    assert request_as(cast.ines, "get", f"/floor/{later.uuid}").status_code == 404
    with time_machine.travel(EVENING + timedelta(days=29), tick=False):
        assert request_as(cast.ines, "get", addresses(site)["letter"]).status_code == 404


# Ids of others

# What else an address has: codes, days, and the digest of a letter's sentence.
OTHER_NAMES = {"stage", "drill", "code", "day", "kind", "sentence", "fault"}


def test_addresses_name_rows_by_uuid_only():
    for pattern in patterns(get_resolver()):
        for key, converter in pattern.pattern.converters.items():
            kind = type(converter).__name__
            assert kind == "UUIDConverter" or key in OTHER_NAMES, pattern.name


def test_a_number_in_place_of_an_id_finds_nothing(site):
    for name, address in addresses(site).items():
        guessed = re.sub(r"[0-9a-f]{8}-[0-9a-f-]{27}", "1", address)
        if guessed != address:
            assert request_as(site.cast.petra, "get", guessed).status_code == 404, name


def test_an_id_of_another_kind_finds_nothing(site):
    cast = site.cast
    for wrong in (cast.rosa.uuid, cast.red.uuid, cast.petra.uuid, cast.mai.uuid):
        for name, address in addresses(site).items():
            guessed = re.sub(r"[0-9a-f]{8}-[0-9a-f-]{27}", str(wrong), address, count=1)
            if guessed not in (address, f"/children/{cast.mai.uuid}/letter") and name != "sign-in":
                status = request_as(cast.omar, "get", guessed).status_code
                assert status in (403, 404, 405) or str(cast.mai.uuid) in guessed, (name, wrong)


def test_lines_for_a_child_of_another_class_are_refused_one_by_one(site):
    cast = site.cast
    client = Client()
    client.force_login(cast.omar)
    before, refused = Attempt.objects.count(), RejectedLine.objects.count()
    lines = [line(cast.rosa, 1), line(cast.mai, 2)]
    call = {"v": 1, "device": "t", "sent_at": EVENING.isoformat(), "lines": lines}
    answer = client.post(
        addresses(site)["floor-attempts"], json.dumps(call), content_type="application/json"
    )
    assert [each["answer"] for each in answer.json()["lines"]] == ["refused", "kept"]
    assert "Rosa" not in answer.text
    assert Attempt.objects.count() == before + 1
    assert RejectedLine.objects.count() == refused + 1


def line(child: Child, count: int) -> dict[str, object]:
    from tests.support.cast import time_ordered_id

    return {
        "kind": "turn",
        "id": str(time_ordered_id(EVENING, count)),
        "at": EVENING.isoformat(),
        "child": str(child.uuid),
        "drill": "wall-shrugs",
        "surface": "sprung-dance-floor",
        "value": 7,
    }


# Form tokens


def test_a_post_without_its_token_is_refused_and_changes_nothing(site):
    client = Client(enforce_csrf_checks=True)
    client.force_login(site.cast.petra)
    before, at = counts(), addresses(site)
    for name, method, *_ in ACCESS:
        if method == "post":
            assert client.post(at[name]).status_code == 403, name
    assert counts() == before
    assert client.get("/").status_code == 200  # also not signed out

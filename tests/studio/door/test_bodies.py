"""What is sent is refused by its length before it is read."""

import io

import pytest
from django.conf import settings
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver

from progression.models import RejectedLine
from studio.bodies import KB, MOST_BYTES, MOST_OF_STRANGERS
from studio.imports.forms import MOST_SENT
from studio.models import ImportDraft

PLAIN = "application/x-www-form-urlencoded"


class NeverRead(io.BytesIO):
    """A body that must not be touched."""

    def read(self, *args):
        raise AssertionError("it was read")

    readline = readlines = read


def send(client: Client, address: str, length: int, kind: str = PLAIN, **headers: str) -> int:
    said = {"CONTENT_LENGTH": str(length), "CONTENT_TYPE": kind, "wsgi.input": NeverRead()}
    return client.generic("POST", address, headers=headers, **said).status_code


@pytest.fixture
def petra(cast) -> Client:
    client = Client()
    client.force_login(cast.petra)
    return client


def test_a_body_over_its_pages_limit_is_refused_unread(petra, cast):
    floor = f"/floor/{cast.meeting.uuid}/attempts"
    assert send(petra, floor, 1024 * KB + 1, "application/json") == 413
    for page in ("/roster", "/paper", "/outbox-file"):
        assert send(petra, page, MOST_SENT + 1) == 413
    assert send(petra, f"/children/{cast.mai.uuid}/pause", MOST_BYTES + 1) == 413
    assert send(petra, "/sign-in", MOST_BYTES + 1) == 413
    assert RejectedLine.objects.count() + ImportDraft.objects.count() == 0


def test_nothing_of_a_strangers_is_read_but_a_short_form(db, cast):
    stranger = Client(enforce_csrf_checks=True)
    for length in (1, MOST_BYTES, 10**9):
        assert send(stranger, "/roster", length) == 302
        assert send(stranger, f"/floor/{cast.meeting.uuid}/attempts", length) == 401
        assert send(stranger, "/nowhere", length) == 404
    assert send(stranger, "/sign-in", MOST_OF_STRANGERS + 1) == 413
    assert send(stranger, "/change-over", MOST_OF_STRANGERS + 1) == 413


def test_a_body_without_its_length_is_refused(petra):
    assert send(petra, "/roster", 0, **{"Transfer-Encoding": "chunked"}) == 411


@pytest.mark.parametrize("charset", ["hex", "idna", "utf-16", "no-such"])
def test_what_is_not_sent_in_utf_8_is_refused(petra, charset):
    assert send(petra, "/roster", 5, f"multipart/form-data; boundary=x; charset={charset}") == 400


def test_a_body_that_breaks_off_is_refused_and_nothing_of_it_taken(petra, cast):
    body = b"token=8ac5b9b2-0000-4000-8000-000000000000&reason=Fever"
    address = f"/children/{cast.mai.uuid}/pause"
    announced = {"CONTENT_LENGTH": str(len(body) + 1), "wsgi.input": io.BytesIO(body)}
    answer = petra.post(address, body, PLAIN, **announced)
    assert answer.status_code == 400
    assert "Not all of it arrived" in answer.content.decode()
    assert petra.post(address, body, PLAIN).status_code == 302


def test_no_limit_is_above_what_the_site_reads_at_all():
    def views(resolver: URLResolver):
        for each in resolver.url_patterns:
            if isinstance(each, URLPattern):
                yield each.callback
            else:
                yield from views(each)

    limits = {getattr(view, "most_bytes", MOST_BYTES) for view in views(get_resolver())}
    assert limits == {MOST_BYTES, 1024 * KB, MOST_SENT}
    assert max(limits) <= settings.DATA_UPLOAD_MAX_MEMORY_SIZE

"""A session that was signed out of without a network ends with the first request that comes."""

import json
import re

from cryptography.hazmat.primitives.asymmetric import ec
from django.contrib.sessions.models import Session

from progression.models import SigningKey
from studio.sign_in.ended import COOKIE, tag_of
from tests.support.signing import text_of_key


def tag_on_page(client):
    return re.search(r'data-tag="(\w+)"', client.get("/").text).group(1)


def test_the_session_with_that_tag_ends_and_with_it_its_key(client, cast):
    client.force_login(cast.omar)
    tag = tag_on_page(client)
    key = text_of_key(ec.generate_private_key(ec.SECP256R1()))
    client.post("/floor/key", json.dumps({"key": key}), "application/json")
    client.cookies[COOKIE] = tag
    answer = client.get("/")
    assert (answer.status_code, answer["Location"]) == (302, "/sign-in?next=/")
    assert Session.objects.count() == 0
    assert SigningKey.objects.get().ended_at is not None
    # Its work is done.
    assert answer.cookies[COOKIE].value == ""


def test_a_newer_sign_in_is_not_touched_and_the_cookie_goes(client, cast):
    client.force_login(cast.omar)
    old = tag_on_page(client)
    client.logout()
    client.force_login(cast.omar)
    assert tag_on_page(client) != old
    client.cookies[COOKIE] = old
    answer = client.get("/")
    assert answer.status_code == 200
    assert answer.cookies[COOKIE].value == ""


def test_with_no_session_or_any_text_it_does_nothing(client, cast):
    client.cookies[COOKIE] = "nothing" * 50
    assert client.get("/sign-in").status_code == 200
    client.force_login(cast.omar)
    client.cookies[COOKIE] = tag_of("another")
    assert client.get("/").status_code == 200


def test_signing_in_with_such_a_cookie_begins_a_session_that_stays(client, cast):
    client.force_login(cast.omar)
    client.cookies[COOKIE] = tag_on_page(client)
    form = {"username": "omar", "password": "a long enough word"}
    assert client.post("/sign-in", form).status_code == 302
    assert client.get("/").status_code == 200


def test_the_tag_does_not_tell_the_key(client, cast):
    client.force_login(cast.omar)
    key = client.session.session_key
    assert key not in client.get("/").text
    assert tag_of(key) == tag_on_page(client)

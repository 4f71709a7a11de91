"""The call that enrols the public half of a browser's key, and the end of that key."""

import json

import pytest
from cryptography.hazmat.primitives.asymmetric import ec
from django.test import Client

from progression.models import SigningKey
from tests.support.pages import signed_in
from tests.support.signing import text_of_key

pytestmark = pytest.mark.django_db


def enrol(client: Client, **body):
    return client.post("/floor/key", json.dumps(body), "application/json")


def new_key(curve=None) -> str:
    return text_of_key(ec.generate_private_key(curve or ec.SECP256R1()))


def test_a_key_belongs_to_whoever_is_signed_in_and_is_enrolled_once(cast):
    client, text = signed_in(cast.tam), new_key()
    answers = [enrol(client, key=text, staff=str(cast.omar.uuid)) for _twice in range(2)]
    assert [answer.status_code for answer in answers] == [200, 200]
    key = SigningKey.objects.get()
    assert (key.staff, key.public_key, key.ended_at) == (cast.tam, text, None)
    about = {"id": str(key.uuid), "staff": str(cast.tam.uuid)}
    assert [answer.json() for answer in answers] == [about] * 2


def test_the_same_key_of_another_person_is_another_one(cast):
    text = new_key()
    first, second = (enrol(signed_in(each), key=text).json() for each in (cast.tam, cast.omar))
    assert first != second


def test_it_ends_with_the_sign_in_and_is_a_new_one_after_that(cast):
    client, text = signed_in(cast.omar), new_key()
    first = enrol(client, key=text).json()
    client.post("/sign-out")
    assert SigningKey.objects.get().ended_at is not None
    assert enrol(signed_in(cast.omar), key=text).json() != first


@pytest.mark.parametrize(
    "body",
    [{}, {"key": None}, {"key": "x"}, {"key": ["x"]}, {"key": "\ud800"}, {"key": "A" * 9999}],
)
def test_what_is_no_key_is_refused_and_nothing_stored(cast, body):
    assert enrol(signed_in(cast.omar), **body).status_code == 400
    assert enrol(signed_in(cast.omar), key=new_key(ec.SECP384R1())).status_code == 400
    assert not SigningKey.objects.exists()

"""A line's signature, against the vectors that the tablet's scripts are held to as well."""

import base64
import json

import pytest
from cryptography.hazmat.primitives.asymmetric import ec, ed25519
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

from progression.log.lines import canonical
from progression.log.signatures import is_signed, read_public_key
from tests.support.signing import text_of_key
from tests.vectors import make

CASES = json.loads((make.FOLDER / "signing.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_the_form_and_the_signature_of_each_vector_hold(case):
    line, key = case["line"], case["key"]
    assert canonical(line).decode() == case["canonical"]
    assert is_signed(line, case["signature"], key)
    assert not is_signed(line | {"by": "somebody else"}, case["signature"], key)


def test_the_order_in_which_a_line_s_fields_come_does_not_matter():
    case = CASES[0]
    turned = dict(reversed(case["line"].items()))
    assert is_signed(turned, case["signature"], case["key"])


@pytest.mark.parametrize("text", ["", "x", "ä", "\0", "A" * 87 + "=", "A" * 300, "A" * 88])
def test_what_is_no_signature_proves_nothing_and_raises_nothing(text):
    assert not is_signed(CASES[0]["line"], text, CASES[0]["key"])


def test_only_a_key_on_p_256_is_taken():
    spki = Encoding.DER, PublicFormat.SubjectPublicKeyInfo
    edwards = ed25519.Ed25519PrivateKey.generate().public_key().public_bytes(*spki)
    other = ec.generate_private_key(ec.SECP384R1())
    for text in (
        text_of_key(other),
        base64.b64encode(edwards).decode(),
        "x",
        "",
        None,
        3,
        "A" * 999,
    ):
        assert read_public_key(text) is None

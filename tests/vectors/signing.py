"""Lines in the one fixed form that is signed, and a signature of each that holds.

The form is compared by both languages; the signatures are made here with a fixed key, in the
deterministic way of RFC 6979, and looked at by both.
"""

from typing import Any

from cryptography.hazmat.primitives.asymmetric import ec, utils
from cryptography.hazmat.primitives.hashes import SHA256

from progression.log.lines import canonical
from tests.support.signing import as_text, text_of_key

PRIVATE = ec.derive_private_key(20260304, ec.SECP256R1())
TURN = {
    "kind": "turn",
    "id": "019cb9ca-ca68-7001-910f-49407cadde21",
    "at": "2026-03-04T17:30:00.000Z",
    "page": "0123456789ab",
    "mono": 1200,
    "offset": -35,
    "by": "0b1d2f6e-8f8e-4a57-9d1e-1b6a1c9c5d11",
    "meeting": "b6a9a3c2-51c7-4f0e-8f25-3a8f7f2d9e77",
    "child": "3f0c8f66-07a8-4a43-8b57-0f1f2f9f7a01",
    "drill": "back-walkover",
    "surface": "sprung-dance-floor",
    "support": 1,
}
LINES: dict[str, Any] = {
    "a clean turn": TURN | {"clean": True},
    "faults, in their order": TURN | {"clean": False, "faults": ["z", "a"], "caught": True},
    "a hold in tenths": TURN | {"value": 12.3},
    "whole, small and large numbers": TURN | {"value": 0, "mono": 123456789012, "offset": -0.001},
    "letters that JSON escapes": {"a": 'quote " back \\ slash / tab \t bell \u0007 \u007f \u2028'},
    "letters beyond ASCII": {"ä": "Łukasz Żak, 陈美丽, 😀", "z": "", "Z": " "},
    "nested, empty and null": {"b": {"d": [], "c": {}}, "a": [None, True, [1, 2]]},
}


def cases() -> list[dict[str, Any]]:
    return [{"name": name, **_signed(line)} for name, line in LINES.items()]


def _signed(line: dict[str, Any]) -> dict[str, Any]:
    content = canonical(line)
    der = PRIVATE.sign(content, ec.ECDSA(SHA256(), deterministic_signing=True))
    return {
        "line": line,
        "canonical": content.decode(),
        "key": text_of_key(PRIVATE),
        "signature": as_text(utils.decode_dss_signature(der)),
    }

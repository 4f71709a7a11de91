"""A line signed at the tap with a key that its author's browser made.

ECDSA on the curve P-256 over SHA-256 of the line's fixed form, the signature as 64 bytes in base64
(W3C, Web Cryptography API, 23; FIPS 186-5).
Shared: used by the door for turns and by the call that enrols a key.
"""

import base64
import binascii
from collections.abc import Mapping
from typing import Any

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric import ec, utils
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import load_der_public_key

from progression.log.lines import canonical

LONGEST_KEY = 200
HALF = 32


def read_public_key(text: object) -> ec.EllipticCurvePublicKey | None:
    """A key on P-256 from its SubjectPublicKeyInfo (RFC 5480) in base64; None if it is none."""
    if not isinstance(text, str) or len(text) > LONGEST_KEY:
        return None
    try:
        key = load_der_public_key(base64.b64decode(text, validate=True))
    except (binascii.Error, ValueError):
        return None
    if isinstance(key, ec.EllipticCurvePublicKey) and isinstance(key.curve, ec.SECP256R1):
        return key
    return None


def is_signed(line: Mapping[str, Any], signature: str, public_key: str) -> bool:
    """True if the line, as it is, was signed with the other half of this key."""
    key = read_public_key(public_key)
    try:
        raw = base64.b64decode(signature, validate=True)
    except (binascii.Error, ValueError):
        return False
    if key is None or len(raw) != 2 * HALF:
        return False
    r, s = (int.from_bytes(half, "big") for half in (raw[:HALF], raw[HALF:]))
    try:
        der = utils.encode_dss_signature(r, s)
        key.verify(der, canonical(line), ec.ECDSA(SHA256()))
    except InvalidSignature:
        return False
    return True

"""A key as a browser makes it, and lines signed with it."""

import base64

from cryptography.hazmat.primitives.asymmetric import ec, utils
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

from progression.log.lines import canonical
from progression.models import SigningKey
from studio.models import Staff
from tests.support.cast import NOW


def text_of_key(private: ec.EllipticCurvePrivateKey) -> str:
    spki = private.public_key().public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)
    return base64.b64encode(spki).decode()


def signature(private: ec.EllipticCurvePrivateKey, content: bytes) -> str:
    """As the Web Cryptography API makes it: both numbers, one after the other."""
    return as_text(utils.decode_dss_signature(private.sign(content, ec.ECDSA(SHA256()))))


def as_text(numbers: tuple[int, int]) -> str:
    return base64.b64encode(b"".join(n.to_bytes(32, "big") for n in numbers)).decode()


class Signer:
    """A person's key, enrolled."""

    def __init__(self, staff: Staff) -> None:
        self.private = ec.generate_private_key(ec.SECP256R1())
        self.key = SigningKey.objects.create(
            staff=staff, public_key=text_of_key(self.private), enrolled_at=NOW
        )

    def sign(self, *lines: dict) -> dict[str, dict[str, str]]:
        """What a call has beside its lines."""
        return {
            line["id"]: {
                "key": str(self.key.uuid),
                "signature": signature(self.private, canonical(line)),
            }
            for line in lines
        }

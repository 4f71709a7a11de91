"""What makes a line its author's, whoever brings it: a token signed with the pack.

It says who opened the class, on which tablet and for which meeting, and nothing more. It does
not run out: a line may come in days later, from a tablet that others have used since.

Shared: made by the floor, looked at by the record.
"""

from django.core import signing

SALT = "floor-pack"


def make_token(staff: str, device: str, meeting: str) -> str:
    """Signed for one person, one tablet and one meeting, each by its public id."""
    return signing.dumps([staff, device, meeting], salt=SALT)


def is_token_of(token: object, staff: str, device: str, meeting: str) -> bool:
    """True if this server signed the token for just these three."""
    if not isinstance(token, str):
        return False
    try:
        return bool(signing.loads(token, salt=SALT) == [staff, device, meeting])
    except (signing.BadSignature, UnicodeEncodeError):
        # Half characters, which JSON can bring, are signed by nobody.
        return False

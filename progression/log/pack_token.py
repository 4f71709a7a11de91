"""What made a line its author's before lines were signed: a token signed with the pack, in each
line. Pages that were open, or files that were saved, before the upgrade may still bring it.

Shared: looked at by the record.
"""

import datetime

from django.core import signing
from django.db.migrations.recorder import MigrationRecorder

SALT = "floor-pack"
# Lines of that form are taken for ever, but the token counts for so long after the upgrade.
COUNTS_FOR = datetime.timedelta(days=7)
UPGRADE = "0008_proof"


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


def tokens_count(now: datetime.datetime) -> bool:
    """True for some days after this database was brought up to the release with signed lines."""
    applied = MigrationRecorder.Migration.objects.filter(app="progression", name=UPGRADE)
    return applied.filter(applied__gt=now - COUNTS_FOR).exists()

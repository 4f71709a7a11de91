"""A backup as a file: what it holds is said first, then the database, in one compressed archive.

It is written under a temporary name, flushed to the disk, and named only when it is whole; nobody
but this account can read it. Encrypted, it is an age file (age-encryption.org/v1).
"""

import dataclasses
import datetime
import hashlib
import json
import os
import re
import shutil
import tarfile
import zlib
from collections.abc import Sequence
from pathlib import Path
from types import ModuleType
from typing import IO, Any

from django.utils.translation import gettext as _

FORM = 1
NAME = re.compile(r"ladder-\d{8}-\d{6}-\d{3}\.tar\.gz(\.age)?")
ABOUT, DATA = "about.json", "database"
LONGEST_ABOUT = 1_000_000
AT_ONCE = 1 << 20


class BackupError(Exception):
    """Why there is no backup, or why a file is none, as a sentence."""


@dataclasses.dataclass(frozen=True)
class About:
    """What a backup holds. ``migrations``: the names of those that its tables have had, by app;
    ``tables``: rows and digest of each; ``sha256``: of the database as it lies in the archive."""

    made_at: str
    vendor: str
    log: str
    migrations: dict[str, list[str]]
    tables: dict[str, tuple[int, str]]
    sha256: str
    form: int = FORM

    @property
    def moment(self) -> datetime.datetime:
        return datetime.datetime.fromisoformat(self.made_at)


def name_of(now: datetime.datetime, encrypted: bool) -> str:
    return f"ladder-{stamp(now)}.tar.gz" + (".age" if encrypted else "")


def stamp(now: datetime.datetime) -> str:
    """To the millisecond: no two backups have one name."""
    return f"{now:%Y%m%d-%H%M%S}-{now.microsecond // 1000:03}"


def private_folder(folder: Path) -> None:
    """Make a folder that only this account can enter; one that is there stays as it is."""
    if not folder.is_dir():
        folder.mkdir(mode=0o700, parents=True)


def private_file(file: Path) -> IO[bytes]:
    """Open a new file that only this account can read."""
    file.unlink(missing_ok=True)
    return os.fdopen(os.open(file, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600), "w+b")


def pack(about: About, data: Path, archive: Path) -> None:
    text = archive.with_name(ABOUT)
    with private_file(text) as stream:
        stream.write(json.dumps(dataclasses.asdict(about)).encode())
    with (
        private_file(archive) as stream,
        tarfile.open(fileobj=stream, mode="w:gz", compresslevel=6) as tar,
    ):
        tar.add(text, ABOUT)
        tar.add(data, DATA)


def unpack(archive: Path, data: Path) -> About:
    """Put the database where it is wanted and say what the backup holds. BackupError, with what
    was written left behind, if the file is no backup, is cut off or was changed."""
    try:
        with tarfile.open(archive, "r:gz") as tar:
            about = _about(_member(tar, ABOUT).read(LONGEST_ABOUT))
            with private_file(data) as stream:
                shutil.copyfileobj(_member(tar, DATA), stream, AT_ONCE)
    except (tarfile.TarError, zlib.error, EOFError, ValueError, TypeError, KeyError) as error:
        raise BackupError(_("This file is no backup, or it is cut off.")) from error
    if digest_of(data) != about.sha256:
        raise BackupError(_("The backup was changed or damaged: its digest is another one."))
    return about


def _member(tar: tarfile.TarFile, name: str) -> IO[bytes]:
    member = tar.next()
    stream = tar.extractfile(member) if member and member.name == name else None
    if stream is None:
        raise ValueError(name)
    return stream


def _about(text: bytes) -> About:
    data: dict[str, Any] = json.loads(text)
    if data.get("form") != FORM:
        raise BackupError(_("This backup was made by a newer program. Renew the program first."))
    data["tables"] = {name: (rows, digest) for name, (rows, digest) in data["tables"].items()}
    return About(**data)


def digest_of(file: Path) -> str:
    with file.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def encrypt(plain: Path, encrypted: Path, recipients: Sequence[str]) -> None:
    age = _age()
    if not recipients:
        raise BackupError(_("Set BACKUP_RECIPIENTS to the age keys that may read the backup."))
    try:
        keys = [age.x25519.Recipient.from_str(each) for each in recipients]
    except age.RecipientError as error:
        raise BackupError(_("BACKUP_RECIPIENTS names a key that is no age key.")) from error
    private_file(encrypted).close()
    age.encrypt_file(str(plain), str(encrypted), keys)


def decrypt(encrypted: Path, plain: Path, identity: Path | None) -> None:
    age = _age()
    if identity is None:
        raise BackupError(_("This backup is encrypted: give the file of its key as --identity."))
    lines = [line.strip() for line in identity.read_text(encoding="utf-8").splitlines()]
    private_file(plain).close()
    try:
        keys = [age.x25519.Identity.from_str(each) for each in lines if each[:1] not in ("", "#")]
        age.decrypt_file(str(encrypted), str(plain), keys)
    except (age.IdentityError, age.DecryptError) as error:
        raise BackupError(_("The backup cannot be read with this key.")) from error


def _age() -> ModuleType:
    try:
        import pyrage
    except ImportError as error:
        raise BackupError(
            _("Encryption needs the extra [encryption]: pip install -e '.[encryption]'.")
        ) from error
    return pyrage


def name_whole(unfinished: Path, file: Path) -> None:
    """Give a finished file its name, once its content is on the disk."""
    handle = os.open(unfinished, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
    unfinished.replace(file)
    sync_folder(file.parent)


def sync_folder(folder: Path) -> None:
    """A name is on the disk once its folder is. Windows opens no folder, and needs none of it."""
    if os.name != "nt":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def backups_in(folder: Path) -> list[Path]:
    """The backups of a folder, the oldest first."""
    return sorted(each for each in folder.iterdir() if NAME.fullmatch(each.name))


def rotate(folder: Path, keep: int) -> list[Path]:
    """Remove all but the newest; says which."""
    old = backups_in(folder)[: -max(keep, 1)]
    for each in old:
        each.unlink()
    return old

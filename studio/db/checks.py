"""What an SQLite file needs of the place where it lies, checked before anything is lost.

``manage.py check --database default`` and ``manage.py migrate`` look; so does every start of the
server (studio/wsgi.py), whose log then has a line a finding. PostgreSQL needs none of it.
Shared: used by the server's start and by begin.
"""

import logging
import re
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path, PurePosixPath
from typing import Any

from django.core.checks import CheckMessage, Error, Tags, Warning, register
from django.db import OperationalError, connections
from django.db.backends.base.base import BaseDatabaseWrapper
from django.utils.translation import gettext as _

log = logging.getLogger("ladder.database")

MOUNTINFO = Path("/proc/self/mountinfo")

# File systems, by the names that Linux gives them, which reach over a network or out of a
# container or virtual machine: no memory is shared with whoever else has the file open, and
# locks may hold on one side only.
REMOTE = {
    *("9p", "afs", "ceph", "cifs", "coda", "fakeowner", "lustre", "ncpfs", "nfs", "nfs4"),
    *("prl_fs", "smb2", "smb3", "smbfs", "vboxsf", "virtiofs", "vmhgfs"),
    *("fuse.ceph", "fuse.cifs", "fuse.davfs", "fuse.glusterfs", "fuse.grpcfuse"),
    *("fuse.gvfsd-fuse", "fuse.osxfs", "fuse.rclone", "fuse.s3fs", "fuse.smbnetfs"),
    *("fuse.sshfs", "fuse.vmhgfs-fuse"),
}
# What Windows' GetDriveType answers for a network drive.
DRIVE_REMOTE = 4


@register(Tags.database)
def sqlite_can_be_trusted(
    databases: Sequence[str] | None = None, **kwargs: Any
) -> list[CheckMessage]:
    """Look at the SQLite files among the databases that were asked for."""
    messages: list[CheckMessage] = []
    for alias in databases or ():
        messages += findings(connections[alias])
    return messages


def log_findings(connection: BaseDatabaseWrapper) -> None:
    """Put a line in the log for each finding; the connection is closed again."""
    try:
        for finding in findings(connection):
            log.warning("%s %s %s", finding.id, finding.msg, finding.hint)
    except OperationalError as error:
        log.warning("the database could not be looked at: %s", error)
    finally:
        connection.close()


def findings(connection: BaseDatabaseWrapper) -> list[CheckMessage]:
    """What is wrong with an SQLite database; nothing for any other."""
    if connection.vendor != "sqlite":
        return []
    return [*_settings_that_did_not_take(connection), *_far_away(connection)]


def _settings_that_did_not_take(connection: BaseDatabaseWrapper) -> Iterable[CheckMessage]:
    with connection.cursor() as cursor:
        journal = cursor.execute("PRAGMA journal_mode").fetchone()[0]
        foreign_keys = cursor.execute("PRAGMA foreign_keys").fetchone()[0]
    if journal != "wal":
        yield Warning(
            _(
                "SQLite's write-ahead log did not take: the journal is “%(journal)s”. Nobody can "
                "read while somebody writes."
            )
            % {"journal": journal},
            hint=_local_disk(),
            id="studio.W001",
        )
    if not foreign_keys:
        yield Error(
            _("SQLite does not check foreign keys: a row could point at nothing."),
            hint=_("Use an SQLite library that was built with foreign keys."),
            id="studio.E002",
        )


def _far_away(connection: BaseDatabaseWrapper) -> Iterable[CheckMessage]:
    kind = remote_kind(Path(connection.settings_dict["NAME"]))
    if kind:
        yield Warning(
            _(
                "The SQLite file lies on a network drive (%(kind)s): two programs that write to "
                "it can damage it."
            )
            % {"kind": kind},
            hint=_local_disk(),
            id="studio.W003",
        )


def _local_disk() -> str:
    return _(
        "Put the file on a disk of this machine, or use PostgreSQL: docs/scale.md says how to move."
    )


def remote_kind(file: Path) -> str:
    """What kind of network drive a file lies on; empty if on none, or if nobody can tell.

    On Linux and on Windows. Elsewhere nothing is looked at.
    """
    if sys.platform == "win32":
        return _remote_on_windows(str(file.absolute()))
    if MOUNTINFO.exists():
        mounts = MOUNTINFO.read_text(encoding="utf-8", errors="replace")
        kind = mount_type(mounts, PurePosixPath(file.resolve()))
        return kind if kind in REMOTE else ""
    return ""


def mount_type(mountinfo: str, file: PurePosixPath) -> str:
    """The type of the file system that an absolute path lies on, or nothing if none is mounted.

    ``mountinfo`` is the text of /proc/self/mountinfo (proc_pid_mountinfo(5)). The longest mount
    point that holds the path counts; of two at one point the later, which hides the earlier.
    """
    longest, file_system = -1, ""
    for line in mountinfo.splitlines():
        front, dash, back = line.partition(" - ")
        if not dash:
            continue
        point = PurePosixPath(_unescaped(front.split(" ")[4]))
        if file.is_relative_to(point) and len(point.parts) >= longest:
            longest, file_system = len(point.parts), back.split(" ")[0]
    return file_system


def _unescaped(text: str) -> str:
    """Blanks, tabs, line ends and backslashes are octal numbers in mountinfo."""
    return re.sub(r"\\([0-7]{3})", lambda octal: chr(int(octal[1], 8)), text)


def _remote_on_windows(path: str) -> str:
    if path.startswith("\\\\"):
        return path.rpartition("\\")[0]
    if sys.platform == "win32":
        import ctypes

        drive = path[:3]
        return drive if ctypes.windll.kernel32.GetDriveTypeW(drive) == DRIVE_REMOTE else ""
    return ""

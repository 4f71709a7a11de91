"""Somebody who signs stage 4 of a child, in a process of their own, on the tests' database.

    python -m tests.support.signer_process CHILD USERNAME

It reads moments (seconds of the machine's monotonic clock) from its input, a line each, signs at
that moment what the record says, and answers "signed", or the code and the name of a refusal.
"""

import os
import subprocess
import sys
import time
from pathlib import Path

from tests.support.browser.killable import ROOT, database_url

SOON = 0.02


class SignerProcess:
    """``folder``: for what the process writes."""

    def __init__(self, child: str, username: str, folder: Path) -> None:
        environment = os.environ | {
            "DJANGO_SETTINGS_MODULE": "tests.settings",
            "DATABASE_URL": database_url(),
            "LOG_LEVEL": "CRITICAL",
            "TMPDIR": str(folder),
        }
        command = [sys.executable, "-m", "tests.support.signer_process", child, username]
        pipe = subprocess.PIPE
        self._process = subprocess.Popen(
            command, cwd=ROOT, env=environment, stdin=pipe, stdout=pipe, text=True
        )

    def answer(self) -> str:
        assert self._process.stdout is not None
        return self._process.stdout.readline().strip()

    def sign_at(self, moment: float) -> None:
        assert self._process.stdin is not None
        self._process.stdin.write(f"{moment}\n")
        self._process.stdin.flush()

    def end(self) -> None:
        self._process.communicate(timeout=60)


def at_the_same_moment(signers: list[SignerProcess]) -> list[str]:
    moment = time.monotonic() + SOON
    for signer in signers:
        signer.sign_at(moment)
    return [signer.answer() for signer in signers]


def serve(uuid: str, username: str) -> None:
    import django

    django.setup()
    from readiness.record.decisions import DecisionRefused
    from studio.models import Child, Staff
    from tests.support.deciding import seen, sign

    child, by = Child.objects.get(uuid=uuid), Staff.objects.get(username=username)
    before = seen(child)
    print("ready", flush=True)
    for line in sys.stdin:
        while time.monotonic() < float(line):
            pass
        try:
            sign(child, by, before=before)
            answer = "signed"
        except DecisionRefused as refused:
            answer = f"{refused.code} {refused.details.get('by')}"
        print(answer, flush=True)


if __name__ == "__main__":
    serve(*sys.argv[1:])

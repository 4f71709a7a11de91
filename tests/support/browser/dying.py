"""A site that dies at a chosen moment of the next call whose turns are stored.

LADDER_DIES says when: "written" is after the turns are written and before the commit,
"committed" is after the commit and before the answer.
"""

import os
import signal
from collections.abc import Callable
from typing import Any

# A day's tallies are written in the transaction of its turns, and after them.
AFTER_THE_TURNS = 'INSERT INTO "readiness_daytally"'


def dying(site: Callable[..., Any]) -> Callable[..., Any]:
    from django.db import connection

    moment = os.environ.get("LADDER_DIES")

    def last_answer(environ: dict[str, Any], start: Callable[..., Any]) -> Any:
        stored = False

        def note(execute: Callable[..., Any], sql: str, *rest: Any) -> Any:
            nonlocal stored
            result = execute(sql, *rest)
            if sql.startswith(AFTER_THE_TURNS):
                stored = True
                if moment == "written":
                    die()
            return result

        with connection.execute_wrapper(note):
            answer = site(environ, start)
        if stored and moment == "committed":
            die()
        return answer

    return last_answer


def die() -> None:
    os.kill(os.getpid(), signal.SIGKILL)

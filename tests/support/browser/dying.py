"""A site that dies at a chosen moment of the next call that brings lines.

LADDER_DIES says when: "written" is after the lines are written and before the commit,
"committed" is after the commit and before the answer.
"""

import os
import signal
from collections.abc import Callable
from typing import Any


def dying(site: Callable[..., Any]) -> Callable[..., Any]:
    from readiness.floor import views
    from readiness.record import intake

    if os.environ.get("LADDER_DIES") == "written":
        intake._store = then_die(intake._store, lambda lines, *_rest: bool(lines))
    if os.environ.get("LADDER_DIES") == "committed":
        brings = views.take_lines
        views.take_lines = then_die(brings, lambda *call: bool(call[4]))
    return site


def then_die(work: Callable[..., Any], when: Callable[..., bool]) -> Callable[..., Any]:
    def last_work(*arguments: Any) -> Any:
        result = work(*arguments)
        if when(*arguments):
            os.kill(os.getpid(), signal.SIGKILL)
        return result

    return last_work

"""What a director makes of a refused line: it is logged after all, for the right child and class,
or struck with a reason. Nothing is deleted.

Logged, it goes through the one door like a line of a saved file: it grades nothing until its author
has said a word. It keeps its id, so that a tablet that mends or strikes it means the same line.
"""

import datetime
import json
import logging
from typing import Any

from django.db import transaction

from progression.log.lines import SCHEMA
from progression.models import Attempt, LineResolution, RejectedLine
from readiness.record.intake import ACCEPTED, CONFLICT, take_lines
from studio.models import Child, Meeting, Staff

log = logging.getLogger("ladder.outbox")

RESOLVED = "resolved"


class NotResolved(Exception):
    """Nothing was changed; ``code`` says why: RESOLVED, or why the line was refused again."""

    def __init__(self, code: str) -> None:
        super().__init__(code)
        self.code = code


def content_of(line: RejectedLine) -> dict[str, Any]:
    """What was sent, as far as it can be read."""
    try:
        content = json.loads(line.body)
    except ValueError:
        return {}
    return content if isinstance(content, dict) else {}


def may_be_logged(line: RejectedLine) -> bool:
    """It speaks of a child, and the log holds nothing else under its id."""
    return line.answer != CONFLICT and isinstance(content_of(line).get("child"), str)


def log_after_all(
    line: RejectedLine, meeting: Meeting, child: Child, by: Staff, now: datetime.datetime
) -> None:
    """Log a line for this child and class; NotResolved if it is resolved or refused again."""
    content = content_of(line) | {"child": str(child.uuid), "meeting": str(meeting.uuid)}
    with transaction.atomic():
        _refuse_if_resolved(line)
        (answer,) = take_lines(
            meeting,
            by,
            line.device,
            now,
            [content],
            SCHEMA,
            now,
            author=str(line.sender.uuid),
            source=Attempt.Source.FILE,
        )
        if answer.answer != ACCEPTED:
            raise NotResolved(answer.code)
        LineResolution.objects.create(line=line, logged=True, by=by, at=now)
    log.info("refused line logged line=%s by=%s", line.uuid, by.uuid)


def strike(line: RejectedLine, by: Staff, now: datetime.datetime, reason: str) -> None:
    """A line that is to count for nothing; NotResolved if it is resolved already."""
    with transaction.atomic():
        _refuse_if_resolved(line)
        LineResolution.objects.create(line=line, logged=False, reason=reason, by=by, at=now)
    log.info("refused line struck line=%s by=%s", line.uuid, by.uuid)


def _refuse_if_resolved(line: RejectedLine) -> None:
    RejectedLine.objects.select_for_update().get(pk=line.pk)
    if LineResolution.objects.filter(line=line).exists():
        raise NotResolved(RESOLVED)

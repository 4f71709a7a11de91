"""The floor page, and the two calls that its scripts make.

The page itself is the same for everybody; what it shows comes from the pack, and what is
logged goes to the attempts call. Both calls answer JSON whatever happens, never a redirect.
"""

import datetime
import json
import uuid
from collections.abc import Callable
from dataclasses import asdict, dataclass
from typing import Any

from django.core.exceptions import RequestDataTooBig
from django.db import IntegrityError, OperationalError
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_POST, require_safe

from progression.log.line_refusals import LineRefused, read_moment
from progression.log.lines import SCHEMA, printable
from readiness.floor.pack import build_pack
from readiness.floor.shell import shell_html
from readiness.record.intake import take_lines
from readiness.record.log_epoch import log_name
from readiness.record.pack_token import make_token
from studio import access
from studio.error_views import busy, json_error
from studio.models import Meeting
from studio.people.meetings import meeting_for
from studio.sign_in.owner_cookie import set_owner_cookie
from studio.tablets.enrolment import tablet_of

MOST_LINES = 200
LONGEST_DEVICE = 60

View = Callable[..., HttpResponse]


def answers_json(view: View) -> View:
    """Mark a view whose errors, a missing sign-in among them, are answered with JSON."""
    view.answers_json = True  # type: ignore[attr-defined]
    return view


@require_safe
@ensure_csrf_cookie
def floor(request: HttpRequest, meeting: uuid.UUID) -> HttpResponse:
    _meeting_of(request, meeting)
    return HttpResponse(shell_html())


@answers_json
@require_safe
@gzip_page
@ensure_csrf_cookie
def floor_pack(request: HttpRequest, meeting: uuid.UUID) -> HttpResponse:
    found = _meeting_of(request, meeting)
    staff, tablet = access.staff_of(request), tablet_of(request)
    device = printable(request.GET.get("device", ""), LONGEST_DEVICE)
    own = {
        "token": make_token(str(staff.uuid), device, str(found.uuid)),
        "tablet": {"name": tablet.name} if tablet else None,
    }
    pack = build_pack(found, staff, timezone.now(), own)
    response = HttpResponse(pack, content_type="application/json")
    # Also for a sign-in from before the cookie was: the page keeps the pack for its author.
    set_owner_cookie(response, access.staff_of(request))
    return response


@answers_json
@require_POST
def floor_attempts(request: HttpRequest, meeting: uuid.UUID) -> HttpResponse:
    found, staff, now = _meeting_of(request, meeting), access.staff_of(request), timezone.now()
    try:
        call = read_call(request.body)
        log = log_name(call.log, call.last)
        answers = take_lines(
            found, staff, call.device, call.sent_at, call.lines, call.v, now, call.author
        )
    except (TooManyLines, RequestDataTooBig):
        return json_error(413, "too-many", _("At most 200 lines fit into one call."))
    except UnreadableCall:
        return json_error(400, "unreadable", _("This call could not be read."))
    except (OperationalError, IntegrityError):
        # The database is busy, or the same line came in through another call at this very
        # moment: nothing was stored, and the next try is answered.
        return busy(request)
    lines = [asdict(answer) for answer in answers]
    return JsonResponse({"v": SCHEMA, "log": str(log), "now": now.isoformat(), "lines": lines})


def _meeting_of(request: HttpRequest, meeting: uuid.UUID) -> Meeting:
    found = meeting_for(access.staff_of(request), meeting)
    if found is None:
        raise Http404
    return found


class UnreadableCall(Exception):
    """The body is not a call of the agreed form."""


class TooManyLines(Exception):
    """More lines than one call may carry."""


@dataclass(frozen=True)
class Call:
    """A call of the agreed form; what stands in its lines is judged line by line."""

    v: int
    device: str
    sent_at: datetime.datetime
    lines: list[dict[str, Any]]
    # The log's name that the tablet knows, and the newest line acknowledged under it.
    log: str
    last: uuid.UUID | None
    # Whose lines these are where they do not say it themselves: a public id, or empty.
    author: str


def read_call(body: bytes) -> Call:
    """Read the body of an attempts call.

    Raises UnreadableCall if a line could not be told from another in the answer or the body
    is not of the agreed form, TooManyLines over 200 lines.
    """
    data = _json_object(body)
    v, device, lines = data.get("v"), data.get("device"), data.get("lines")
    if type(v) is not int or v < 1 or not isinstance(device, str) or len(device) > LONGEST_DEVICE:
        raise UnreadableCall
    if not isinstance(lines, list):
        raise UnreadableCall
    if len(lines) > MOST_LINES:
        raise TooManyLines
    if not all(isinstance(line, dict) and isinstance(line.get("id"), str) for line in lines):
        raise UnreadableCall
    log, last, author = data.get("log") or "", data.get("last"), data.get("author") or ""
    if not isinstance(log, str) or not isinstance(author, str):
        raise UnreadableCall
    sent_at = _sent_at(data.get("sent_at"))
    return Call(v, device, sent_at, lines, log, _line_or_none(last), author)


def _line_or_none(text: object) -> uuid.UUID | None:
    if text is None:
        return None
    try:
        return uuid.UUID(str(text))
    except ValueError as error:
        raise UnreadableCall from error


def _json_object(body: bytes) -> dict[str, Any]:
    try:
        data = json.loads(body, parse_constant=_refuse_constant)
    except (ValueError, RecursionError) as error:
        raise UnreadableCall from error
    if not isinstance(data, dict):
        raise UnreadableCall
    return data


def _refuse_constant(name: str) -> None:
    """NaN and Infinity are not JSON (RFC 8259, section 6), and no database keeps them."""
    raise ValueError(name)


def _sent_at(text: object) -> datetime.datetime:
    try:
        return read_moment(text)
    except LineRefused as refusal:
        raise UnreadableCall from refusal

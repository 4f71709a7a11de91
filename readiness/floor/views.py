"""The floor page, the two calls that its scripts make, and its shell.

The page itself is the same for everybody; what it shows comes from the pack, and what is
logged goes to the attempts call. Both calls answer JSON whatever happens, never a redirect.
"""

import threading
import uuid
from collections.abc import Callable
from dataclasses import asdict
from functools import wraps

from django.contrib.auth.decorators import login_not_required
from django.db import IntegrityError, OperationalError
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.templatetags.static import static
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import get_language, get_language_bidi
from django.utils.translation import gettext as _
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_POST, require_safe

from progression.log.lines import SCHEMA
from progression.log.signing_keys import enrol_key
from readiness.floor.forms import (
    MOST_BYTES,
    Call,
    TooManyLines,
    UnreadableCall,
    read_call,
    read_key_call,
    read_new_child_call,
    read_search_call,
    read_visit_call,
)
from readiness.floor.newcomers import found_in_hall, is_tonight, let_in
from readiness.floor.pack import build_pack
from readiness.floor.shell import more_words_json, shell_html, worker_script
from readiness.record.intake import take_lines
from readiness.record.log_epoch import log_epoch
from readiness.record.restored.arrivals import class_lost, meeting_or_brought_back, set_aside
from studio import access
from studio.bodies import takes
from studio.classes.changing import make_due_moves
from studio.error_views import busy, json_error
from studio.middleware import FLOOR_HEADERS
from studio.models import Meeting
from studio.people.children import add_unnamed
from studio.people.meetings import meeting_for
from studio.people.today import site_today
from studio.sign_in import at_once
from studio.sign_in.owner_cookie import set_owner_cookie
from studio.tablets.enrolment import about_shared, tablet_of

View = Callable[..., HttpResponse]

# Of the threads of a process (studio/gunicorn.conf.py), so many make packs or wait for their turn:
# a call with lines finds one of the others.
PACKS_AT_ONCE = 6


def answers_json(view: View) -> View:
    """Mark a view whose errors, a missing sign-in among them, are answered with JSON."""
    view.answers_json = True  # type: ignore[attr-defined]
    return view


def answers_at_once(quick_answer: Callable[..., HttpResponse | None]) -> Callable[[View], View]:
    """Mark a view whose common answer is given before the sign-in is looked at step by step: who
    gives it looks at that itself."""

    def mark(view: View) -> View:
        view.quick_answer = quick_answer  # type: ignore[attr-defined]
        return view

    return mark


def at_most_at_once(most: int) -> Callable[[View], View]:
    """Answer 503 without waiting while a process is busy with so many of these calls."""
    places = threading.BoundedSemaphore(most)

    def limit(view: View) -> View:
        @wraps(view)
        def limited(request: HttpRequest, meeting: uuid.UUID) -> HttpResponse:
            if not places.acquire(blocking=False):
                return busy(request)
            try:
                return view(request, meeting)
            finally:
                places.release()

        return limited

    return limit


@require_safe
@ensure_csrf_cookie
def floor(request: HttpRequest, meeting: uuid.UUID) -> HttpResponse:
    _meeting_of(request, meeting)
    return HttpResponse(shell_html(), headers=FLOOR_HEADERS)


@answers_json
@require_safe
@at_most_at_once(PACKS_AT_ONCE)
@gzip_page
@ensure_csrf_cookie
def floor_pack(request: HttpRequest, meeting: uuid.UUID) -> HttpResponse:
    make_due_moves(timezone.now())
    visible = _meeting_of(request, meeting)
    staff, tablet = access.staff_of(request), tablet_of(request, timezone.now())
    about_tablet = about_shared(tablet, timezone.now()) if tablet else None
    pack = build_pack(visible, staff, timezone.now(), {"tablet": about_tablet})
    response = HttpResponse(pack, content_type="application/json")
    # Also for a sign-in from before the cookie was: the page keeps the pack for its author.
    set_owner_cookie(response, access.staff_of(request))
    return response


def nothing_is_new(request: HttpRequest, meeting: uuid.UUID) -> HttpResponse | None:
    """The common answer of ``floor_since``, in one query after the session's."""
    known = _count_known(request)
    if request.method != "GET" or known is None:
        return None
    unchanged = at_once.nothing_is_new(request, meeting, known, timezone.now())
    return HttpResponse(status=204) if unchanged else None


@answers_at_once(nothing_is_new)
@answers_json
@require_safe
def floor_since(request: HttpRequest, meeting: uuid.UUID) -> HttpResponse:
    """Asked every few seconds: has something come that every tablet must show at once? ``n`` is
    the counter as the tablet's pack had it."""
    counted = _meeting_of(request, meeting).alerts
    known = _count_known(request)
    if known is None:
        return json_error(400, "unreadable", _("This call could not be read."))
    return HttpResponse(status=204) if known == counted else JsonResponse({"n": counted})


def _count_known(request: HttpRequest) -> int | None:
    known = request.GET.get("n", "")
    return int(known) if known.isascii() and known.isdecimal() and len(known) < 10 else None


@answers_json
@takes(MOST_BYTES)
@require_POST
def floor_attempts(request: HttpRequest, meeting: uuid.UUID) -> HttpResponse:
    try:
        return _take_call(request, read_call(request.body), meeting)
    except TooManyLines:
        _meeting_of(request, meeting)
        return json_error(413, "too-many", _("At most 200 lines fit into one call."))
    except UnreadableCall:
        _meeting_of(request, meeting)
        return json_error(400, "unreadable", _("This call could not be read."))
    except (OperationalError, IntegrityError):
        # The database is busy, or the same line came in through another call at this very
        # moment: nothing was stored, and the next try is answered.
        return busy(request)


def _take_call(request: HttpRequest, call: Call, meeting: uuid.UUID) -> HttpResponse:
    staff, now = access.staff_of(request), timezone.now()
    log = log_epoch(call.log, call.last, now)
    about = {"v": SCHEMA, "log": str(log), "now": now.isoformat()}
    if call.log not in ("", str(log)) and call.origin == "":
        # The tablet hears of the restore first, and brings next what it keeps of the class.
        return JsonResponse(about | {"lines": []})
    visible, ours = meeting_or_brought_back(staff, meeting, call.origin, now)
    lost = (
        None if visible else class_lost(call.author or str(staff.uuid), meeting, call.origin, now)
    )
    if visible is None and ours and lost is None:
        sentence = _("There is no such class here, or it is not yours.")
        # Also told that the log has a new name: then the tablet brings what it keeps of the class.
        refused = {"error": "not-found", "sentence": sentence, "log": str(log)}
        return JsonResponse(refused, status=404)
    if visible is None:
        answers = set_aside(call.lines, staff, call.device, now, lost)
    else:
        sent = call.device, call.sent_at, call.lines, call.v, now, call.author, call.signed
        answers = take_lines(visible, staff, *sent, moment=call.moment)
    return JsonResponse(about | {"lines": [asdict(answer) for answer in answers]})


@answers_json
@require_POST
def floor_key(request: HttpRequest) -> HttpResponse:
    """The public half of the key with which this sign-in's lines are signed. The answer says whose
    it is now: somebody else may have signed in since the page was drawn."""
    try:
        text = read_key_call(request.body)
    except UnreadableCall:
        return json_error(400, "unreadable", _("This call could not be read."))
    staff = access.staff_of(request)
    key = enrol_key(staff, text, request.session, timezone.now())
    return JsonResponse({"id": str(key.uuid), "staff": str(staff.uuid)})


@answers_json
@require_POST
@access.only(access.may_add_unnamed)
def floor_search(request: HttpRequest, meeting: uuid.UUID) -> HttpResponse:
    """By POST: no name stands in an address."""
    visible = _tonight(request, meeting)
    try:
        return JsonResponse({"children": found_in_hall(visible, read_search_call(request.body))})
    except UnreadableCall:
        return json_error(400, "unreadable", _("This call could not be read."))


@answers_json
@require_POST
@access.only(access.may_add_unnamed)
def floor_visit(request: HttpRequest, meeting: uuid.UUID) -> HttpResponse:
    """A child of the hall is here for tonight."""
    visible = _tonight(request, meeting)
    try:
        child, why = read_visit_call(request.body)
    except UnreadableCall:
        return json_error(400, "unreadable", _("This call could not be read."))
    found = let_in(visible, child, why, access.staff_of(request))
    if found is None:
        return json_error(404, "not-found", _("There is no such child in this hall."))
    return JsonResponse({"child": str(found.uuid)})


@answers_json
@require_POST
@access.only(access.may_add_unnamed)
def floor_new_child(request: HttpRequest, meeting: uuid.UUID) -> HttpResponse:
    """Somebody whom nobody knows here: of the class from today on; the desk says who it is."""
    visible = _tonight(request, meeting)
    try:
        child = add_unnamed(visible.group, visible.date, id_=read_new_child_call(request.body))
    except (UnreadableCall, IntegrityError):
        return json_error(400, "unreadable", _("This call could not be read."))
    return JsonResponse({"child": str(child.uuid)})


def _tonight(request: HttpRequest, meeting: uuid.UUID) -> Meeting:
    """Nobody is let into a class that is over, or not yet."""
    visible = _meeting_of(request, meeting)
    if not is_tonight(visible, timezone.now()):
        raise Http404
    return visible


def _meeting_of(request: HttpRequest, meeting: uuid.UUID) -> Meeting:
    visible = meeting_for(access.staff_of(request), meeting, site_today(timezone.now()))
    if visible is None:
        raise Http404
    return visible


# --- the shell: all of it is public, since it is the same for everybody ---------------


# Public: a tablet fetches the page to keep it, whoever is signed in on it then.
@login_not_required
@require_safe
def shell(request: HttpRequest) -> HttpResponse:
    """The floor page of no meeting: it lists the classes that the tablet keeps. What a tablet keeps
    of it is every class's page as well, with its headers."""
    return HttpResponse(shell_html(), headers=FLOOR_HEADERS)


# Public: a tablet fetches it to keep it, as it does the page.
@login_not_required
@require_safe
def more(request: HttpRequest) -> HttpResponse:
    """The words of what the page loads on demand."""
    return HttpResponse(more_words_json(), content_type="application/json")


# Public: the browser asks for it at any time, for whomever.
@login_not_required
@require_safe
def worker(request: HttpRequest) -> HttpResponse:
    return HttpResponse(worker_script(), content_type="text/javascript; charset=utf-8")


# Public: browsers ask for it without cookies.
@login_not_required
@require_safe
def manifest(request: HttpRequest) -> JsonResponse:
    """What makes the site installable (W3C, Web Application Manifest)."""
    icons = [
        {"src": static(f"img/icon-{size}.png"), "sizes": f"{size}x{size}", "type": "image/png"}
        for size in (192, 512)
    ]
    data = {
        "id": reverse("floor-start"),
        "name": _("Backward Ladder"),
        "short_name": _("Ladder"),
        "lang": get_language(),
        "dir": "rtl" if get_language_bidi() else "ltr",
        # The page that opens without a network.
        "start_url": reverse("floor-start"),
        "scope": reverse("tonight"),
        "display": "standalone",
        "theme_color": "#fffdf8",
        "background_color": "#fffdf8",
        # The picture fills its square and keeps clear of its corners.
        "icons": [icon | {"purpose": use} for icon in icons for use in ("any", "maskable")],
    }
    return JsonResponse(data, content_type="application/manifest+json")

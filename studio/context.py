"""What every page needs to draw its frame."""

from django.http import HttpRequest
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from studio import access
from studio.backup.notice import about_backups
from studio.halls.emergency import all_missing, unready
from studio.models import Staff, Studio
from studio.sign_in.ended import tag_of

# Where directors are told of backups.
FIRST_PAGES = ("tonight", "review")


def page(request: HttpRequest) -> dict[str, object]:
    """The studio's name, the links this person may follow, and, for those who can enter it, what
    is missing of their halls; on their first pages directors are told of backups."""
    staff = getattr(request, "user", None)
    if not isinstance(staff, Staff):
        return {"nav": []}
    here = request.resolver_match.url_name if request.resolver_match else ""
    nav = [
        {"url": reverse(name), "label": label, "here": name == here}
        for name, label in _links(staff)
    ]
    missing = []
    if access.may_confirm_halls(staff):
        missing = all_missing(unready(access.visible_locations(staff)))
    studio = Studio.objects.first()
    backups = {}
    if here in FIRST_PAGES and access.may_answer_for_record(staff):
        backups = about_backups(studio, staff, timezone.now())
    return {
        "nav": nav,
        "session_tag": tag_of(request.session.session_key or ""),
        "studio": studio,
        "halls_missing": missing,
        "hears_of_untold": access.may_hear_of_untold(staff),
        "may_change_gates": access.may_change_gates(staff),
        **backups,
    }


def _links(staff: Staff) -> list[tuple[str, str]]:
    """The pages that this person may open, by the names of their addresses."""
    links = [("tonight", _("Tonight"))]
    if access.may_see_records(staff):
        links.append(("review", _("Review")))
    if access.may_send_substitute(staff):
        links.append(("classes", _("Classes")))
    links.append(("drills", _("Drills")))
    if access.may_change_gates(staff):
        links.append(("gates", _("Gates")))
    if access.may_keep_desk(staff):
        # Tablets stand there, and with them one's own PIN.
        links.append(("desk", _("Desk")))
    elif access.may_set_pin(staff):
        links.append(("pin", _("Your PIN")))
    elif not access.is_guest(staff):
        links.append(("change-over", _("Change over")))
    return links

"""What the page of one of the staff shows."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.utils.formats import date_format
from django.utils.text import capfirst
from django.utils.translation import gettext as _

from studio import access
from studio.lists import csv_text
from studio.models import Staff, StaffPaper
from studio.staff.changing import account_mark, papers_mark, papers_of
from studio.staff.forms import ChangeForm, PapersForm

# From so many days before the end on, a paper is said to run out soon.
SOON = datetime.timedelta(days=60)


@dataclass(frozen=True)
class Forms:
    """Those that were sent and not taken; fresh ones otherwise."""

    change: ChangeForm | None = None
    papers: PapersForm | None = None


def member_page(
    staff: Staff, by: Staff, today: datetime.date, posted: Forms = Forms()
) -> dict[str, Any]:
    initial = {
        "first_name": staff.first_name,
        "last_name": staff.last_name,
        "role": staff.role,
        "halls": list(staff.locations.values_list("pk", flat=True)),
        "classes": list(staff.classes.values_list("pk", flat=True)),
        "seen": account_mark(staff),
    }
    papers = {"seen": papers_mark(staff), **papers_of(staff)}
    here = access.may_sign_in(staff, today) or staff.guest_on is not None
    return {
        "member": staff,
        "change": posted.change or ChangeForm(by, staff, initial=initial),
        "papers": posted.papers or PapersForm(initial=papers, auto_id="paper_%s"),
        "running_out": running_out(staff.papers.all(), today),
        "gone": not here,
        "has_password": staff.has_usable_password(),
        "has_pin": hasattr(staff, "pin"),
    }


def staff_file(people: Iterable[Staff], today: datetime.date) -> str:
    """Who can sign in, for a spreadsheet."""
    columns = [_("name"), _("sign-in name"), _("role"), _("halls"), _("access"), _("papers")]
    rows = (
        (
            each.called,
            each.username,
            each.get_role_display(),
            ", ".join(hall.name for hall in each.locations.all()),
            _("yes") if access.may_sign_in(each, today) else _("no"),
            " ".join(running_out(each.papers.all(), today)),
        )
        for each in people
    )
    return csv_text(columns, rows)


def running_out(papers: Any, today: datetime.date) -> list[str]:
    """A sentence for each paper that has run out or does soon."""
    sentences = []
    for paper in sorted(papers, key=lambda each: (each.good_until, each.kind)):
        about = {
            "paper": capfirst(StaffPaper.Kind(paper.kind).label),
            "day": date_format(paper.good_until, "j F Y"),
        }
        if paper.good_until < today:
            sentences.append(_("%(paper)s: ran out on %(day)s.") % about)
        elif paper.good_until <= today + SOON:
            sentences.append(_("%(paper)s: runs out on %(day)s.") % about)
    return sentences

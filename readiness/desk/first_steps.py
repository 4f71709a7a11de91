"""What a new studio does before its first class, in order, and what of it is done."""

import datetime
from dataclasses import dataclass

from django.db.models import Exists, F, OuterRef, Q
from django.utils.functional import Promise as Lazy
from django.utils.translation import gettext_lazy as _

from readiness.placing.page import newcomers
from studio import access
from studio.halls.emergency import unready
from studio.models import SpottingConsent, Staff, Studio


@dataclass(frozen=True)
class Step:
    """``page``: the name of the address where it is done, "" where it is done elsewhere."""

    label: Lazy
    about: Lazy
    page: str
    done: bool


# What it is called, what is said about it, and the name of the address where it is done.
_STEPS: tuple[tuple[Lazy, Lazy, str], ...] = (
    (
        _("The halls and their emergency cards"),
        _(
            "The address and the number that a coach reads out after a fall. Every page asks "
            "for them until they are there. A second hall is added there too."
        ),
        "halls",
    ),
    (
        _("The classes"),
        _("Their days and halls: children come into a class."),
        "classes",
    ),
    (
        _("The children"),
        _(
            "From your spreadsheet, or one by one under “Children”. Nothing of a file is "
            "stored before you have looked at it."
        ),
        "roster-import",
    ),
    (
        _("The people"),
        _(
            "Coaches, assistants, and a second director: whoever recommends a child never "
            "signs for it."
        ),
        "staff",
    ),
    (
        _("A coach's hands: yes or no"),
        _("A child whose family has not said yes does no skill that needs a spotter."),
        "consents",
    ),
    (
        _("Newcomers who have learned elsewhere"),
        _(
            "Every child begins at stage 1; place who has shown you more. The others stay as "
            "they are."
        ),
        "newcomers",
    ),
    (
        _("A tablet for the hall, and a PIN for each coach"),
        _("Then two coaches change over at one tablet in two taps."),
        "tablets",
    ),
    (
        _("The first backup"),
        _("Made on the server, each night: “manage.py backup”. docs/running.md says how."),
        "",
    ),
)


def _answered() -> Exists:
    """Of children: an answer about hands was written down, on any record; one that is to be asked
    again at once is none."""
    of_child = Q(child=OuterRef("pk")) | Q(child__merged_into=OuterRef("pk"))
    return Exists(SpottingConsent.objects.filter(of_child, asked_again_on__gt=F("day")))


def first_steps(staff: Staff, today: datetime.date) -> list[Step]:
    """In the order in which each needs the one before."""
    halls = access.visible_locations(staff)
    children = access.visible_children(staff, today).filter(left_on=None)
    studio = Studio.objects.first()
    done = [
        halls.exists() and not unready(halls).exists(),
        access.visible_classes(staff).exists(),
        children.exists(),
        access.visible_colleagues(staff).exclude(pk=staff.pk).exists(),
        children.exists() and not children.exclude(_answered()).exists(),
        newcomers(staff, today).count() < children.count(),
        access.visible_tablets(staff).exists(),
        studio is not None and studio.backed_up_at is not None,
    ]
    return [Step(*step, is_done) for step, is_done in zip(_STEPS, done, strict=True)]

"""What a new studio does before its first class, in order, and what of it is done."""

import datetime
from dataclasses import dataclass

from django.utils.functional import Promise as Lazy
from django.utils.translation import gettext_lazy as _

from readiness.placing.page import newcomers
from studio import access
from studio.halls.emergency import unready
from studio.models import Staff, Studio


@dataclass(frozen=True)
class Step:
    """``page``: the name of the address where it is done, "" where it is done elsewhere."""

    label: Lazy
    about: Lazy
    page: str
    done: bool


def first_steps(staff: Staff, today: datetime.date) -> list[Step]:
    """In the order in which each needs the one before."""
    halls = access.visible_locations(staff)
    children = access.visible_children(staff, today).filter(left_on=None)
    studio = Studio.objects.first()
    return [
        Step(
            _("The hall and its emergency card"),
            _(
                "The address and the number that a coach reads out after a fall. Every page asks "
                "for them until they are there."
            ),
            "halls",
            halls.exists() and not unready(halls).exists(),
        ),
        Step(
            _("The classes"),
            _("Their days and halls: children come into a class."),
            "classes",
            access.visible_classes(staff).exists(),
        ),
        Step(
            _("The children"),
            _(
                "From your spreadsheet, or one by one under “Children”. Nothing of a file is "
                "stored before you have looked at it."
            ),
            "roster-import",
            children.exists(),
        ),
        Step(
            _("The people"),
            _(
                "Coaches, assistants, and a second director: whoever recommends a child never "
                "signs for it."
            ),
            "staff",
            access.visible_colleagues(staff).exclude(pk=staff.pk).exists(),
        ),
        Step(
            _("A coach's hands: yes or no"),
            _("A child whose family has not said yes does no skill that needs a spotter."),
            "consents",
            children.filter(spotting_consents__isnull=False).exists(),
        ),
        Step(
            _("Newcomers who have learned elsewhere"),
            _("Every child begins at stage 1; place who has shown you more."),
            "newcomers",
            children.exists() and not newcomers(staff, today).exists(),
        ),
        Step(
            _("A tablet for the hall, and a PIN for each coach"),
            _("Then two coaches change over at one tablet in two taps."),
            "tablets",
            access.visible_tablets(staff).exists(),
        ),
        Step(
            _("The first backup"),
            _("Made on the server, each night: “manage.py backup”. docs/running.md says how."),
            "",
            studio is not None and studio.backed_up_at is not None,
        ),
    ]

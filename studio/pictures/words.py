"""Pictures from the side in sentences."""

from django.utils.translation import gettext as _

from studio.people.consents import NO, NOT_ASKED, Answer


def pictures_mean(name: str, answer: Answer) -> str:
    """What a family's answer means on the floor."""
    if answer == NO:
        means = _("No picture is taken of %(name)s, and the floor page does not offer one.")
    elif answer == NOT_ASKED:
        means = _("Not asked is no: the floor page offers no picture of %(name)s.")
    else:
        means = _(
            "A coach may hold a tablet's picture of %(name)s still for a minute and read angles "
            "off it. %(name)s is asked each time, too."
        )
    return means % {"name": name}


def points_for_families() -> list[str]:
    """What a family is told before it answers."""
    return [
        _(
            "For the sit, the hands-down line and the bridge line a coach may film some seconds "
            "from the side, with a tablet of the studio, in practice clothes, with a second adult "
            "there."
        ),
        _(
            "The picture stays in that tablet's memory for a minute at most. This program stores "
            "no picture and sends none. What it keeps are angles, such as a knee of 112 degrees."
        ),
        _(
            "A screenshot cannot be prevented by a program. It is against the studio's rules, and "
            "the second adult sees the screen."
        ),
        _("The child is asked each time. A no needs no reason, and grades go on without pictures."),
        _("You can change your answer on any day, and it is asked again each season."),
    ]


def turned_text(hall: str, on: bool) -> str:
    if on:
        return _("%(hall)s: pictures from the side are on.") % {"hall": hall}
    return _("%(hall)s: pictures from the side are off.") % {"hall": hall}

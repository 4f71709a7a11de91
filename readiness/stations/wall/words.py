"""The sentences of the screen in a hall."""

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

WALL_LOST = gettext_lazy("This could not be read: nothing was changed. Say it again here.")


def said_text(hall: str, wanted: bool) -> str:
    if wanted:
        return _("%(hall)s: a screen may show the stations.") % {"hall": hall}
    return _("%(hall)s: no screen shows the stations.") % {"hall": hall}

"""Why an evening was not changed."""

from django.utils.translation import gettext as _

from studio.as_seen import ChangedMeanwhile
from studio.classes.dates import NotChanged


def why_not_changed(error: ChangedMeanwhile | NotChanged) -> str:
    if isinstance(error, ChangedMeanwhile):
        return _(
            "Somebody else changed this evening meanwhile. Nothing of yours was stored; this is "
            "how it stands now."
        )
    if error.code == "held":
        return _("This evening has begun: something is written down of it. Nothing was changed.")
    if error.code == "seen":
        return _("Something is written down of this child on that evening. Nothing was changed.")
    return _("The class meets then already. Nothing was changed.")

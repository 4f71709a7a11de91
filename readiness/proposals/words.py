"""What is said of a change of the ladder that waits."""

import datetime

from django.utils.formats import date_format
from django.utils.functional import Promise as Lazy
from django.utils.timezone import localtime
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from progression.models import LadderProposal

NOT_ANSWERED: dict[str, Lazy] = {
    "may-not": gettext_lazy("Your account may not change the gates."),
    "unknown": gettext_lazy("There is no such change."),
    "answered": gettext_lazy("Somebody has answered this change already."),
    "moved": gettext_lazy(
        "Another version of the ladder came in since. Take this change back and try it anew."
    ),
    "second": gettext_lazy("Somebody else has to say yes: whoever proposes a change does not."),
    "new-account": gettext_lazy(
        "This account was made, or given its role, when the change was proposed or since: "
        "somebody who was a director before has to say yes."
    ),
    "one-person": gettext_lazy(
        "This account was made, changed or given a password by whoever proposed the change, less "
        "than seven days ago: another director has to say yes, or wait."
    ),
    "wait": gettext_lazy("Not yet: it waits so that everybody can read it first."),
}


def waiting_sentence(proposal: LadderProposal, no_sooner: datetime.datetime) -> str:
    """On every page on which somebody decides."""
    values = {
        "by": proposal.by.called if proposal.by else _("Somebody at the server"),
        "day": date_format(localtime(proposal.at), "j M Y"),
        "later": date_format(localtime(no_sooner), "j M Y"),
    }
    return (
        _(
            "%(by)s proposed another ladder on %(day)s. It does not count yet: another director "
            "has to say yes, or, where there is no other one, %(later)s has to come."
        )
        % values
    )

"""What is said of a child's whole record, and of a child who is to be erased."""

import datetime
from collections.abc import Mapping

from django.utils.formats import date_format
from django.utils.functional import Promise as Lazy
from django.utils.timezone import localtime
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from readiness.models import Erasure
from readiness.record.privacy.keeping import Kept

# What of a row is printed to be read, and what its column is called there.
COLUMNS: Mapping[str, Lazy] = {
    "name": gettext_lazy("name"),
    "name_used": gettext_lazy("called"),
    "list_id": gettext_lazy("id in lists"),
    "birth_year": gettext_lazy("year of birth"),
    "birth_month": gettext_lazy("month of birth"),
    "caution": gettext_lazy("to be heeded"),
    "kick_leg": gettext_lazy("leg that kicks first"),
    "letter_language": gettext_lazy("language of letters"),
    "left_on": gettext_lazy("left on"),
    "day": gettext_lazy("day"),
    "on": gettext_lazy("on"),
    "relation": gettext_lazy("is"),
    "phone": gettext_lazy("telephone"),
    "household": gettext_lazy("household"),
    "to_call": gettext_lazy("to be called"),
    "may_collect": gettext_lazy("may collect"),
    "not_told": gettext_lazy("must not be told"),
    "guardian": gettext_lazy("guardian"),
    "yes": gettext_lazy("yes"),
    "asked_again_on": gettext_lazy("asked again on"),
    "seen_by": gettext_lazy("seen by"),
    "seen_on": gettext_lazy("seen on"),
    "group": gettext_lazy("class"),
    "joins": gettext_lazy("came"),
    "present": gettext_lazy("there"),
    "kind": gettext_lazy("what"),
    "stage": gettext_lazy("stage"),
    "drill": gettext_lazy("drill"),
    "surface": gettext_lazy("surface"),
    "support": gettext_lazy("support"),
    "reason": gettext_lazy("reason"),
    "place": gettext_lazy("where"),
    "ends": gettext_lazy("no longer"),
    "said_by": gettext_lazy("said by"),
    "said_on": gettext_lazy("said on"),
    "elsewhere": gettext_lazy("elsewhere"),
    "cleared_by": gettext_lazy("cleared by"),
    "step": gettext_lazy("step"),
    "about": gettext_lazy("about"),
    "whom": gettext_lazy("whom"),
    "given_to": gettext_lazy("given to"),
    "words": gettext_lazy("words"),
    "mats": gettext_lazy("mats"),
    "what": gettext_lazy("what happened"),
    "hurt": gettext_lazy("what hurt"),
    "first_aid": gettext_lazy("first aid"),
    "text": gettext_lazy("text"),
    "turns": gettext_lazy("turns"),
    "clean": gettext_lazy("clean"),
    "best": gettext_lazy("best"),
    "fault": gettext_lazy("fault"),
    "count": gettext_lazy("how often"),
    "code": gettext_lazy("why"),
    "first": gettext_lazy("grader"),
    "second": gettext_lazy("second grader"),
    "how": gettext_lazy("how"),
    "own": gettext_lazy("sentence of one’s own"),
    "staff": gettext_lazy("who"),
    "ended_at": gettext_lazy("until"),
    "undone_at": gettext_lazy("undone"),
    "author": gettext_lazy("by"),
    "by": gettext_lazy("written down by"),
    "at": gettext_lazy("at"),
}

NOT_ANSWERED: Mapping[str, Lazy] = {
    "may-not": gettext_lazy("Your account may not erase a child."),
    "unknown": gettext_lazy("Nobody has asked for this."),
    "answered": gettext_lazy("This was asked or answered already. Nothing was changed."),
    "family": gettext_lazy("You are family of this child: another director has to say yes."),
    "kept": gettext_lazy("What happened to this child keeps its record for now."),
    "second": gettext_lazy("Somebody else has to say yes: whoever asks does not."),
    "new-account": gettext_lazy(
        "This account was made, or given its role, when it was asked or since: somebody who was a "
        "director before has to say yes."
    ),
    "one-person": gettext_lazy(
        "This account was made, changed or given a password by whoever asked, or the other way "
        "round, less than seven days ago: another director has to say yes, or wait."
    ),
    "wait": gettext_lazy("Not yet: it waits for a week, so that nobody regrets it."),
}


def kept_sentence(kept: Kept) -> str:
    """Why the record is kept, and until when."""
    happened = ngettext(
        "Something happened to this child that is on record.",
        "%(n)d times something happened to this child that is on record.",
        kept.incidents,
    ) % {"n": kept.incidents}
    if kept.until is not None:
        sentence = _(
            "The record is kept until %(day)s, as the studio has said, and then no longer."
        )
        rest = sentence % {"day": date_format(kept.until, "j F Y")}
    elif kept.code == "no-birth":
        rest = _("When the child was born is not known, so its record is kept.")
    else:
        rest = _(
            "For how long claims may be made the studio has not said yet (INCIDENT_CLAIM_YEARS): "
            "until then such a record is kept. Ask somebody who knows the law of your place."
        )
    return f"{happened} {rest}"


def asked_sentence(asked: Erasure, no_sooner: datetime.datetime) -> str:
    values = {
        "by": asked.by.called if asked.by else _("The studio’s rule"),
        "day": date_format(localtime(asked.at), "j M Y"),
        "later": date_format(localtime(no_sooner), "j M Y"),
    }
    return (
        _(
            "%(by)s asked on %(day)s that this child be erased. Another director has to say yes, "
            "or, where there is no other one, %(later)s has to come."
        )
        % values
    )

"""Why a decision is refused; the codes are those of readiness.record.decisions. Shared: used by
the child page."""

from collections.abc import Mapping

from django.utils.functional import Promise as Lazy
from django.utils.translation import gettext_lazy

REFUSALS: dict[str, Lazy] = {
    "may-not": gettext_lazy("Your account may not decide this."),
    "same-person": gettext_lazy(
        "You recommended this yourself. Somebody else has to sign: two people, two looks."
    ),
    "family": gettext_lazy("You are family of this child: somebody else decides."),
    "new-account": gettext_lazy(
        "An account made today, or given its role or a password today, neither recommends nor "
        "signs: come back tomorrow."
    ),
    "one-person": gettext_lazy(
        "One of the two accounts was made, changed or given a password by the other, or both by "
        "one director, less than seven days ago. Somebody else has to sign, or wait."
    ),
    "new-grader": gettext_lazy(
        "Turns here were graded from an account made today, or given its role or a password "
        "today. This cannot be signed before tomorrow."
    ),
    "grader-in-hand": gettext_lazy(
        "Turns here were graded from an account that a director made, changed or gave a password "
        "less than seven days ago. This can be signed when the seven days are over."
    ),
    "evidence-changed": gettext_lazy(
        "The evidence has changed since this page was drawn. Nothing was decided. This is the "
        "record as it stands now: look again."
    ),
    "ladder-changed": gettext_lazy(
        "The gates have changed since this page was drawn: ladder %(number)s is in force now. "
        "Nothing was decided. This is the record as these gates read it: look again."
    ),
    "already-decided": gettext_lazy(
        "Already decided by %(by)s at %(time)s: %(what)s. Nothing was changed."
    ),
    "not-for-review": gettext_lazy("This stage is not for review now."),
    "not-signed": gettext_lazy("This stage is not open by a signature: there is nothing to close."),
    "no-recommendation": gettext_lazy(
        "Nobody has recommended this yet. One person recommends, another signs."
    ),
    "reason-missing": gettext_lazy("Write a reason: it stays with the decision."),
    "surface-not-met": gettext_lazy("The gates are not met on this surface, or it was not named."),
    "not-seen-lately": gettext_lazy(
        "Whoever signs saw it, today or in the last 28 days. Look at it once more, then sign."
    ),
    "stage-too-high": gettext_lazy(
        "A child is placed at stage %(most)s at most. What lies above is reached by gates and "
        "signature."
    ),
    "stage-unknown": gettext_lazy("This ladder has no such stage."),
    "signed-stage": gettext_lazy("This stage is reached by its gates and a signature only."),
    "already-open": gettext_lazy("This stage is open already."),
    "no-exception": gettext_lazy("There is nothing here for an exception to lift."),
    "child-not-known": gettext_lazy(
        "Nobody has said who this child is since the record was restored: a director does, first."
    ),
    "not-earned": gettext_lazy("The record does not give this step today."),
    "growing-already": gettext_lazy("That has been written down already. Nothing was changed."),
    "said-already": gettext_lazy("That has been written down already. Nothing was changed."),
    "not-growing": gettext_lazy("That is over already. Nothing was changed."),
    "not-asked": gettext_lazy("That has been answered already. Nothing was changed."),
    "note-changed": gettext_lazy(
        "What the note says has changed since it was shown. Nothing was kept: this is how it reads "
        "now. Print it again, then give it."
    ),
    "head-none": gettext_lazy("No way back after a head knock is under way. Nothing was changed."),
    "head-day": gettext_lazy(
        "That day is still to come, or before the knock. Nothing was written down."
    ),
    "head-known": gettext_lazy("A knock of that day is on record already. Nothing was changed."),
    "head-step-changed": gettext_lazy(
        "Another step is the next one by now. Nothing was given: look again."
    ),
    "head-symptom": gettext_lazy(
        "No step on the day of a knock or of a symptom. The earliest day for step %(step)s is "
        "%(earliest)s."
    ),
    "head-24-hours": gettext_lazy(
        "Each step lasts at least 24 hours, until %(time)s. The earliest day for step %(step)s is "
        "%(earliest)s."
    ),
    "head-clear-days": gettext_lazy(
        "%(clear)s days without symptoms come before step %(step)s. The earliest day is "
        "%(earliest)s, with a clearance."
    ),
    "head-clearance": gettext_lazy(
        "Step %(step)s waits for a clearance from a day after the last symptom. None is on record."
    ),
    "head-full-return": gettext_lazy(
        "The last step is not given before day %(full)s after the knock. The earliest day is "
        "%(earliest)s."
    ),
    "head-word": gettext_lazy(
        "The family’s word has to be of a day since the step before and after the last symptom. "
        "The earliest day for step %(step)s is %(earliest)s."
    ),
    "incident-none": gettext_lazy("Nothing of that is written down. Nothing was added."),
    "incident-locked": gettext_lazy(
        "This was written down more than a day ago: it stays as it is. Add what is known since."
    ),
    "incident-changed": gettext_lazy(
        "Somebody has written this down since this page was drawn. Nothing was changed: look again."
    ),
    "incident-day": gettext_lazy("That day is still to come. Nothing was written down."),
    "show-past": gettext_lazy("The day of a show has to be still to come."),
    "show-no-adult": gettext_lazy("In the wings stands a coach or a director."),
    "show-run-to-come": gettext_lazy("That time is still to come. Nothing was written down."),
    "show-asked": gettext_lazy("A yes is recommended already. Somebody else signs it."),
    "show-has-yes": gettext_lazy("There is a yes already."),
    "show-day": gettext_lazy(
        "On the day of the show, and after it, nothing more is given: less only."
    ),
    "show-not-signed": gettext_lazy(
        "The skill itself is not signed for unspotted work, or is on re-check or closed now."
    ),
    "show-not-met": gettext_lazy(
        "There are not six clean turns on two days, the first ones among them, at the end of a "
        "run-through on this floor."
    ),
    "show-closed": gettext_lazy("The skill is closed to this child now: the easy version."),
    "show-other-day": gettext_lazy("This is said on the day of the show."),
    "show-no-yes": gettext_lazy("There is no yes any more: the easy version, or somebody beside."),
    "not-paused": gettext_lazy("There is no pause to lift."),
}


def refusal(code: str, values: Mapping[str, object]) -> str:
    """Why a decision was refused."""
    return str(REFUSALS[code]) % values

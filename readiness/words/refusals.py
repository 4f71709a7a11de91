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
    "no-recommendation": gettext_lazy(
        "Nobody has recommended this yet. One person recommends, another signs."
    ),
    "reason-missing": gettext_lazy("Write a reason: it stays with the decision."),
    "surface-not-met": gettext_lazy("The gates are not met on this surface, or it was not named."),
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
    "not-growing": gettext_lazy("That is over already. Nothing was changed."),
    "not-asked": gettext_lazy("That has been answered already. Nothing was changed."),
    "not-paused": gettext_lazy("There is no pause to lift."),
}


def refusal(code: str, values: Mapping[str, object]) -> str:
    """Why a decision was refused."""
    return str(REFUSALS[code]) % values

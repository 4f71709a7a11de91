"""A child's answer to hands-on spotting: what the pages show of it, and the form that changes it.

Shared: used by the child's page and the evidence page.
"""

import datetime
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from readiness.child.decision_forms import RunOnceForm
from readiness.words.numbers import join_words
from studio.consents.forms import GuardianForm
from studio.models import Child, SpottingConsent
from studio.people.consent_words import answer_word, consent_means
from studio.people.consents import YES, answer_on, answers_in_force, consents_of


@dataclass(frozen=True)
class ConsentNow:
    """``asked_again_on``: the first day on which an answer that counts now no longer does."""

    answer: str
    is_yes: bool
    means: str
    asked_again_on: datetime.date | None
    answers: list[SpottingConsent]


def consent_now(child: Child, day: datetime.date) -> ConsentNow:
    answers = consents_of([child])[child.pk]
    in_force, answer = answers_in_force(answers, day), answer_on(answers, day)
    return ConsentNow(
        answer=answer_word(answer),
        is_yes=answer == YES,
        means=consent_means(child.called, answer),
        asked_again_on=min((each.asked_again_on for each in in_force), default=None),
        answers=in_force,
    )


def no_that_stands(child: Child, day: datetime.date) -> str:
    """Of whom a no still counts, in a sentence; "" if none does. A yes of somebody else is without
    effect until then."""
    noes = [each for each in answers_in_force(consents_of([child])[child.pk], day) if not each.yes]
    if not noes:
        return ""
    named = join_words([each.guardian for each in noes if each.guardian])
    if named:
        says = _("The no of %(names)s still counts. It ends with a yes under the same name.")
        return says % {"names": named}
    return _(
        "A no that was written down without a name still counts. It ends with a yes without a name."
    )


class ConsentForm(GuardianForm, RunOnceForm):
    name = "consent"
    question = gettext_lazy("May a coach's hands be on this child?")

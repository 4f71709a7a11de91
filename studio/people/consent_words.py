"""Consent to hands-on spotting in words: the answers, and what they mean.

Shared: used by the consents page, the child's page, the roster and the evidence page.
"""

from django.utils.functional import Promise as Lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from studio.people.consents import NO, NOT_ASKED, YES, Answer

ANSWERS: dict[Answer, Lazy] = {
    YES: gettext_lazy("yes"),
    NO: gettext_lazy("no"),
    NOT_ASKED: gettext_lazy("not asked"),
}


def answer_word(answer: Answer) -> str:
    return str(ANSWERS[answer])


def consent_means(name: str, answer: Answer) -> str:
    """What an answer means for this child, in a sentence or two."""
    if answer == YES:
        return _("A coach's hands may carry, steady and catch %(name)s.") % {"name": name}
    means = _(
        "Without a yes %(name)s does no skill that needs a spotter, also none that %(name)s does "
        "without hands today. Shapes, holds and wall work stay."
    )
    return means % {"name": name}


def slip_points(name: str) -> list[str]:
    """The slip that a family reads before it answers."""
    values = {"name": name}
    return [
        _(
            "Our coaches hold children at the hips, low back, upper back and thighs, with open "
            "hands, in view of the class."
        ),
        _("Hands carry, steady and catch. In a catch they may have to grip wherever is needed."),
        _(
            "Only trained adults spot, never another child. %(name)s may say no on any evening, "
            "without a reason."
        )
        % values,
        _(
            "Without your yes %(name)s does no skill that needs a spotter, also none that %(name)s "
            "does without hands today. Shapes, holds and wall work stay."
        )
        % values,
        _(
            "You can change your answer on any day, by a word at the desk. One guardian's no is "
            "enough. It is asked again each season."
        ),
        _("Hands make accidents rarer, not impossible. In an emergency we help in any case."),
    ]

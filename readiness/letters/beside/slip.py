"""The slip that a family signs: that they read the letter, and yes or no to a coach's hands."""

from collections.abc import Iterator
from dataclasses import dataclass, field

from django.utils.translation import gettext as _

from readiness.letters.facts import ChildFacts
from readiness.letters.rests_on import named
from readiness.letters.sentence import RestsOn, Sentence


@dataclass(frozen=True)
class Slip:
    """``on_record``: the answer that counts now, or nothing where none is kept."""

    title: str
    hands: str
    on_record: str
    read: str
    question: str
    yes: str
    no: str
    name: str
    date: str
    signature: str
    # What ``on_record`` rests on.
    rests_on: tuple[RestsOn, ...] = field(default=(), compare=False)

    @property
    def answer(self) -> Sentence:
        return Sentence(self.on_record, self.rests_on)

    def texts(self) -> Iterator[str]:
        """In the order of reading."""
        yield from (self.title, self.hands, self.on_record, self.read)
        yield from (self.question, self.yes, self.no, self.name, self.date, self.signature)


def slip(child: ChildFacts, full_name: str) -> Slip:
    return Slip(
        title=_("A coach’s hands: please sign and bring back. %(child)s") % {"child": full_name},
        hands=" ".join(_what_hands_do(child.name)),
        on_record=_on_record(child),
        read=_("I have read this letter."),
        question=_("A coach’s hands:"),
        yes=_("yes"),
        no=_("no"),
        name=_("Name"),
        date=_("Date"),
        signature=_("Signature"),
        rests_on=named.consent(child),
    )


def _what_hands_do(name: str) -> Iterator[str]:
    values = {"child": name}
    yield _(
        "Our coaches hold children at the hips, low back, upper back and thighs, with open hands, "
        "in view of the class. Hands carry, steady and catch. In a catch they may have to grip "
        "wherever is needed."
    )
    yield (
        _(
            "Only trained adults spot, never another child. %(child)s may say no on any evening, "
            "without a reason."
        )
        % values
    )
    yield (
        _(
            "Without your yes %(child)s does no skill that needs a spotter, also none that "
            "%(child)s does without hands today. Shapes, holds and wall work stay."
        )
        % values
    )
    yield _(
        "You can change your answer on any day, by a word at the desk. One guardian’s no is "
        "enough. It is asked again each season."
    )
    yield _("Hands make accidents rarer, not impossible. In an emergency we help in any case.")


def _on_record(child: ChildFacts) -> str:
    """What stands now, so that an answer on paper is a change of it or none."""
    match child.now.read.state.consent:
        case "yes":
            return _("On our record now: yes. It stays until you change it or we ask again.")
        case "no":
            return _("On our record now: no. It stays until you change it or we ask again.")
        case "not-asked":
            return _("On our record now: no answer that counts. Until one comes, it is no yes.")
    return ""

"""What a letter says of now, of the weeks since the last one, and of home."""

from collections.abc import Iterator
from dataclasses import dataclass, field

from django.utils.translation import gettext as _

from readiness.letters import now
from readiness.letters.facts import EVENINGS_TO_TELL, MOST_NAMED, ChildFacts
from readiness.letters.format import letter_date, name_list
from readiness.letters.rests_on import named
from readiness.letters.sentence import Sentence
from readiness.letters.why_not_yet import why_not_yet


@dataclass(frozen=True)
class Section:
    heading: str
    sentences: tuple[Sentence, ...]
    # The one with shapes for home.
    at_home: bool = field(default=False, compare=False)

    @property
    def paragraphs(self) -> tuple[str, ...]:
        """Each is a sentence, or some that rest on the same."""
        return tuple(sentence.text for sentence in self.sentences)


def sections(child: ChildFacts, review: bool = False) -> Iterator[Section]:
    """In the order of the page; a section may have no sentences. review: say that a director
    watches."""
    if child.paused_since:
        yield Section(_("A pause for now"), tuple(now.pause(child)))
        return
    values = {"child": child.name}
    yield Section(_("A coach’s hands"), tuple(now.no_yes_to_hands(child)))
    yield Section(_("Something hurt"), tuple(now.something_hurt(child)))
    yield Section(_("More help again, for now"), tuple(now.more_help(child)))
    yield Section(_("Where %(child)s begins") % values, tuple(now.placed(child)))
    yield Section(_("Without a coach’s hands"), tuple(now.without_hands(child)))
    if review:
        yield Section(_("Our director watches too"), tuple(now.for_review(child)))
    yield Section(_("In class"), tuple(now.works_on(child)))
    if child.since:
        since = {"date": letter_date(child.since)}
        yield Section(_("What has come since %(date)s") % since, tuple(_since(child)))
    yield Section(_("How it goes on"), tuple(why_not_yet(child)))
    yield Section(_("What helps at home"), tuple(_at_home(child)), at_home=True)


def _since(child: ChildFacts) -> Iterator[Sentence]:
    opened = [
        _("%(stage)s (%(date)s)") % {"stage": child.stage_name(code), "date": letter_date(day)}
        for code, day in child.opened()
    ]
    if opened:
        new = _("New on the ladder: %(stages)s.") % {"stages": name_list(opened)}
        yield Sentence(new, named.opened(child, (code for code, _day in child.opened())))
    reached = list(dict.fromkeys(child.reached()))
    if reached:
        now_does = _("%(child)s now does what the next step needs at: %(drills)s.") % {
            "child": child.name,
            "drills": name_list(child.drill_names(reached)),
        }
        yield Sentence(
            now_does, named.turns_at_each(child, reached[:MOST_NAMED], child.since or child.day)
        )
    told = {drill for drills in reached for drill in drills}
    begun = [(drill,) for drill in child.begun() if drill not in told]
    if begun:
        first = _("On our record for the first time: %(drills)s.") % {
            "drills": name_list(child.drill_names(begun))
        }
        yield Sentence(first, named.first_turns(child, begun[:MOST_NAMED]))
    if not (opened or reached or begun):
        yield from _nothing_new(child)


def _nothing_new(child: ChildFacts) -> Iterator[Sentence]:
    evenings, values = len(child.evenings_lately()), {"child": child.name}
    if not evenings:
        said = _("There are no turns of %(child)s on our record from these weeks.") % values
    elif evenings < EVENINGS_TO_TELL:
        said = (
            _(
                "There are turns of %(child)s on our record from only a few evenings, too few to "
                "say more. It was good to have %(child)s in class."
            )
            % values
        )
    else:
        said = _("These weeks went into practice. A skill stands on what has become steady.")
    yield Sentence(said, named.turns_of_term(child))


def _at_home(child: ChildFacts) -> Iterator[Sentence]:
    hurt = child.hurt_lately()
    if hurt:
        day, _places = hurt
        rest = _("Rest first. Please no practice at home until nothing hurts any more.")
        yield Sentence(rest, named.pain(child, day))
        return
    yield Sentence(
        _(
            "A few minutes on a mat or a carpet: the hollow (on the back, arms by the ears, low "
            "back pressed down), the arch (face down, arms, chest and legs lifted, eyes on the "
            "floor) and the front support (hands under the shoulders, arms straight, one line "
            "from head to heels). Short and neat; stop when the shape goes, or if anything hurts."
        )
    )
    yield Sentence(
        _("Only these shapes, please, and nothing backward, not even with somebody helping.")
    )

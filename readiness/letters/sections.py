"""What a letter says of now, of the weeks since the last one, and of home."""

import datetime
from collections.abc import Iterator
from dataclasses import dataclass

from django.utils.translation import gettext as _

from readiness.letters.facts import ChildFacts, furthest
from readiness.letters.format import letter_date, name_list
from readiness.letters.why_not_yet import why_not_yet


@dataclass(frozen=True)
class Section:
    heading: str
    paragraphs: tuple[str, ...]


def sections(child: ChildFacts) -> Iterator[Section]:
    """In the order of the page; a section may have no paragraphs."""
    values = {"child": child.name, "date": letter_date(child.since)}
    if child.paused_since:
        heading = _("What stays open for %(child)s")
        yield Section(_("A pause for now"), tuple(_pause(child, child.paused_since)))
    else:
        heading = _("What %(child)s works on now")
        yield Section(_("Something hurt"), tuple(_something_hurt(child)))
    yield Section(heading % values, tuple(_works_on_now(child)))
    yield Section(_("What has come since %(date)s") % values, tuple(_since_last_time(child)))
    yield Section(
        _("What comes next, and why “not yet” is good teaching"), tuple(why_not_yet(child))
    )
    yield Section(_("What helps at home"), tuple(_at_home(child)))


def _pause(child: ChildFacts, since: datetime.date) -> Iterator[str]:
    yield _(
        "Tumbling has been paused for %(child)s since %(date)s. A pause is care, not a step "
        "back: what has opened stays on our record, and we begin again gently, with more "
        "help at first. It ends when you, and a licensed clinician if one is needed, say "
        "yes. Please talk to us whenever you like."
    ) % {"child": child.name, "date": letter_date(since)}


def _something_hurt(child: ChildFacts) -> Iterator[str]:
    hurt = child.hurt_lately()
    if hurt:
        day, places = hurt
        yield _(
            "On %(date)s something hurt in class; the coach wrote down: %(places)s. We "
            "left out what puts weight on it, and ask again before the next turns. We cannot "
            "say what it is: if it goes on, please ask a licensed clinician, and tell us."
        ) % {"date": letter_date(day), "places": name_list(places)}


def _works_on_now(child: ChildFacts) -> Iterator[str]:
    ladder = child.now.ladder.engine
    opened = [stage.stage.code for stage in child.now.read.stages if stage.opening]
    stages = [child.stage_name(code) for code in furthest(opened, ladder)]
    open_now = _("Open on our ladder: %(stages)s.") % {"stages": name_list(stages)}
    if child.paused_since:
        yield open_now
        return
    meaning = _(
        "“Open” means that %(child)s may practise it in class, with as much help from a "
        "coach as the day asks for."
    ) % {"child": child.name}
    yield f"{open_now} {meaning}"
    practised = child.practised()
    if practised:
        yield _("In the last four weeks we worked at: %(drills)s.") % {
            "drills": name_list(practised)
        }
    more_help = child.more_help()
    if more_help:
        yield _(
            "For now there is more help again at: %(drills)s. Coaches give it after a break "
            "or on unsteady days, and take it away again step by step as turns grow steady."
        ) % {"drills": name_list(more_help)}


def _since_last_time(child: ChildFacts) -> Iterator[str]:
    opened = child.opened()
    if opened:
        yield _("New on the ladder: %(stages)s.") % {"stages": name_list(opened)}
    reached = child.reached()
    if reached:
        yield _("%(child)s has come to what a next step asks for at: %(drills)s.") % {
            "child": child.name,
            "drills": name_list(child.drill_names(reached)),
        }
    begun = [drill for drill in child.begun() if drill not in reached]
    if begun:
        yield _("Done for the first time: %(drills)s.") % {
            "drills": name_list(child.drill_names(begun))
        }
    if not (opened or reached or begun) and child.was_in_class():
        yield _(
            "These weeks went into practice that shows later, and that is good work: a "
            "skill stands on what has become steady."
        )


def _at_home(child: ChildFacts) -> Iterator[str]:
    if child.paused_since:
        yield _("Rest. Please no practice at home either, until the pause is over.")
        return
    if child.hurt_lately():
        yield _("Rest first. Please no practice at home until nothing hurts any more.")
        return
    yield _(
        "A few minutes on a mat or a carpet: the hollow (on the back, arms by the ears, low "
        "back pressed down), the arch (face down, arms, chest and legs lifted, eyes on the "
        "floor) and the front support (hands under the shoulders, arms straight, one line "
        "from head to heels). Short and neat; stop when the shape goes, or if anything hurts."
    )
    yield _(
        "Only these shapes. Please no backward tumbling at home, on beds or trampolines, "
        "not even with somebody helping."
    )

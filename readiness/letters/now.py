"""What a letter says of now: each part is left out where the record does not carry it."""

from collections.abc import Iterator

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from readiness.engine.levels import Support
from readiness.letters.facts import ChildFacts, ReCheck
from readiness.letters.format import letter_date, name_list
from readiness.letters.rests_on import named
from readiness.letters.sentence import Sentence

HELP = {
    Support.HANDS_ON: gettext_lazy("a coach’s hands carry part of the weight"),
    Support.LIGHT_TOUCH: gettext_lazy("a coach’s hand touches lightly"),
    Support.STANDING_BY: gettext_lazy("a coach stands right beside, hands ready"),
    Support.UNSPOTTED: gettext_lazy("a coach is near and watches"),
}
DAYS_IN_A_WEEK = 7


def pause(child: ChildFacts) -> Iterator[Sentence]:
    if child.paused_since is None:
        return
    paused = _(
        "Tumbling has been paused for %(child)s since %(date)s. A pause is care, not a step back. "
        "%(child)s is welcome to sit with the class."
    ) % {"child": child.name, "date": letter_date(child.paused_since)}
    yield Sentence(paused, named.pause(child, child.paused_since))
    yield Sentence(
        _(
            "It ends when you, and a licensed clinician where one is needed, say yes, and our "
            "director has written it down. Until then please no tumbling, handstands or bridges "
            "at home either."
        )
    )


def no_yes_to_hands(child: ChildFacts) -> Iterator[Sentence]:
    if not child.no_yes_to_hands:
        return
    no_yes = _(
        "We have no yes to a coach’s hands that counts now. Until there is one, %(child)s does no "
        "skill that needs a spotter, also none that went without hands before; shapes, holds and "
        "wall work stay. A word at the desk changes it on any day."
    ) % {"child": child.name}
    yield Sentence(no_yes, named.consent(child))


def something_hurt(child: ChildFacts) -> Iterator[Sentence]:
    hurt = child.hurt_lately()
    if hurt is None:
        return
    day, places = hurt
    hurts = _(
        "On %(date)s we wrote down that something hurt: %(places)s. We cannot say what it is. "
        "Our rule is to leave out what loads it, and to ask before each class."
    ) % {"date": letter_date(day), "places": name_list(places)}
    yield Sentence(hurts, named.pain(child, day))
    begins = _(
        "We begin again when you or %(child)s tell us that it is gone. If it stays, swells, "
        "hurts at night, or comes a second time within three weeks, please see a licensed "
        "clinician first, and tell us."
    ) % {"child": child.name}
    yield Sentence(begins)


def more_help(child: ChildFacts) -> Iterator[Sentence]:
    checks = child.re_checks
    if not checks:
        return
    away = [each for each in checks if each.cause.code == "away"]
    back = child.back_since()
    if back and any(each.cause.day <= back for each in away):
        since = {"child": child.name, "date": letter_date(back)}
        yield Sentence(_("%(child)s is back since %(date)s.") % since, named.came_back(child, back))
    for each in checks:
        yield Sentence(" ".join(_watched_again(child, each)), named.watched_again(child, each))
    if away:
        yield Sentence(_after_long_away(child))
    if len(away) < len(checks):
        yield Sentence(
            _(
                "Our rule is the same for everybody. When turns are not sure, help comes back at "
                "once, and leaves again step by step."
            )
        )
    stays = _(
        "What has opened for %(child)s stays on our record. Please do not ask for a date and "
        "do not practise it at home. The best question after class: what did you enjoy?"
    ) % {"child": child.name}
    yield Sentence(stays)


def _after_long_away(child: ChildFacts) -> str:
    weeks = _away_weeks(child)
    return ngettext(
        "After more than %(weeks)d week without a turn everybody here starts with our "
        "hands again, and so does %(child)s. Sometimes the body remembers first, sometimes "
        "the courage. We go up one step at a time.",
        "After more than %(weeks)d weeks without a turn everybody here starts with our "
        "hands again, and so does %(child)s. Sometimes the body remembers first, sometimes "
        "the courage. We go up one step at a time.",
        weeks,
    ) % {"child": child.name, "weeks": weeks}


def _away_weeks(child: ChildFacts) -> int:
    return child.now.ladder.engine.way_back.away_days // DAYS_IN_A_WEEK


def _watched_again(child: ChildFacts, check: ReCheck) -> Iterator[str]:
    weeks = _away_weeks(child)
    values = {
        "child": child.name,
        "date": letter_date(check.cause.day),
        "works": child.line_within(check.drill),
        "weeks": weeks,
    }
    if check.cause.code == "away":
        sentence = ngettext(
            "More than %(weeks)d week went by without a turn at this: %(works)s.",
            "More than %(weeks)d weeks went by without a turn at this: %(works)s.",
            weeks,
        )
        yield sentence % values
    elif check.cause.code == "evidence-changed":
        yield _("Since %(date)s we go over this once more: %(works)s.") % values
    elif check.before is Support.HANDS_ON:
        yield (
            _("Since %(date)s we go over this once more, with hands as before: %(works)s.") % values
        )
    elif check.hands_came_back:
        yield (
            _("On %(date)s a coach’s hands came back for %(child)s at this: %(works)s.") % values
        )
    else:
        yield _("On %(date)s more help came for %(child)s at this: %(works)s.") % values
    if check.now is not None:
        yield _("For now, %(help)s.") % {"help": HELP[check.now]}


def placed(child: ChildFacts) -> Iterator[Sentence]:
    placing = child.placed_lately
    if placing is None:
        return
    values = {
        "child": child.name,
        "date": letter_date(placing.day),
        "director": placing.director,
        "stage": child.stage_name(placing.stage),
    }
    watched = _("On %(date)s %(director)s watched %(child)s and chose where to begin: %(stage)s.")
    yield Sentence(watched % values, named.placing(placing.day))
    yield Sentence(
        _(
            "At first our hands are there even for what a child did without them elsewhere. We "
            "want to see each step ourselves; that is no mark on another teacher."
        )
    )


def without_hands(child: ChildFacts) -> Iterator[Sentence]:
    agreed = child.without_hands()
    for signed, skill in agreed:
        values = {
            "child": child.name,
            "date": letter_date(signed.day),
            "director": signed.director,
            "works": child.line_within(skill),
            "surface": child.surface_name(signed.surface),
        }
        without = _(
            "On %(date)s %(director)s agreed that %(child)s does this in our class without a "
            "coach’s hands: %(works)s. It holds for one kind of floor: %(surface)s, and easier "
            "ones."
        )
        yield Sentence(without % values, named.signature(child, signed, skill))
    if agreed:
        meant = _(
            "It is meant for our class and our mats, with a coach near, not for home, a garden "
            "or a stage. %(child)s may ask for hands at any time, and we may give them back at "
            "any time. That is care, not a step down."
        ) % {"child": child.name}
        yield Sentence(meant)


def for_review(child: ChildFacts) -> Iterator[Sentence]:
    skills = child.for_review()
    for skill in skills:
        watches = _(
            "Our director has begun to watch %(child)s at this too, and will decide about the "
            "next step: %(works)s."
        ) % {"child": child.name, "works": child.line_within(skill)}
        yield Sentence(watches, named.waiting_for_director(child, skill))
    if skills:
        yield Sentence(
            _(
                "The answer may well be: a little longer. Until then nothing changes in class. A "
                "second pair of eyes takes time."
            )
        )


def works_on(child: ChildFacts) -> Iterator[Sentence]:
    if child.at_the_top():
        last = child.highest_stage()
        values = {"child": child.name, "stage": child.stage_name(last)}
        top = _("%(child)s has come to the last part of our ladder: %(stage)s.") % values
        yield Sentence(top, named.last_part(child, last))
    elif child.at_the_beginning():
        begins = _(
            "%(child)s is at the beginning of our ladder: shapes held still, strong arms, and "
            "learning to fall. It looks simple. These are the later skills, in pieces."
        ) % {"child": child.name}
        yield Sentence(begins, named.beginning(child))
    told = {check.drill for check in child.re_checks}
    told |= {skill for _signed, skill in child.without_hands()}
    practised = child.practised()
    drills = [drill for drill in practised if drill not in told]
    if drills:
        worked = (
            _("In the last four weeks %(child)s also worked on this:")
            if len(drills) < len(practised)
            else _("In the last four weeks %(child)s worked on this:")
        )
        rests_on = (each for drill in drills for each in named.turns_lately(child, drill))
        yield Sentence(worked % {"child": child.name}, tuple(rests_on))
    for drill in drills:
        helped = child.help_at(drill)
        sentences = [child.line(drill)]
        if helped is not None:
            sentences.append(_("For that, %(help)s.") % {"help": HELP[helped]})
        line = _("• %(sentences)s") % {"sentences": " ".join(sentences)}
        yield Sentence(line, named.turns_lately(child, drill))

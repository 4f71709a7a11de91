"""The sentences of what the floor page loads on demand, for its scripts."""

from django.utils.translation import gettext as _

from readiness.words.turns import ANGLES


def more_words() -> dict[str, dict[str, object]]:
    """As ``readiness/floor/words.py`` has them, in the active language."""
    return {"words": _from_the_side() | _quiz(), "codes": _codes() | _quiz_codes()}


def _quiz() -> dict[str, object]:
    return {
        # Of a figure, for who cannot see it: it does not give the answer away.
        "quiz-figure": _("a figure seen from the side"),
        "quiz-close": _("Stop the quiz"),
        "quiz-of": _("%(name)s · %(n)s of %(all)s"),
        "quiz-name": _("Which shape is this?"),
        "quiz-where": _("Where does it come in the skill?"),
        "quiz-same": _("Which two are the same shape?"),
        "quiz-same-two": _("%(one)s and %(other)s: the hollow"),
        "quiz-right": _("Right"),
        "quiz-wrong": _("Wrong"),
        "quiz-result": _("%(name)s: %(n)s of %(all)s, logged"),
    }


def _quiz_codes() -> dict[str, object]:
    """The answers (common practice, no source)."""
    return {
        "answers": {
            "shape-hollow": _("the hollow"),
            "shape-arch": _("the arch, the hollow's partner"),
            "shape-tall": _("tall"),
            "shape-sit": _("the sit"),
            "shape-hands-down": _("the hands-down line"),
            "shape-landing": _("the landing"),
            "where-hollow": _("three times: in the sit, in the second flight, in the rebound"),
            "where-sit": _("at the start, before the jump; the chest is in the hollow"),
            "where-hands-down": _("as the hands land"),
            "where-second-flight": _("after the hands: the second flight, a hollow"),
            "where-rebound": _("after the feet: the rebound, a hollow"),
            "where-landing": _("at the end, as the feet land"),
        },
    }


def _from_the_side() -> dict[str, object]:
    return {
        "side-title": _("From the side · %(name)s"),
        "side-close": _("Close, forget the picture"),
        "side-left": _("gone in %(n)s s"),
        "side-rule-clothes": _(
            "%(name)s is in practice clothes and stands side-on, four metres away, the tablet at "
            "hip height and level."
        ),
        "side-rule-frame": _("Nobody else is in the picture: wait, or turn away."),
        "side-rule-spot": _("Whoever films does not spot: somebody else has the hands."),
        "side-rule-memory": _(
            "The last three seconds stay in this page's memory, for a minute at most. No picture "
            "is stored or sent."
        ),
        "side-rule-screenshot": _(
            "A screenshot cannot be prevented. Take none; the second adult sees the screen."
        ),
        "side-child-says": _("%(name)s says yes, now"),
        "side-adult-here": _("A second adult is here"),
        "side-open": _("Open the camera"),
        "side-live": _("What the camera sees"),
        "side-film": _("Stop right after the turn: the last three seconds are there to pick from."),
        "side-stop": _("Stop"),
        "side-no-camera": _(
            "There is no camera, or this browser may not use it. Grade by what you saw."
        ),
        "side-no-frame": _("The camera had no picture yet. Close and try once more."),
        "side-pick": _("Pick the moment."),
        "side-moment": _("moment"),
        "side-before": _("Earlier"),
        "side-after": _("Later"),
        "side-twice": _("I tap each point twice: the error bars are then those of my own taps."),
        "side-this-one": _("This one"),
        "side-tap": _("Tap %(joint)s. %(n)s of %(all)s"),
        "side-tap-again": _("Once more, without looking at the first: %(joint)s. %(n)s of %(all)s"),
        "side-tapped": _("Drag what is not right. Then read the angles."),
        "side-back": _("Last tap back"),
        "side-read": _("Read the angles"),
        "side-same-place": _("Two points are in the same place. Drag one of them."),
        "side-gone": _("The picture is gone. Grade by what you saw, or begin again."),
        "side-read-here": _("%(name)s, as tapped"),
        "side-angle": _("%(what)s %(value)s° ± %(error)s"),
        "side-behind": _("%(what)s %(value)s ± %(error)s shins"),
        "side-suggests-by": _("The angles say grade %(grade)s (%(sign)s), sure %(n)s in 10."),
        "side-suggests": _("The angles say grade %(grade)s, sure %(n)s in 10."),
        "side-at-most": _(
            "At most %(n)s: what such a picture cannot show can only lower it. %(unseen)s You "
            "grade."
        ),
        "side-keep": _("Keep grade %(n)s"),
        "side-give": _("I give %(n)s"),
        "side-best-there-is": _(
            "The errors are those of the taps and of a camera up to 15° out of side-on. Published "
            "readings from such pictures differ by 3 to 8° on the same day at best; the shoulder "
            "is the worst joint."
        ),
        "side-goes-left": _("Wrong way round? This reads as travelling to the left"),
        "side-goes-right": _("Wrong way round? This reads as travelling to the right"),
    }


def _codes() -> dict[str, object]:
    return {
        "joints": {
            "floor-1": _("the floor line, at one end"),
            "floor-2": _("the floor line, at the other end"),
            "heel": _("the heel"),
            "toe": _("the toes"),
            "ankle": _("the ankle"),
            "knee": _("the knee"),
            "hip": _("the hip"),
            "shoulder": _("the shoulder"),
            "wrist": _("the wrist"),
            "elbow": _("the elbow"),
        },
        "angles": {name: str(word) for name, word in ANGLES.items()},
    }

"""The floor page's words for turns tonight, who came beside the list, and the stations."""

from collections.abc import Sequence

from django.utils.translation import gettext as _
from django.utils.translation import ngettext


def tonight_words() -> dict[str, str]:
    return {
        "tonight": _("Who had a turn tonight"),
        "none-tonight": _("none tonight"),
        "none-tonight-title": _("No turn yet tonight"),
        "none-here-title": _("No turn yet at %(drill)s"),
        "everybody-had": _("Everybody had one."),
        "tiles-order": _("Order of the tiles"),
        "fewest-first": _("Fewest turns first"),
        "by-name": _("By name"),
        "my-line": _("My line"),
        "my-line-how": _(
            "Tap who is at your station. This tablet then shows these alone; other tablets show "
            "what they chose."
        ),
        "everybody-here": _("Everybody"),
        "at-station": _("My line: %(n)s of %(all)s · %(none)s"),
        "stations": _("Stations"),
        "rotation-of": _("Rotation %(n)s of %(last)s"),
        "rotation-now": _("Rotation %(n)s: tap your line"),
        "rotation-next": _("Then, in rotation %(n)s"),
        "begin-rotation": _("Rotation %(n)s begins"),
        "rotation-again": _("Back to rotation %(n)s"),
        "time-is-up": _("time is up"),
        "end-stations": _("End the stations"),
        "stations-over": _("Stations are over"),
        "back-to-stations": _("Back to the stations"),
        "whole-room": _("The whole room"),
        "no-station": _("at no station"),
        "no-station-yet": _("At no station: %(names)s."),
        "with-adults": _("%(children)s · with %(adults)s"),
        "not-listed-title": _("Who is it?"),
        "not-listed-how": _("Any part of the name. Found are the children of this hall."),
        "not-listed-find": _("Find"),
        "not-listed-name": _("Name"),
        "not-listed-none": _("Nobody of this hall is found by that."),
        "not-listed-child": _("%(name)s, %(age)s, %(group)s"),
        "not-listed-why": _("Why is %(name)s here tonight?"),
        "not-listed-make-up": _("Makes up"),
        "not-listed-trial": _("A trial"),
        "not-listed-sibling": _("With a brother or sister"),
        "not-listed-new": _("A new child, without a name"),
        "not-listed-new-how": _(
            "The tile gets a number. Until the desk knows who it is and a family has said yes: "
            "nothing that asks for hands, and only what is open to a beginner."
        ),
        "not-listed-no-answer": _(
            "This needs the network, and there is no answer. Try again: nobody is added twice."
        ),
        "not-listed-403": _("A coach of this class lets somebody in."),
        "not-listed-404": _("This class is not tonight's, or the child is not of this hall."),
    }


def tonight_counts(samples: Sequence[int]) -> dict[str, list[str]]:
    return {
        "tile-tonight": [
            ngettext("%(here)s of %(n)s tonight", "%(here)s of %(n)s tonight", n) for n in samples
        ],
        "rotations-of": [
            ngettext("%(n)s rotation of %(minutes)s min", "%(n)s rotations of %(minutes)s min", n)
            for n in samples
        ],
        "minutes-left": [ngettext("%(n)s min left", "%(n)s min left", n) for n in samples],
        "minutes-over": [ngettext("%(n)s min over", "%(n)s min over", n) for n in samples],
        "none-yet": [ngettext("%(n)s without a turn", "%(n)s without a turn", n) for n in samples],
    }

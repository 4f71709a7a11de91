"""Why a line of a tablet is set aside, in words; the codes are those of the log."""

from django.utils.functional import Promise as Lazy
from django.utils.translation import gettext_lazy

UNREADABLE = gettext_lazy("it has a form that cannot be read")

REASONS: dict[str, Lazy] = {
    "unknown-drill": gettext_lazy("the ladder has no such drill"),
    "unknown-surface": gettext_lazy("the ladder has no such surface"),
    "unknown-fault": gettext_lazy("the ladder has no such fault at this drill"),
    "unknown-reason": gettext_lazy("there is no such reason"),
    "unknown-place": gettext_lazy("the ladder has no such place that hurts"),
    "may-not-grade": gettext_lazy("whoever tapped it may log turns, but not grade them"),
    "unknown-author": gettext_lazy("whoever tapped it has no account here"),
    "not-in-class": gettext_lazy("the child is not in this class"),
    "not-yours": gettext_lazy("it takes back a turn of somebody else: a coach can do that"),
    "not-proven": gettext_lazy(
        "it takes back a turn, and nothing proves who tapped it: a coach can do that in class"
    ),
    "other-content": gettext_lazy("the server holds it with other content; it keeps both"),
    "clean-with-stop-sign": gettext_lazy("a turn with a stop sign is not clean"),
    "bad-value": gettext_lazy("the number is out of range"),
    "other-server": gettext_lazy("its class belongs to another server, or to this one's old key"),
    "bad-time": gettext_lazy("its time cannot be read"),
}

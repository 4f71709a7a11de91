"""The floor page's sentences that count, each with its plural forms."""

from django.utils.translation import ngettext

# A language's plural forms are told apart by these numbers: between them they fall into every
# plural category that the Unicode CLDR knows (zero, one, two, few, many, other), in every
# language. The script picks the form of the sample that is in the same category as its number.
SAMPLES = [0, 1, 2, 3, 6, 11, 21, 100]


def counts() -> dict[str, list[str]]:
    return {
        "of-turns": [ngettext("%(n)s turn", "%(n)s turns", n) for n in SAMPLES],
        "here-count": [ngettext("%(n)s here", "%(n)s here", n) for n in SAMPLES],
        "roll-done": [ngettext("On to %(n)s child", "On to %(n)s children", n) for n in SAMPLES],
        "today-clean": [
            ngettext(
                "today %(clean)s clean of %(n)s turn", "today %(clean)s clean of %(n)s turns", n
            )
            for n in SAMPLES
        ],
        "turns-kept": [
            ngettext(
                "%(n)s turn kept here, not sent yet · since %(since)s",
                "%(n)s turns kept here, not sent yet · since %(since)s",
                n,
            )
            for n in SAMPLES
        ],
        "lines-kept": [
            ngettext(
                "%(n)s entry kept here, not sent yet · since %(since)s",
                "%(n)s entries kept here, not sent yet · since %(since)s",
                n,
            )
            for n in SAMPLES
        ],
        "only-here": [
            ngettext(
                "%(n)s entry is only in this page: do not close it before it is sent.",
                "%(n)s entries are only in this page: do not close it before they are sent.",
                n,
            )
            for n in SAMPLES
        ],
        "sign-in-turns": [
            ngettext("Sign in to send %(n)s turn", "Sign in to send %(n)s turns", n)
            for n in SAMPLES
        ],
        "sign-in-lines": [
            ngettext("Sign in to send %(n)s entry", "Sign in to send %(n)s entries", n)
            for n in SAMPLES
        ],
        "lines-wait": [
            ngettext(
                "%(n)s entry waits to be sent. It is kept on this tablet.",
                "%(n)s entries wait to be sent. They are kept on this tablet.",
                n,
            )
            for n in SAMPLES
        ],
        "lines-refused": [
            ngettext("%(n)s entry was not taken", "%(n)s entries were not taken", n)
            for n in SAMPLES
        ],
        "need-a-look": [
            ngettext("%(n)s entry needs a look", "%(n)s entries need a look", n) for n in SAMPLES
        ],
        "turns-of-line": [
            ngettext("%(n)s turn at once", "%(n)s turns at once", n) for n in SAMPLES
        ],
        "left-out": [
            ngettext("Not now, so left out: %(names)s.", "Not now, so left out: %(names)s.", n)
            for n in SAMPLES
        ],
        "log-times": [ngettext("Log %(n)s hold", "Log %(n)s holds", n) for n in SAMPLES],
        "keep-all": [ngettext("Keep %(n)s", "Keep all %(n)s", n) for n in SAMPLES],
        "leave-all-out": [ngettext("Leave out %(n)s", "Leave out all %(n)s", n) for n in SAMPLES],
        "children-count": [ngettext("%(n)s child", "%(n)s children", n) for n in SAMPLES],
        "adults-count": [ngettext("%(n)s adult", "%(n)s adults", n) for n in SAMPLES],
        "assistants-count": [ngettext("%(n)s assistant", "%(n)s assistants", n) for n in SAMPLES],
        "others-wait": [
            ngettext(
                "%(n)s entry of %(whose)s waits here · since %(since)s",
                "%(n)s entries of %(whose)s wait here · since %(since)s",
                n,
            )
            for n in SAMPLES
        ],
    }

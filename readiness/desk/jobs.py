"""The pages of the front desk, by what somebody wants to do."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.functional import Promise as Lazy
from django.utils.translation import gettext_lazy as _


@dataclass(frozen=True)
class Job:
    """``page``: the name of its address; ``about``: what is done there, in a sentence."""

    page: str
    label: Lazy
    about: Lazy


JOBS: Sequence[tuple[Lazy, Sequence[Job]]] = [
    (
        _("Children"),
        [
            Job(
                "children",
                _("Children"),
                _("Find one, add one, correct what is kept, classes, leaving and coming back."),
            ),
            Job(
                "incidents",
                _("What happened"),
                _("Falls, heads, near misses: write them down, and read them by month."),
            ),
            Job(
                "season",
                _("The season's turn"),
                _("Ask every family again: hands, telephones, cautions; a sheet for each class."),
            ),
            Job(
                "letters",
                _("Letters"),
                _("Of a class or of all: read, add a sentence, print together."),
            ),
            Job(
                "newcomers",
                _("Newcomers"),
                _("Place children who have learned elsewhere."),
            ),
            Job(
                "consents",
                _("Hands: yes or no"),
                _("Write down what families say about a coach's hands; print the slips."),
            ),
            Job(
                "doubles",
                _("Likely doubles"),
                _("Two records that may be of one child: look, and merge them or not."),
            ),
            Job(
                "erasures",
                _("To be erased"),
                _("Children who are to be erased, until a second director has said yes."),
            ),
            Job(
                "sorting",
                _("To be sorted"),
                _("Say who the children and classes are that came back without a name."),
            ),
        ],
    ),
    (
        _("Classes, halls and people"),
        [
            Job("classes", _("Classes"), _("Days, moves, holidays, who stands in.")),
            Job("shows", _("Shows"), _("The show list: who does the skill there, and how.")),
            Job("halls", _("Halls"), _("Addresses, emergency cards, a new hall.")),
            Job("staff", _("Staff"), _("Who can sign in, and who leaves.")),
            Job("sign-ins", _("Signed in where"), _("Who is signed in, and on what; end it.")),
            Job("audit", _("Who did what"), _("Decisions, accounts, sign-ins, row by row.")),
            Job("spotters", _("Spotters"), _("Who is trained to spot what, and until when.")),
            Job("ready-notes", _("Ready notes"), _("What one tap on the floor notes.")),
            Job("tablets", _("Tablets"), _("Tablets of the halls, and your own PIN.")),
        ],
    ),
    (
        _("Plan"),
        [
            Job(
                "evidence-hour",
                _("Evidence hour"),
                _("Who lacks only turns; four children, six turns, two graders."),
            ),
            Job(
                "september",
                _("September sheet"),
                _("After the summer: whose last step waits, to sign row by row."),
            ),
            Job(
                "term-end",
                _("Term end"),
                _("Who moves to which class by stage, with places."),
            ),
            Job(
                "programme",
                _("Programme"),
                _("Children by stage, time in stage, what holds them, who is not seen."),
            ),
        ],
    ),
    (
        _("Bring in"),
        [
            Job("roster-import", _("Bring in a roster"), _("The list of children, as a file.")),
            Job("paper-import", _("Bring in a paper log"), _("Turns from before, or by hand.")),
            Job(
                "outbox-file",
                _("Bring in a tablet’s file"),
                _("What a tablet saved that could not send."),
            ),
            Job("refused-lines", _("Refused lines"), _("What tablets sent that was set aside.")),
        ],
    ),
]

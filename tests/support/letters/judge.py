"""Judges a letter by the raw record: every sentence is of a known kind, and the kind's own
question to the log, the decisions and the pauses is answered with yes."""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

from readiness.letters.letter import Letter
from readiness.models import Decision
from tests.support.letters.record import RawRecord, day_of

FOOT = (
    "Our teachers decide each turn by what they see. Mats and hands make accidents rarer, not "
    "impossible. After a blow to the head, or with a sore neck: stop, and no return before a "
    "licensed clinician says yes. No backward tumbling at home, on beds or trampolines. Nobody "
    "spots who has not been trained."
)
# A sentence, or a pattern of one, and what has to be true of it.
Kind = tuple[str, Callable[..., Any]]
Fixed = tuple[str, Callable[[], Any]]


@dataclass
class Judge(RawRecord):
    """``objections`` fills up, ``sentences`` counts what was read."""

    sentences: int = 0
    objections: list[str] = field(default_factory=list)

    def judge(self, letter: Letter) -> None:
        paused = self.paused_since()
        title = f"A pause for {self.child.name}" if paused else f"What {self.child.name} works on"
        self._expect(letter.title, letter.title == title)
        self._expect(letter.cautions, letter.cautions == FOOT)
        for section in letter.sections:
            self._heading(section.heading)
            for paragraph in section.paragraphs:
                self._paragraph(paragraph)
        if paused:
            self._expect("a pause has no other part", len(letter.sections) == 1)
        told = " ".join(letter.texts())
        if "last part of our ladder" in told:
            self._expect("no “not yet” at the top", "not yet" not in told.lower())

    def _expect(self, sentence: str, true: bool) -> None:
        self.sentences += 1
        if not true:
            self.objections.append(sentence)

    def _heading(self, heading: str) -> None:
        name = self.child.called
        since = re.fullmatch(r"What has come since (.+)", heading)
        if since:
            self._expect(heading, day_of(since[1]) == self.since)
            return
        known = {
            "A pause for now": self.paused_since,
            "Something hurt": self.hurt_on,
            "A coach’s hands": self.no_yes,
            "More help again, for now": self.watched_again,
            f"Where {name} begins": self.placing,
            "Without a coach’s hands": self.signed,
            "In class": lambda: True,
            "Our director watches too": lambda: self.for_review(""),
            "How it goes on": self.may_look_ahead,
            "What helps at home": self.goes_on,
        }
        self._expect(heading, heading in known and bool(known[heading]()))

    def _paragraph(self, text: str) -> None:
        """Take one known sentence after the other off the paragraph."""
        text = text.removeprefix("• ")
        self.drill = ""
        while text:
            for pattern, true in self._kinds():
                match = re.match(pattern + r"(?: |$)", text)
                if match:
                    self._expect(match[0], bool(true(*match.groups())))
                    text = text[match.end() :]
                    break
            else:
                self._expect(f"unknown: {text}", False)
                return

    def _kinds(self) -> Iterator[Kind]:
        yield from ((re.escape(text), true) for text, true in self._fixed())
        name = re.escape(self.child.called)
        yield from self._of_care(name)
        yield from self._of_decisions(name)
        yield from self._of_steps(name)

    def _of_care(self, name: str) -> Iterator[Kind]:
        """A pause, what hurt, and what is watched again."""
        yield (
            rf"Tumbling has been paused for {name} since ([^.]+)\.",
            lambda day: self.paused_since() == day_of(day),
        )
        yield r"On ([^.]+) we wrote down that something hurt: ([^.]+)\.", self.hurt
        yield rf"{name} is back since ([^.]+)\.", self.is_back
        yield (
            rf"On (\d[^.]+) a coach’s hands came back for {name} at this: (.+?)\.(?= For now|$)",
            (lambda day, works: self.went_back(day, works, hands=True)),
        )
        yield (
            rf"On (\d[^.]+) more help came for {name} at this: (.+?)\.(?= For now|$)",
            (lambda day, works: self.went_back(day, works, hands=False)),
        )
        yield (
            r"Since (\d[^.]+) we go over this once more: (.+?)\.(?= For now|$)",
            (self.signed_on_other_evidence),
        )
        yield (
            r"Since (\d[^.]+) we go over this once more, with hands as before: "
            r"(.+?)\.(?= For now|$)",
            self.as_before,
        )
        yield (
            r"More than (\d+) weeks went by without a turn at this: (.+?)\.(?= For now|$)",
            self.went_by,
        )
        yield (
            rf"After more than (\d+) weeks without a turn everybody here starts with our hands "
            rf"again, and so does {name}\.",
            lambda weeks: self.away_weeks() == int(weeks) and self.watched_again("away"),
        )
        yield r"(?:For now|For that), ([^.]+)\.", self.helped

    def _of_decisions(self, name: str) -> Iterator[Kind]:
        yield (
            rf"On ([^.]+?\d{{4}}) (.+?) watched {name} and chose where to begin: ([^.]+)\.",
            (self.placed),
        )
        yield (
            rf"On ([^.]+?\d{{4}}) (.+?) agreed that {name} does this in our class without a "
            r"coach’s hands: (.+?)\. It holds for one kind of floor: ([^.]+), and easier ones\.",
            (self.agreed),
        )
        yield (
            rf"Our director has begun to watch {name} at this too, and will decide about the next "
            r"step: (.+?)\.(?= |$)",
            self.for_review,
        )

    def _of_steps(self, name: str) -> Iterator[Kind]:
        """What is worked on, what has come, and what comes next."""
        yield rf"{name} has come to the last part of our ladder: ([^.]+)\.", self.at_the_top
        yield r"New on the ladder: ([^.]+)\.", self.opened
        yield rf"{name} now does what the next step needs at: ([^.]+)\.", self.now_does
        yield r"On our record for the first time: ([^.]+)\.", self.first_time
        yield (
            r"What comes next is “([^”]+)”, when the pieces below it are steady\.",
            self.comes_next,
        )
        yield r"Beside it comes “([^”]+)”\.", self.comes_next
        yield r"It asks for: ([^.]+)\.", self.asks
        yield (
            "(" + "|".join(map(re.escape, sorted(self.lines, key=len, reverse=True))) + ")",
            (self.worked_on),
        )

    def no_yes(self) -> bool:
        return self.answer() != "yes"

    def goes_on(self) -> bool:
        return not self.paused_since()

    def signed(self) -> list[Decision]:
        return self.open_signed("unspotted")

    def _fixed(self) -> list[Fixed]:
        """Sentences without a fact in them, and when they may stand."""
        return [
            *self._fixed_of_care(),
            *self._fixed_of_decisions(),
            *self._fixed_of_class(),
            *self._fixed_of_what_comes(),
        ]

    def _fixed_of_care(self) -> list[Fixed]:
        paused, hurt, watched = self.paused_since, self.hurt_on, self.watched_again
        return [
            ("A pause is care, not a step back.", paused),
            (f"{self.child.called} is welcome to sit with the class.", paused),
            ("It ends when you, and a licensed clinician where one is needed, say yes, and our "
             "director has written it down.", paused),
            ("Until then please no tumbling, handstands or bridges at home either.", paused),
            ("We cannot say what it is.", hurt),
            ("Our rule is to leave out what loads it, and to ask before each class.", hurt),
            (f"We begin again when you or {self.child.called} tell us that it is gone.", hurt),
            ("If it stays, swells, hurts at night, or comes a second time within three weeks, "
             "please see a licensed clinician first, and tell us.", hurt),
            ("Rest first.", hurt),
            ("Please no practice at home until nothing hurts any more.", hurt),
            ("We have no yes to a coach’s hands that counts now.", self.no_yes),
            (f"Until there is one, {self.child.called} does no skill that needs a spotter, also "
             "none that went without hands before; shapes, holds and wall work stay.",
             self.no_yes),
            ("A word at the desk changes it on any day.", self.no_yes),
            ("Sometimes the body remembers first, sometimes the courage.", watched),
            ("We go up one step at a time.", watched),
            ("Our rule is the same for everybody.", watched),
            ("When turns are not sure, help comes back at once, and leaves again step by step.",
             watched),
            (f"What has opened for {self.child.called} stays on our record.", watched),
            ("Please do not ask for a date and do not practise it at home.", watched),
            ("The best question after class: what did you enjoy?", watched),
        ]  # fmt: skip

    def _fixed_of_decisions(self) -> list[Fixed]:
        return [
            ("The answer may well be: a little longer.", lambda: self.for_review("")),
            ("Until then nothing changes in class.", lambda: self.for_review("")),
            ("A second pair of eyes takes time.", lambda: self.for_review("")),
            ("At first our hands are there even for what a child did without them elsewhere.",
             self.placing),
            ("We want to see each step ourselves; that is no mark on another teacher.",
             self.placing),
            ("It is meant for our class and our mats, with a coach near, not for home, a garden "
             "or a stage.", self.signed),
            (f"{self.child.called} may ask for hands at any time, and we may give them back at "
             "any time.", self.signed),
            ("That is care, not a step down.", self.signed),
        ]  # fmt: skip

    def _fixed_of_class(self) -> list[Fixed]:
        return [
            (f"{self.child.called} is at the beginning of our ladder: shapes held still, strong "
             "arms, and learning to fall.", self.at_the_beginning),
            ("It looks simple.", self.at_the_beginning),
            ("These are the later skills, in pieces.", self.at_the_beginning),
            (f"In the last four weeks {self.child.called} worked on this:",
             lambda: self.days_since(28)),
            (f"In the last four weeks {self.child.called} also worked on this:",
             lambda: self.days_since(28) and (self.watched_again() or self.signed())),
            ("These weeks went into practice.", lambda: len(self.days_since(84)) >= 3),
            ("A skill stands on what has become steady.", self.goes_on),
            (f"There are turns of {self.child.called} on our record from only a few evenings, "
             "too few to say more.", lambda: 0 < len(self.days_since(84)) < 3),
            (f"It was good to have {self.child.called} in class.", lambda: self.days_since(84)),
            (f"There are no turns of {self.child.called} on our record from these weeks.",
             lambda: not self.days_since(84)),
        ]  # fmt: skip

    def _fixed_of_what_comes(self) -> list[Fixed]:
        ahead = self.may_look_ahead
        return [
            ("Steps grow from weeks that follow each other.", ahead),
            ("After a gap we begin with the shapes, and with our hands where hands are needed.",
             ahead),
            ("Nobody sees the floor on the way back.", ahead),
            ("So shapes and arms come first, in their own time.", ahead),
            ("“Not yet” is no mark.", ahead),
            ("It is the part of the work that carries the next part.", ahead),
            ("What comes now is keeping it steady: new floors, and the dance, one at a time.",
             lambda: self.at_the_top("")),
            ("Each harder floor begins with a coach beside.", lambda: self.at_the_top("")),
            ("Some come quickly, some slowly, and that says little about a dancer.", ahead),
            ("We name no day.", ahead),
            ("Then our director looks, and decides.",
             lambda: self.stage and self.read.stage(self.stage).stage.sign_off),
            ("Our director has asked for more time first.", self.sent_back),
            ("A few minutes on a mat or a carpet: the hollow (on the back, arms by the ears, low "
             "back pressed down), the arch (face down, arms, chest and legs lifted, eyes on the "
             "floor) and the front support (hands under the shoulders, arms straight, one line "
             "from head to heels).", self.goes_on),
            ("Short and neat; stop when the shape goes, or if anything hurts.", self.goes_on),
            ("Only these shapes, please, and nothing backward, not even with somebody helping.",
             self.goes_on),
        ]  # fmt: skip

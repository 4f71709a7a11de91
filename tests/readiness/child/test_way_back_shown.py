"""Every cause that asks for more support, on every page, with what brings less again."""

import datetime
from dataclasses import dataclass

import pytest
import time_machine
from django.test import Client
from django.utils.html import escape

from progression.models import Attempt
from readiness.models import Pause, PauseLift
from readiness.record.intake import take_lines
from studio.models import Meeting
from tests.support.cast import TODAY, Cast, Logged, time_ordered_id
from tests.support.pages import decide, recommended, text_of
from tests.support.ready import MAT, place_at, ready_to_be_signed

SKILL = "back-walkover"
DANGER = ("arms-give",)


def on(days: int) -> datetime.date:
    return TODAY + datetime.timedelta(days=days)


def evening(days: int) -> datetime.datetime:
    return datetime.datetime.combine(on(days), datetime.time(19), datetime.UTC)


@dataclass
class Story:
    """Mai, and days counted from TODAY."""

    cast: Cast
    client: Client
    log: Logged

    def signed(self) -> "Story":
        """Stage 4 is signed on TODAY and open the day after."""
        ready_to_be_signed(self.cast, self.log)
        with time_machine.travel(evening(0), tick=False):
            recommended(self.client, self.cast.omar, self.cast.mai)
            answer = decide(self.client, self.cast.petra, self.cast.mai, "sign", surface=MAT)
            assert answer.status_code == 302
        return self

    def did(self, days: int, outcomes: str, support: int, faults: tuple[str, ...] = ()) -> "Story":
        about = {"day": on(days), "support": support, "surface": MAT, "faults": faults}
        self.log(self.cast.mai, SKILL, outcomes, **about)
        return self

    def send(self, days: int, *lines: dict[str, object]) -> "Story":
        blue, now = self.cast.blue, evening(days)
        about = {"group": blue, "date": on(days), "starts_at": blue.starts_at}
        meeting, _ = Meeting.objects.get_or_create(**about)
        whole = [
            {"id": str(time_ordered_id(now, at)), "at": now.isoformat(), **line}
            for at, line in enumerate(lines)
        ]
        answers = take_lines(meeting, self.cast.petra, "tablet", now, whole, 1, now)
        assert {answer.answer for answer in answers} == {"kept"}
        return self

    def hurt(self, days: int, place: str) -> "Story":
        return self.send(days, {"kind": "hurt", "child": str(self.cast.mai.uuid), "place": place})

    def pages(self, days: int, stage: str = "4") -> dict[str, str]:
        """The words of every page on which Mai stands."""
        child = self.cast.mai.uuid
        addresses = {
            "child": f"/children/{child}?stage={stage}",
            "evidence": f"/children/{child}/evidence/{stage}",
            "review": "/review",
            "class": f"/classes/{self.cast.blue.uuid}",
        }
        with time_machine.travel(evening(days), tick=False):
            self.client.force_login(self.cast.petra)
            found = {}
            for name, address in addresses.items():
                found[name] = text_of(self.client.get(address))
            return found

    def told(self, days: int, cause: str, long: str, short: str, stage: str = "4") -> None:
        """The pages of one child say it at length, those of many in short."""
        for name, words in self.pages(days, stage).items():
            assert cause in words, name
            back = long if name in ("child", "evidence") else short
            assert escape(back) in words, name


@pytest.fixture
def story(cast: Cast, client: Client, log: Logged) -> Story:
    return Story(cast, client, log)


TO_LIGHT_TOUCH = (
    "Back walkover, hands-on now. To light touch: 3 clean turns, nearly all clean, at hands-on or "
    "less, the first turn of that day clean, and no stop sign. 0 of 3 so far."
)
HANDS_ON_NOW = "Back walkover: hands-on now, 0 of 3 clean for the next step"
STANDING_BY_NOW = "Back walkover: standing by now, 0 of 3 clean for the next step"


def to_unspotted(who: str) -> str:
    return (
        "Back walkover, standing by now. To unspotted: 3 clean turns, nearly all clean, at "
        "standing by or less, the first turn of that day clean, no stop sign, and then "
        f"{who}'s yes. 0 of 3 so far."
    )


# --- the cause, and what brings less ---------------------------------------------------


def test_on_the_evening_of_a_stop_sign_the_way_back_has_yet_to_begin(story):
    story.signed().did(7, "10", 0, DANGER)
    begins = "Hands-on now; the way back begins on the next class day"
    story.told(7, "A stop sign on 11 Mar.", f"{begins}.", begins)
    assert "To light touch" not in story.pages(7)["child"]


def test_from_the_next_day_a_stop_sign_has_its_first_step(story):
    story.signed().did(7, "10", 0, DANGER)
    story.told(8, "A stop sign on 11 Mar.", TO_LIGHT_TOUCH, HANDS_ON_NOW)


def test_a_fall_on_the_way_back_says_nothing_of_what_was_walked(story):
    story.signed().did(7, "10", 0, DANGER).did(14, "111", 3).did(21, "110", 2, DANGER)
    begins = "Hands-on now; the way back begins on the next class day"
    story.told(21, "A stop sign on 25 Mar.", f"{begins}.", begins)
    for name, words in story.pages(21).items():
        assert "so far" not in words, name
        assert "for the next step" not in words, name


def test_a_step_that_is_earned_counts_from_tomorrow(story):
    story.signed().did(7, "10", 0, DANGER).did(14, "111", 3)
    assert "Earned: light touch from tomorrow." in story.pages(14)["child"]
    assert "Back walkover, light touch now. To standing by:" in story.pages(15)["child"]


def test_a_stop_sign_hands_on_ends_its_re_check_by_clean_turns_hands_on(story):
    place_at(story.cast, story.cast.mai, 3, on(-20))
    story.did(-7, "0", 3, DANGER)
    ends = (
        "Back walkover, hands-on now. The re-check ends with 3 clean turns, nearly all clean, at "
        "hands-on or less, the first turn of that day clean, and no stop sign. 0 of 3 so far."
    )
    short = "Back walkover: hands-on now, 0 of 3 clean to end the re-check"
    story.told(0, "A stop sign on 25 Feb.", ends, short, stage="3")
    story.did(0, "111", 3)
    assert "Earned: open again from tomorrow." in story.pages(0, "3")["child"]
    assert "re-check" not in story.pages(1, "3")["class"]


def test_too_few_clean_turns_lately_ask_for_one_step(story):
    story.signed().did(7, "1000", 0)
    said = "Too few clean turns lately, on 11 Mar."
    begins = "Standing by now; the way back begins on the next class day"
    story.told(7, said, f"{begins}.", begins)
    story.told(8, said, to_unspotted("a coach"), STANDING_BY_NOW)


def test_long_without_a_turn_asks_for_hands(story):
    said = "On 2 Apr it had been more than 28 days without a turn."
    assert said not in story.signed().pages(28)["child"]
    story.told(29, said, TO_LIGHT_TOUCH, HANDS_ON_NOW)


def test_after_eight_weeks_the_way_back_is_still_in_sight_and_ends_with_a_director(story):
    story.signed()
    words = story.pages(57)["child"]
    assert words.index("To light touch:") < words.index("drills not done in eight weeks")
    story.did(57, "111", 3).did(64, "111", 2).did(71, "111", 1)
    waits = "Unspotted again is earned: it waits for a director's yes."
    cause = "On 2 Apr it had been more than 28 days without a turn."
    story.told(71, cause, f"Back walkover, standing by now. {waits}", waits)


def test_changed_evidence_asks_for_one_step_and_a_director(story):
    story.signed()
    turns = Attempt.objects.filter(child=story.cast.mai, author=story.cast.ines)
    strikes = [{"kind": "strike", "turn": str(t.pk), "code": "wrong-child"} for t in turns]
    story.send(1, *strikes)
    said = "by the record as it stands, this could not have been signed on 4 Mar."
    story.told(7, said, to_unspotted("a director"), STANDING_BY_NOW)


def test_after_two_stop_signs_the_last_step_is_a_directors(story):
    story.signed().did(7, "10", 0, DANGER).did(14, "0", 3, DANGER)
    story.did(21, "111", 3).did(28, "111", 2)
    assert escape(to_unspotted("a director")) in story.pages(29)["child"]


# --- pain and pauses -------------------------------------------------------------------


def test_what_hurts_today_rests_today_and_is_asked_of_again(story):
    story.signed().hurt(7, "wrist")
    rests = "ask again at the next class. The same place again within 21 days is a pause."
    short = "Hurts today: Wrist; does nothing that loads it"
    story.told(7, "Wrist", rests, short)
    assert "Something hurts: Mai rests from this today." in story.pages(7)["child"]
    asks = "Wrist, on 11 Mar: gone, or still there? Until it is gone, nothing that loads it."
    assert asks in story.pages(8)["child"]
    assert "Something hurts: Mai rests from this today." in story.pages(8)["child"]
    story.send(14, {"kind": "gone", "child": str(story.cast.mai.uuid), "place": "wrist"})
    for name, words in story.pages(14).items():
        assert "rests" not in words, name
        assert "still there" not in words, name


def test_the_same_place_again_is_a_pause(story):
    story.signed().hurt(7, "wrist").hurt(14, "wrist")
    long = "Since 18 Mar: nobody may tumble Mai until a director lifts the pause."
    short = "Paused since 18 Mar, until a director lifts it"
    twice = (
        "The same place hurt twice: Wrist, on 11 Mar and on 18 Mar. Within 21 days that is a pause."
    )
    story.told(14, twice, long, short)
    assert "Hurts today" not in story.pages(14)["class"]


def test_a_pause_says_why_and_who_ends_it(story):
    story.signed()
    about = {"child": story.cast.mai, "by": story.cast.petra}
    Pause.objects.create(at=evening(7), day=on(7), reason="a knock to the head", **about)
    long = "Since 11 Mar: nobody may tumble Mai until a director lifts the pause."
    short = "Paused since 11 Mar, until a director lifts it"
    story.told(7, "a knock to the head", long, short)
    story.told(9, "a knock to the head", long, short)
    PauseLift.objects.create(at=evening(14), day=on(14), reason="cleared", **about)
    ends = "Petra lifted it today: it ends tomorrow."
    story.told(14, "a knock to the head", ends, ends)
    assert "paused" not in story.pages(15)["class"]


def test_a_lift_ends_nothing_when_something_hurts_after_it(story):
    story.signed()
    about = {"child": story.cast.mai, "by": story.cast.petra}
    Pause.objects.create(at=evening(7), day=on(7), reason="a knock to the head", **about)
    before = evening(14) - datetime.timedelta(hours=1)
    PauseLift.objects.create(at=before, day=on(14), reason="cleared", **about)
    story.hurt(14, "head")
    for words in story.pages(14).values():
        assert "it ends tomorrow" not in words


# --- who sees it -----------------------------------------------------------------------


def test_a_coach_of_the_class_reads_it_and_others_are_refused(story):
    story.signed().did(7, "10", 0, DANGER)
    address = f"/children/{story.cast.mai.uuid}/evidence/4"
    with time_machine.travel(evening(8), tick=False):
        for who, status in (("omar", 200), ("ines", 404), ("dora", 404), ("tam", 403)):
            story.client.force_login(getattr(story.cast, who))
            answer = story.client.get(address)
            assert answer.status_code == status, who
            assert ("To light touch" in answer.content.decode()) is (status == 200), who

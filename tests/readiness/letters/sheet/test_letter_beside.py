"""What stands beside a letter's sentences: the map, what has grown, the slip. Each tells what the
record carries, and no more."""

import re
from dataclasses import replace

import pytest
from django.conf import settings
from django.utils import translation

from progression.ladder.field_types import NEVER_SAID
from readiness.engine.levels import Support
from readiness.engine.reading import CLOSED, FOR_REVIEW, OPEN, PAUSED, RE_CHECK
from readiness.engine.replay.state import Cause
from readiness.letters.beside.growth import grown
from readiness.letters.beside.ladder_map import ladder_map
from readiness.letters.beside.page import beside
from readiness.letters.beside.slip import slip
from readiness.letters.facts import ChildFacts, ReCheck
from readiness.letters.sections import sections
from readiness.models import DayTally
from readiness.record.standings import Reading, read
from tests.support.cast import TODAY, Cast
from tests.support.letters.kinds import KINDS, HandsAgain, Paused, SomethingHurt


@pytest.fixture
def reading(climbed: Cast) -> Reading:
    return read(climbed.mai, TODAY)


def with_stage(reading: Reading, code: str, state: str) -> Reading:
    stages = tuple(
        replace(each, state=state) if each.stage.code == code else each
        for each in reading.read.stages
    )
    return replace(reading, read=replace(reading.read, stages=stages))


def with_consent(reading: Reading, answer: str) -> Reading:
    state = replace(reading.read.state, consent=answer)
    return replace(reading, read=replace(reading.read, state=state))


def states(facts: ChildFacts, review: bool = False) -> dict[str, str]:
    codes = [each.stage.code for each in facts.now.read.stages if each.stage.part_of is None]
    return dict(zip(codes, [stop.state for stop in ladder_map(facts, review)], strict=True))


# The map


@pytest.mark.django_db
def test_the_map_shows_what_is_open_and_what_comes_later(reading):
    found = states(ChildFacts(with_consent(reading, "yes")))
    assert [found[code] for code in "123"] == [OPEN] * 3
    assert [found[code] for code in "46789"] == [CLOSED] * 5


@pytest.mark.django_db
@pytest.mark.parametrize("language", settings.LETTER_LANGUAGES)
@pytest.mark.parametrize("kind", KINDS)
def test_the_map_has_no_number_and_never_says_safe_or_alone(kind, language, reading):
    with translation.override(language):
        told = beside(kind(reading), "Mai Tran", review=True, by_director=False)
        words = " ".join(told.of_the_map())
    assert not re.search(r"\d", words)
    assert not re.search(rf"\b({NEVER_SAID[language]})\b", words, re.IGNORECASE)


@pytest.mark.django_db
def test_that_a_part_waits_for_a_director_is_told_only_where_a_director_lets_it(reading):
    facts = ChildFacts(with_stage(reading, "4", FOR_REVIEW))
    assert states(facts)["4"] == CLOSED
    assert states(facts, review=True)["4"] == FOR_REVIEW


@pytest.mark.django_db
def test_all_that_is_open_rests_during_a_pause(reading):
    found = states(Paused(reading))
    assert set(found.values()) == {PAUSED, CLOSED}


@pytest.mark.django_db
def test_without_a_yes_to_hands_what_needs_them_rests_and_shapes_do_not(reading):
    found = states(ChildFacts(with_consent(read_without_yes(reading), "no")))
    assert found["1"] == OPEN
    assert found["3"] == PAUSED


def read_without_yes(reading: Reading) -> Reading:
    """No support is allowed at the walkover."""
    support = tuple(
        replace(each, allowed=replace(each.allowed, support=None))
        if each.drill == "back-walkover"
        else each
        for each in reading.read.support
    )
    return replace(reading, read=replace(reading.read, support=support))


class Watched(ChildFacts):
    before, then = Support.STANDING_BY, Support.HANDS_ON

    @property
    def re_checks(self):
        cause = Cause("stop-sign", TODAY, ("3",), Support.HANDS_ON)
        return [ReCheck("back-walkover", cause, self.before, self.then)]


class WatchedWithHandsAsBefore(Watched):
    before = Support.HANDS_ON


class WatchedFromBeside(Watched):
    before, then = Support.UNSPOTTED, Support.STANDING_BY


@pytest.mark.django_db
def test_hands_are_again_on_the_map_only_where_hands_came_back(reading):
    reading = with_consent(reading, "yes")
    assert states(Watched(reading))["3"] == RE_CHECK
    assert states(WatchedWithHandsAsBefore(reading))["3"] == OPEN
    assert states(WatchedFromBeside(reading))["3"] == OPEN


# What has grown


@pytest.mark.django_db
def test_a_hold_that_grew_is_told_by_the_medians_of_its_first_and_last_two_days(reading):
    found = {each.drill: each for each in grown(ChildFacts(reading))}
    # The holds of a term, one a week: 19, 20 … 28, 29 seconds in the bridge. The medians of two
    # are 19.5 and 28.5.
    assert (found["Bridge"].then, found["Bridge"].now) == (20, 28)
    with translation.override("en"):
        told = found["Bridge"].said
    assert re.fullmatch(r"Bridge: about 20 seconds in \w+, 28 now\.", told)


@pytest.mark.django_db
@pytest.mark.parametrize("best", [20, 2])
def test_what_did_not_grow_is_not_told(best, climbed):
    DayTally.objects.filter(best__isnull=False).update(best=best)
    facts = ChildFacts(read(climbed.mai, TODAY))
    assert grown(facts) == ()
    assert not list(beside(facts, "Mai Tran", False, False).of_growth())


@pytest.mark.django_db
def test_what_shrank_is_not_told(climbed):
    for tally in DayTally.objects.filter(best__isnull=False):
        tally.best = 100 - tally.best
        tally.save(update_fields=["best"])
    assert grown(ChildFacts(read(climbed.mai, TODAY))) == ()


@pytest.mark.django_db
def test_on_three_days_of_a_term_nothing_has_grown(climbed):
    days = sorted(set(DayTally.objects.values_list("day", flat=True)))
    DayTally.objects.exclude(day__in=[days[-9], days[-8], days[-1]]).delete()
    assert grown(ChildFacts(read(climbed.mai, TODAY))) == ()


@pytest.mark.django_db
@pytest.mark.parametrize("kind", [Paused, SomethingHurt])
def test_nothing_has_grown_and_no_shape_is_for_home_while_it_rests(kind, reading):
    told = beside(kind(reading), "Mai Tran", False, False)
    assert told.grown == ()
    assert told.shapes == ()


# The slip


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("answer", "said"),
    [
        ("yes", "On our record now: yes."),
        ("no", "On our record now: no."),
        ("not-asked", "On our record now: no answer that counts."),
        ("", ""),
    ],
)
def test_the_slip_says_the_answer_that_counts_now(answer, said, reading):
    facts = ChildFacts(with_consent(reading, answer))
    with translation.override("en"):
        told = slip(facts, "Mai Tran")
        letter = " ".join(text for each in sections(facts) for text in each.paragraphs)
    assert told.on_record.startswith(said)
    assert bool(told.on_record) is bool(said)
    assert ("no yes to a coach’s hands" in letter) is (answer in ("no", "not-asked"))


@pytest.mark.django_db
@pytest.mark.parametrize("language", settings.LETTER_LANGUAGES)
def test_the_slip_says_in_each_language_what_hands_do(language, reading):
    with translation.override(language):
        told = slip(HandsAgain(reading), "Mai Tran")
    assert all(told.texts())
    assert told.yes != told.no
    assert not re.search(rf"\b({NEVER_SAID[language]})\b", told.hands, re.IGNORECASE)
    if language != "en":
        assert "hands" not in " ".join(told.texts())

"""An account made today is not one of the two people of today, and one that a director has in hand
is for seven days the same person as she."""

import datetime

import pytest

from progression.models import Attempt, Confirmation
from studio.models import AccountChange
from tests.support.cast import NOW, TODAY, make_staff
from tests.support.deciding import LATER, recommend, sign
from tests.support.ready import ready_to_be_signed

DAY = datetime.timedelta(days=1)


@pytest.fixture
def mai(cast, log):
    ready_to_be_signed(cast, log)
    return cast.mai


def made(staff, at=NOW, what="made", by=None):
    AccountChange.objects.create(staff=staff, what=what, by=by, at=at)


def refused(verb, *about):
    from readiness.record.decisions import DecisionRefused

    with pytest.raises(DecisionRefused) as refusal:
        verb(*about)
    return refusal.value.code


@pytest.mark.parametrize("what", ["made", "role", "pass", "back"])
@pytest.mark.parametrize("who", ["omar", "luis"])
def test_neither_who_recommends_nor_who_signs_may_be_of_today(cast, mai, who, what):
    made(getattr(cast, who), what=what)
    recommend(mai, cast.omar)
    assert refused(sign, mai, cast.luis) == "new-account"


def test_nor_a_grader_of_the_turns_even_of_earlier_days(cast, mai):
    made(cast.ines)
    recommend(mai, cast.omar)
    assert refused(sign, mai, cast.luis) == "new-grader"


def test_nor_one_who_gave_a_word_for_them(cast, mai):
    made(cast.petra)
    turn = Attempt.objects.filter(child=mai, drill__key="back-walkover").first()
    Confirmation.objects.create(attempt=turn, by=cast.petra, at=NOW, completes=True)
    recommend(mai, cast.omar)
    assert refused(sign, mai, cast.luis) == "new-grader"


def test_an_account_of_yesterday_may_and_so_may_one_that_graded_nothing_here(cast, mai):
    for who in (cast.omar, cast.luis, cast.ines):
        made(who, at=NOW - DAY)
    made(make_staff("Nils", "coach", cast.hall))
    made(cast.omar, what="other")
    recommend(mai, cast.omar)
    assert sign(mai, cast.luis).day == TODAY
    assert LATER.date() == TODAY


# An account that a director made or has given a password on the page.
IN_HAND = ["made", "role", "pass", "back"]


@pytest.mark.parametrize("what", IN_HAND)
def test_nobody_signs_what_an_account_in_her_hand_recommends_for_seven_days(cast, mai, what):
    made(cast.omar, at=NOW - 6 * DAY, what=what, by=cast.luis)
    recommend(mai, cast.omar)
    assert refused(sign, mai, cast.luis) == "one-person"


def test_nor_does_an_account_in_the_hand_of_who_recommends(cast, mai):
    made(cast.luis, at=NOW - 6 * DAY, by=cast.omar)
    recommend(mai, cast.omar)
    assert refused(sign, mai, cast.luis) == "one-person"


def test_nor_two_accounts_in_one_hand_nor_one_by_way_of_another(cast, mai):
    made(cast.omar, at=NOW - 6 * DAY, by=cast.petra)
    between = make_staff("Nils", "director", cast.hall)
    made(between, at=NOW - 5 * DAY, by=cast.petra)
    made(cast.luis, at=NOW - 4 * DAY, by=between)
    recommend(mai, cast.omar)
    assert refused(sign, mai, cast.luis) == "one-person"


def test_after_seven_days_and_after_other_changes_they_are_two(cast, mai):
    made(cast.omar, at=NOW - 8 * DAY, by=cast.luis)
    made(cast.luis, what="other", by=cast.omar)
    made(cast.omar, at=NOW - 2 * DAY, what="pin", by=cast.luis)
    recommend(mai, cast.omar)
    assert sign(mai, cast.luis).day == TODAY


@pytest.mark.parametrize(("days", "code"), [(4, "grader-in-hand"), (3, "grader-in-hand"), (2, "")])
def test_turns_graded_from_an_account_in_hand_wait_and_those_before_do_not(
    cast, log, mai, days, code
):
    log(mai, "back-walkover", "11", day=TODAY - 3 * DAY, support=1, by=cast.ines)
    made(cast.ines, at=NOW - days * DAY, what="pass", by=cast.petra)
    recommend(mai, cast.omar)
    if code:
        assert refused(sign, mai, cast.luis) == code
    else:
        assert sign(mai, cast.luis).day == TODAY

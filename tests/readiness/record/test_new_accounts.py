"""An account made today is not one of the two people of today."""

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


def made(staff, at=NOW, what="made"):
    AccountChange.objects.create(staff=staff, what=what, by=None, at=at)


def refused(verb, *about):
    from readiness.record.decisions import DecisionRefused

    with pytest.raises(DecisionRefused) as refusal:
        verb(*about)
    return refusal.value.code


@pytest.mark.parametrize("what", ["made", "role"])
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

"""A letter to a family that has not said yes to a coach's hands says what that means."""

import pytest

from readiness.letters.letter import letter_facts, write_letter
from tests.support.cast import NOW, TODAY, give_consent
from tests.support.guards import forget_answers
from tests.support.letters.files import climb_to_the_walkover

pytestmark = pytest.mark.django_db
MEANS = "Until there is one, Mai does no skill that needs a spotter"


def text_of_letter(cast):
    return "\n".join(write_letter(letter_facts(cast.mai, NOW), cast.omar).texts())


def test_with_a_yes_nothing_is_said_of_it(cast):
    climb_to_the_walkover(cast)
    assert MEANS not in text_of_letter(cast)


@pytest.mark.parametrize("asked", [True, False])
def test_without_a_yes_it_says_what_that_means_and_promises_no_hands(cast, asked):
    climb_to_the_walkover(cast)
    if asked:
        give_consent(cast.mai, yes=False, day=TODAY)
    else:
        forget_answers(cast.mai)
    text = text_of_letter(cast)
    assert text.count(MEANS) == 1
    assert "a coach’s hand touches lightly" not in text


def test_where_one_guardian_said_yes_and_another_no_it_is_not_denied_that_one_did(cast):
    give_consent(cast.mai, yes=True, day=TODAY, guardian="Mother")
    give_consent(cast.mai, yes=False, day=TODAY, guardian="Father")
    text = text_of_letter(cast)
    assert "We have no yes to a coach’s hands that counts now. Until there is one, Mai" in text
    assert "on file" not in text

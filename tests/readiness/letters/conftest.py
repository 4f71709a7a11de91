"""Letters are written at the time of the cast."""

import pytest
import time_machine

from tests.support.cast import NOW, Cast
from tests.support.letters.files import climb_to_the_walkover


@pytest.fixture(autouse=True)
def _now(request: pytest.FixtureRequest):
    if "cast" not in request.fixturenames:
        yield
        return
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def climbed(cast: Cast) -> Cast:
    climb_to_the_walkover(cast)
    return cast

"""Letters are written at the time of the cast."""

import pytest
import time_machine

from tests.support.cast import NOW


@pytest.fixture(autouse=True)
def _now(request: pytest.FixtureRequest):
    if "cast" not in request.fixturenames:
        yield
        return
    with time_machine.travel(NOW, tick=False):
        yield

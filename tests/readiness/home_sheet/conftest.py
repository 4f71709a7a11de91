"""A coach at the page of a home sheet."""

import pytest
import time_machine

from tests.support.cast import NOW


@pytest.fixture
def page(client, cast, ladder):
    client.force_login(cast.omar)
    with time_machine.travel(NOW, tick=False):
        yield client

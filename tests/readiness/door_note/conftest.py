"""A coach at the pages of door notes, on the evening of the class."""

import pytest
import time_machine

from studio.models import Location
from tests.support.cast import NOW


@pytest.fixture
def page(client, cast):
    client.force_login(cast.omar)
    Location.objects.filter(pk=cast.hall.pk).update(phone="030 55")
    with time_machine.travel(NOW, tick=False):
        yield client

"""A short run of the fuzz; the long one is ``python -m tests.attack fuzz --full``."""

import time_machine

from tests.attack.fuzz import SEED, Fuzz
from tests.attack.site import quiet
from tests.support.every_page import EVENING, build


def test_nothing_that_a_client_sends_is_answered_with_500(cast, log):
    with time_machine.travel(EVENING, tick=False), quiet():
        assert Fuzz(build(cast, log), SEED + 1).run(pages=150, calls=50) == []

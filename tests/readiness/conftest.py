"""What several pages of the record are tested with: the evening, and a child ready to be signed."""

import copy

import pytest
import time_machine

from readiness.record.ladder_loading import load
from tests.support.cast import TODAY
from tests.support.deciding import LATER
from tests.support.ready import ready_to_be_signed


@pytest.fixture
def _later():
    """Two hours after the class began."""
    with time_machine.travel(LATER, tick=False):
        yield


@pytest.fixture
def mai(cast, log):
    ready_to_be_signed(cast, log)
    return cast.mai


@pytest.fixture
def new_gates(ladder_content):
    """Load a version with other values in a gate of stage 4, in force from today on."""

    def change(code="4.back-walkover", **values):
        content = copy.deepcopy(ladder_content)
        stage = next(stage for stage in content["stage"] if stage["number"] == 4)
        gate = next(gate for gate in stage["gate"] if gate["code"] == code)
        gate.update(values)
        load(content, now=LATER, from_day=TODAY, reason="tried")

    return change

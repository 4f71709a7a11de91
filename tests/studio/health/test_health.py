"""A monitor is told whether the server works, and nothing else."""

from pathlib import Path
from unittest.mock import patch

import pytest
from django.db import OperationalError, connection, connections
from django.db.migrations.recorder import MigrationRecorder
from django.test import Client

from studio.health import checks


def ask():
    answer = Client().get("/health")
    return answer.status_code, answer.json()


WELL = {"database": "ok", "migrations": "ok", "disk": "ok"}


def test_all_is_well_and_nothing_is_told_of_anybody(cast, django_assert_num_queries):
    ask()
    # One that answers, which tables there are, which migrations.
    with django_assert_num_queries(3):
        assert ask() == (200, WELL)
    assert Client().post("/health").status_code == 405
    assert Client().head("/health").status_code == 200
    assert not Client().get("/health").cookies


@pytest.mark.django_db
def test_a_migration_that_was_not_applied_is_told():
    MigrationRecorder(connection).record_unapplied("studio", "0034_audit")
    assert ask() == (503, WELL | {"migrations": "fails"})


@pytest.mark.django_db
def test_a_disk_that_cannot_be_written_is_told(settings):
    settings.VAR_DIR = Path("/proc")
    assert ask() == (503, WELL | {"disk": "fails"})


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full here")
@pytest.mark.django_db
def test_a_full_disk_is_told():
    """Writing to /dev/full fails with ENOSPC (full(4))."""
    with patch.object(checks.tempfile, "TemporaryFile", lambda dir: open("/dev/full", "wb")):
        assert ask() == (503, WELL | {"disk": "fails"})


@pytest.mark.django_db
def test_a_database_that_is_gone_is_told():
    gone = OperationalError("the server closed the connection")
    with patch.object(connections["default"], "cursor", side_effect=gone):
        assert ask() == (503, {"database": "fails", "migrations": "fails", "disk": "ok"})

"""What is only added to stays: no row of it is changed, deleted, replaced or emptied away."""

import uuid
from collections.abc import Callable

import pytest
from django.apps import apps
from django.db import DatabaseError, connection, models, transaction

from progression.models import (
    AttemptNote,
    LadderProposal,
    LadderVersion,
)
from readiness.models import (
    PrintedLetter,
    Report,
)
from tests.support.cast import NOW, TODAY, Cast
from tests.support.child_rows.rows import value_for
from tests.support.guards import GUARDED, lifted

SQLITE = connection.vendor == "sqlite"
MODELS = {model._meta.db_table: model for model in apps.get_models()}


@pytest.fixture
def row(cast: Cast, request: pytest.FixtureRequest) -> models.Model:
    """A row of the table, filled by the kinds of its columns."""
    model = MODELS[request.param]
    fields = [field for field in model._meta.concrete_fields if not field.auto_created]
    return model._default_manager.create(**{f.name: value_for(f, cast) for f in fields})


every_table = pytest.mark.parametrize("row", GUARDED, indirect=True)


def run(statement: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(statement)


def refused(act: Callable[[], object]) -> None:
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        act()


@every_table
def test_no_row_is_changed_or_deleted(row):
    table = row._meta.db_table
    before = list(type(row)._default_manager.values())
    for field in () if GUARDED[table] else row._meta.concrete_fields:
        refused(lambda name=field.column: run(f"UPDATE {table} SET {name} = {name}"))
    refused(lambda: run(f"DELETE FROM {table}"))
    assert list(type(row)._default_manager.values()) == before


@pytest.mark.skipif(not SQLITE, reason="PostgreSQL has no REPLACE")
@every_table
def test_no_row_is_replaced(row):
    """Without recursive triggers REPLACE deletes unseen: https://sqlite.org/lang_conflict.html."""
    table = row._meta.db_table
    refused(lambda: run(f"INSERT OR REPLACE INTO {table} SELECT * FROM {table}"))


@pytest.mark.skipif(SQLITE, reason="SQLite has no TRUNCATE")
@every_table
def test_no_table_is_emptied(row):
    # No check of a key may be left over.
    connection.check_constraints()
    refused(lambda: run(f"TRUNCATE {row._meta.db_table} CASCADE"))


@pytest.fixture
def note(db):
    return AttemptNote.objects.create(attempt_id=uuid.uuid4(), text="heels early")


def test_what_is_personal_may_be_erased_and_not_changed(note):
    refused(lambda: AttemptNote.objects.update(text="other"))
    refused(lambda: AttemptNote.objects.update(text=""))
    refused(lambda: AttemptNote.objects.update(attempt_id=uuid.uuid4(), text=None))
    assert AttemptNote.objects.get().text == "heels early"
    AttemptNote.objects.update(text=None)
    assert list(AttemptNote.objects.values_list()) == [(note.attempt_id, None)]
    refused(lambda: AttemptNote.objects.update(text="back again"))


def test_a_printed_letter_may_lose_its_file_and_never_gets_another(cast):
    about = {"child": cast.mai, "day": TODAY, "by": cast.omar, "at": NOW}
    PrintedLetter.objects.create(file=b"%PDF", own="Well held.", digest="0" * 64, **about)
    letters = PrintedLetter.objects.all()
    refused(lambda: letters.update(file=b"%PDF-2"))
    refused(lambda: letters.update(file=None, digest="1" * 64))
    letters.update(file=None, own=None)
    refused(lambda: letters.update(file=b"%PDF"))
    assert letters.get().digest == "0" * 64


def test_guards_that_were_lifted_stand_again(note):
    with lifted():
        AttemptNote.objects.update(text="other")
    refused(lambda: AttemptNote.objects.update(text="another"))


def test_whatever_is_told_of_a_child_is_guarded():
    assert {model._meta.db_table for model in Report.__subclasses__()} <= set(GUARDED)


def test_a_proposal_is_answered_once_and_changed_in_nothing_else(cast):
    version = LadderVersion.objects.get()
    proposal = LadderProposal.objects.create(base=version, content={}, by=cast.petra, at=NOW)
    rows = LadderProposal.objects.filter(pk=proposal.pk)
    refused(lambda: rows.update(reason="another"))
    refused(lambda: rows.update(answered_at=NOW, by=cast.luis))
    rows.update(answered_by=cast.luis, answered_at=NOW, version=version)
    for column in ("answered_by", "answered_at", "version"):
        refused(lambda name=column: rows.update(**{name: None}))
    refused(lambda: rows.update(answered_by=cast.petra))
    refused(lambda: rows.delete())

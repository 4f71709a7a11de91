"""A database that an earlier release made comes up with its data, and its children stand as before.

Each file in ``tests/files`` is such a database with invented people: its rows by model, the last
migration of each app, and of every child the states, scores and support that the release itself
read on a day. They are loaded under that release's own migrations and brought up from there.
"""

import datetime
import gzip
import json
from io import StringIO
from pathlib import Path

import pytest
import time_machine
from django.core.management import call_command
from django.core.management.color import no_style
from django.db import connection, transaction
from django.db.migrations.executor import MigrationExecutor

from progression.models import Attempt, AttemptNote
from readiness.models import Decision, HeadKnock, Pain, Told
from studio.halls.emergency import emergency_of
from studio.models import Child, Location
from studio.people.consents import answer_on
from tests.support import guards

FILES = Path(__file__).resolve().parents[2] / "files"
# The newest last. A release that changes the tables adds its predecessor's.
RELEASES = [
    "database-0.1-2026-11.json.gz",
    "database-0.1-before-list-columns.json.gz",
    "database-0.1-before-new-rules.json.gz",
    "database-0.1-before-proof.json.gz",
    "database-0.1-before-notes.json.gz",
    "database-0.1-before-head-steps.json.gz",
    "database-0.1-before-letters.json.gz",
    "database-0.1-before-stations.json.gz",
    "database-0.1-before-eyes.json.gz",
]
# Those that asked nobody for a consent, and took the number for granted.
UNASKED = RELEASES[:3]
NEVER_CHANGED = ["progression.attempt", "progression.strike", "readiness.decision"]


def migrate(targets):
    MigrationExecutor(connection).migrate(targets)


def pytest_generate_tests(metafunc):
    """The oldest, which goes all the way, and the newest; every release with --full."""
    marked = metafunc.definition.get_closest_marker("parametrize")
    if "release" in metafunc.fixturenames and marked is None:
        every = metafunc.config.getoption("full")
        some = RELEASES if every else [RELEASES[0], RELEASES[-1]]
        metafunc.parametrize("release", some, indirect=True)


@pytest.fixture
def release(request, transactional_db):
    """A release's file; its rows are in the database, under its own migrations."""
    release = json.loads(gzip.decompress((FILES / request.param).read_bytes()))
    release["file"] = request.param
    targets = list(release["migrations"].items())
    newest = MigrationExecutor(connection).loader.graph.leaf_nodes()
    migrate(targets)
    try:
        load_rows(release["tables"], models_at(targets))
        yield release
    finally:
        migrate(newest)


def models_at(targets):
    """The models as they were after these migrations, by label."""
    apps = MigrationExecutor(connection).loader.project_state(targets).apps
    return {model._meta.label_lower: model for model in apps.get_models(include_auto_created=True)}


def load_rows(tables, models):
    # Keys are looked at when the transaction ends: the tables come in any order.
    with transaction.atomic():
        for label, table in tables.items():
            fields = [models[label]._meta.get_field(column) for column in table["columns"]]
            models[label]._default_manager.bulk_create(
                models[label](**dict(map(value_of, fields, row))) for row in table["rows"]
            )
    with connection.cursor() as cursor:
        # PostgreSQL goes on counting after the keys that were given.
        for statement in connection.ops.sequence_reset_sql(
            no_style(), [models[label] for label in tables]
        ):
            cursor.execute(statement)


def value_of(field, plain):
    """The name and the value of a column, from plain data."""
    of = field.target_field if field.is_relation else field
    return field.attname, of.to_python(plain)


def stored(release):
    """What the columns of the release hold in the database, as it gives them out."""
    found = {}
    models = models_at(list(release["migrations"].items()))
    for label in NEVER_CHANGED:
        meta = models[label]._meta
        names = release["tables"][label]["columns"]
        # Notes have moved to a table of their own.
        columns = [meta.get_field(name).column for name in names if name != "note"]
        with connection.cursor() as cursor:
            # Names of tables and columns out of the models.
            cursor.execute(
                f"SELECT {', '.join(map(connection.ops.quote_name, columns))} "
                f"FROM {connection.ops.quote_name(meta.db_table)} "
                f"ORDER BY {connection.ops.quote_name(meta.pk.column)}"
            )
            found[label] = cursor.fetchall()
    return found


def test_it_keeps_every_turn_strike_and_decision_and_everybody_stands_where_they_stood(release):
    """And what else each brings; together, as the way up takes long."""
    before = stored(release)
    for label in NEVER_CHANGED:
        assert len(before[label]) == len(release["tables"][label]["rows"]) > 0

    call_command("migrate", verbosity=0)

    assert stored(release) == before
    # Tallies and standings are as the log says, without being put right first.
    call_command("rebuild_standings", check=True, stdout=StringIO())
    for child, before in release["states"].items():
        after = states(child, release["day"])
        # A stage out of reach has no score any more.
        for code, (_state, score) in after["stages"].items():
            if score is None:
                before["stages"][code][1] = None
        assert after == before
    if "readiness.familytold" in release["tables"]:
        families_were_told(release)
    nothing_can_be_changed()
    if release["file"] in UNASKED:
        no_number_is_confirmed()


def families_were_told(release):
    table = release["tables"]["readiness.familytold"]
    rows = [dict(zip(table["columns"], row, strict=True)) for row in table["rows"]]
    told = Told.objects.values_list("id", "child_id", "about", "whom", "by_id")
    assert {(str(row[0]), *row[1:]) for row in told} == {
        (row["id"], row["child_id"], row["what"], row["whom"], row["by_id"]) for row in rows
    }
    assert rows


def nothing_can_be_changed():
    with pytest.raises(Exception, match="append-only"):
        Attempt.objects.update(device="another")
    with pytest.raises(Exception, match="append-only"):
        Decision.objects.update(reason="another")


def no_number_is_confirmed():
    halls = list(Location.objects.all())
    assert halls
    assert not any(emergency_of(hall).confirmed for hall in halls)


@pytest.mark.parametrize("release", [RELEASES[0], RELEASES[3]], indirect=True)
def test_what_was_written_beside_a_turn_comes_along(release):
    attempts = models_at(list(release["migrations"].items()))["progression.attempt"]
    turn = attempts.objects.order_by("pk")[0]
    with guards.lifted():
        attempts.objects.filter(pk=turn.pk).update(note="heels early")
    call_command("migrate", verbosity=0)
    assert list(AttemptNote.objects.values_list()) == [(turn.pk, "heels early")]


@pytest.mark.parametrize("release", RELEASES[4:5], indirect=True)
def test_a_pause_for_a_head_that_it_brings_begins_no_way_back(release):
    pain = models_at(list(release["migrations"].items()))["readiness.pain"]
    known = pain.objects.order_by("pk")[0]
    with guards.lifted():
        pain.objects.filter(pk=known.pk).update(place="head")
    call_command("migrate", verbosity=0)
    assert Pain.objects.filter(place="head").exists()
    assert not HeadKnock.objects.exists()


@pytest.mark.parametrize("release", UNASKED[-1:], indirect=True)
def test_a_yes_to_hands_stands_this_season_and_a_no_by_default_is_not_asked(release):
    """From the day of the upgrade on; before it nobody was asked, and nothing was closed."""
    table = models_at(list(release["migrations"].items()))["studio.child"]
    doubted = table.objects.order_by("pk")[0].pk
    table.objects.filter(pk=doubted).update(consent_to_spotting=False)
    upgraded = datetime.date(2027, 3, 4)
    with time_machine.travel(datetime.datetime(2027, 3, 4, 12, tzinfo=datetime.UTC), tick=False):
        call_command("migrate", verbosity=0)
    for child in Child.objects.all():
        answers = list(child.spotting_consents.all())
        assert child.consent_asked_from == upgraded
        expected = "not-asked" if child.pk == doubted else "yes"
        assert answer_on(answers, upgraded) == expected
        assert answer_on(answers, datetime.date(2027, 9, 1)) == "not-asked"


def states(child, day):
    """Of one child on a day: each stage's state and score, and the support allowed by drill."""
    printed = StringIO()
    call_command("readings", f"--child={child}", f"--day={day}", "--json", stdout=printed)
    reading = json.loads(printed.getvalue())
    return {
        "stages": {
            str(each["stage"]): [each["state"], each["score"]]
            for stage in reading["stages"]
            for each in [stage, *stage.get("skills", [])]
        },
        "support": {
            f"{each['drill']} {each['surface']}": each["allowed"] for each in reading["support"]
        },
    }


@pytest.mark.parametrize("release", RELEASES[-1:], indirect=True)
def test_its_backup_can_be_restored_here(release, settings, tmp_path):
    """Made before the upgrade, as one should; brought up to this release where it is tried."""
    settings.BACKUP_DIR = tmp_path
    call_command("backup", stdout=StringIO())
    said = StringIO()
    call_command("backup", verify=next(tmp_path.glob("ladder-*")), stdout=said)
    assert "can be restored" in said.getvalue()

"""All rows of one database into another one that is empty: every row, unchanged, or none.

Rows keep their keys, so tablets, links and decisions go on where they were.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from django.apps import apps
from django.contrib.auth.models import Permission
from django.contrib.contenttypes.models import ContentType
from django.core.management.color import no_style
from django.db import DatabaseError, connections, transaction
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.migrations.executor import MigrationExecutor
from django.db.models import Model
from django.utils.translation import gettext as _

from studio.db import bulk

ROWS_AT_ONCE = 1000
# What ``migrate`` itself puts into an empty database. It is replaced by the source's own rows,
# whose keys other rows point at.
MADE_BY_MIGRATE: tuple[type[Model], ...] = (Permission, ContentType)


class NotMoved(Exception):
    """Why nothing was moved, as a sentence."""


@dataclass(frozen=True)
class Moved:
    """How many rows a table has, in both databases."""

    table: str
    rows: int


def move(source: str, target: str) -> Iterator[Moved]:
    """Copy all rows from one database alias to another, table by table, in one transaction.

    Yields each table as it is done. Raises NotMoved, with nothing stored in the target, if the
    target is not migrated or not empty, if a row does not fit, or if a count differs. Nothing is
    written to the source; on SQLite nobody else can write to it either until the end.
    """
    refuse_unfit(connections[source], connections[target])
    with transaction.atomic(source), transaction.atomic(target):
        for model in MADE_BY_MIGRATE:
            model._base_manager.using(target).all().delete()
        for model in _models():
            yield Moved(model._meta.db_table, _copy(model, source, target))
        _finish(connections[target])


def refuse_unfit(source: BaseDatabaseWrapper, target: BaseDatabaseWrapper) -> None:
    """Raise NotMoved unless both have all tables as the program wants them, and one no rows."""
    if _unmigrated(source):
        raise NotMoved(_("Run “manage.py migrate” first: this database is of an older program."))
    if _unmigrated(target):
        raise NotMoved(
            _("Run “manage.py migrate” first with the new address as DATABASE_URL: its tables are "
              "not there yet, or are older.")
        )  # fmt: skip
    for model in _models():
        if model not in MADE_BY_MIGRATE and model._base_manager.using(target.alias).exists():
            raise NotMoved(
                _("The new database is not empty: there are rows in %(table)s. Nothing was moved.")
                % {"table": model._meta.db_table}
            )


def _unmigrated(connection: BaseDatabaseWrapper) -> bool:
    executor = MigrationExecutor(connection)
    return bool(executor.migration_plan(executor.loader.graph.leaf_nodes()))


def _models() -> list[type[Model]]:
    """Everything that has a table, those between two models included.

    In any order: keys are checked when all rows are there.
    """
    return [
        model
        for model in apps.get_models(include_auto_created=True)
        if model._meta.managed and not model._meta.proxy
    ]


def _copy(model: type[Model], source: str, target: str) -> int:
    rows_of_source = model._base_manager.using(source)
    columns = [field.attname for field in model._meta.concrete_fields]
    rows = rows_of_source.order_by("pk").values_list(*columns).iterator(chunk_size=ROWS_AT_ONCE)
    table = model._meta.db_table
    try:
        bulk.insert(model, columns, rows, using=target)
        counts = rows_of_source.count(), model._base_manager.using(target).count()
    except (DatabaseError, ValueError) as error:
        raise NotMoved(
            _("A row of %(table)s does not fit. Nothing was moved. The database says: %(reason)s")
            % {"table": table, "reason": error}
        ) from error
    if counts[0] != counts[1]:
        raise NotMoved(
            _("Of %(before)d rows of %(table)s %(after)d arrived. Nothing was moved.")
            % {"before": counts[0], "table": table, "after": counts[1]}
        )
    return counts[1]


def _finish(target: BaseDatabaseWrapper) -> None:
    """Let new keys begin after the ones that came, and check that every key points at a row."""
    statements = target.ops.sequence_reset_sql(no_style(), _models())
    with target.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)
    try:
        target.check_constraints()
    except DatabaseError as error:
        raise NotMoved(
            _("A row points at nothing. Nothing was moved. The database says: %(reason)s")
            % {"reason": error}
        ) from error

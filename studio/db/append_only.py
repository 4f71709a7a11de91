"""Triggers that keep tables append-only, on both databases: no row is changed, none is deleted.

What is personal in a row may be erased, and only that: the columns named for it may become NULL.
An answer that a row waits for may be written into it, once.
Shared: used by migrations, and by tests that empty the tables.
"""

from collections.abc import Mapping, Sequence

from django.db.backends.base.base import BaseDatabaseWrapper

# Tables, and of each the columns that may be erased; "+" before one: it may be filled once.
Tables = Mapping[str, Sequence[str]]

# The names of the columns that may be erased or filled are the trigger's arguments.
_POSTGRES_FUNCTION = """
CREATE OR REPLACE FUNCTION ladder_log_is_append_only() RETURNS trigger AS $$
BEGIN
    IF TG_OP = 'UPDATE' AND TG_NARGS > 0
        AND to_jsonb(NEW) - string_to_array(replace(array_to_string(TG_ARGV, ','), '+', ''), ',')
            = to_jsonb(OLD) - string_to_array(replace(array_to_string(TG_ARGV, ','), '+', ''), ',')
        AND NOT EXISTS (
            SELECT FROM unnest(TG_ARGV) AS argument, ltrim(argument, '+') AS changed
            WHERE CASE WHEN argument LIKE '+%' THEN to_jsonb(OLD) ELSE to_jsonb(NEW) END
                    ->> changed IS NOT NULL
                AND to_jsonb(NEW) ->> changed IS DISTINCT FROM to_jsonb(OLD) ->> changed
        )
    THEN
        RETURN NEW;
    END IF;
    RAISE EXCEPTION 'the log is append-only: % on %', TG_OP, TG_TABLE_NAME
        USING ERRCODE = 'integrity_constraint_violation';
END
$$ LANGUAGE plpgsql
"""


def install(connection: BaseDatabaseWrapper, tables: Tables) -> None:
    """Put the guards on those of these tables that are there yet."""
    if connection.vendor == "postgresql":
        _run(connection, [_POSTGRES_FUNCTION])
    there = set(connection.introspection.table_names())
    for table, erasable in tables.items():
        if table in there:
            _run(connection, _install_statements(connection, table, erasable))


def remove(connection: BaseDatabaseWrapper, tables: Tables) -> None:
    """Take the guards away; the tables can then be emptied, or built again."""
    there = set(connection.introspection.table_names())
    for table in tables:
        if table in there:
            _run(connection, _remove_statements(connection.vendor, table))


def _run(connection: BaseDatabaseWrapper, statements: Sequence[str]) -> None:
    with connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)


def _install_statements(
    connection: BaseDatabaseWrapper, table: str, erasable: Sequence[str]
) -> list[str]:
    if connection.vendor == "postgresql":
        names = ", ".join(f"'{name}'" for name in erasable)
        call = f"EXECUTE FUNCTION ladder_log_is_append_only({names})"
        return [
            f"CREATE OR REPLACE TRIGGER {table}_append_only BEFORE UPDATE OR DELETE ON {table} "
            f"FOR EACH ROW {call}",
            f"CREATE OR REPLACE TRIGGER {table}_not_emptied BEFORE TRUNCATE ON {table} "
            f"FOR EACH STATEMENT {call}",
        ]
    # Deleting also stands for INSERT OR REPLACE: studio/settings.py turns on recursive_triggers.
    raises = "BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END"
    changed = f"WHEN {_changed(connection, table, erasable)}" if erasable else ""
    return [
        f"CREATE TRIGGER IF NOT EXISTS {table}_no_update BEFORE UPDATE ON {table} "
        f"{changed} {raises}",
        f"CREATE TRIGGER IF NOT EXISTS {table}_no_delete BEFORE DELETE ON {table} {raises}",
    ]


def _changed(connection: BaseDatabaseWrapper, table: str, erasable: Sequence[str]) -> str:
    """In SQL: something changes that is more than erasing, or filling what was empty."""
    with connection.cursor() as cursor:
        columns = [
            column.name for column in connection.introspection.get_table_description(cursor, table)
        ]
    still = {name.lstrip("+"): "OLD" if name[0] == "+" else "NEW" for name in erasable}
    return " OR ".join(
        f'({still[name]}."{name}" IS NOT NULL AND NEW."{name}" IS NOT OLD."{name}")'
        if name in still
        else f'NEW."{name}" IS NOT OLD."{name}"'
        for name in columns
    )


def _remove_statements(vendor: str, table: str) -> list[str]:
    if vendor == "postgresql":
        return [
            f"DROP TRIGGER IF EXISTS {table}_{guard} ON {table}"
            for guard in ("append_only", "not_emptied")
        ]
    return [f"DROP TRIGGER IF EXISTS {table}_no_{verb}" for verb in ("update", "delete")]

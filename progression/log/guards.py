"""The triggers that hold the log append-only, on both databases.

``install`` and ``remove`` are for migrations, and for tests that empty the tables.
"""

from django.db.backends.base.base import BaseDatabaseWrapper

GUARDED = ["progression_attempt", "progression_strike"]

_POSTGRES_FUNCTION = """
CREATE OR REPLACE FUNCTION ladder_log_is_append_only() RETURNS trigger AS $$
BEGIN
    RAISE EXCEPTION 'the log is append-only: % on %', TG_OP, TG_TABLE_NAME
        USING ERRCODE = 'integrity_constraint_violation';
END
$$ LANGUAGE plpgsql
"""


def install(connection: BaseDatabaseWrapper) -> None:
    """Put a guard against UPDATE and DELETE on every table of the log."""
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(_POSTGRES_FUNCTION)
        for table in GUARDED:
            for statement in _install_statements(connection.vendor, table):
                cursor.execute(statement)


def remove(connection: BaseDatabaseWrapper) -> None:
    """Take the guards away; the log can then be emptied."""
    with connection.cursor() as cursor:
        for table in GUARDED:
            for statement in _remove_statements(connection.vendor, table):
                cursor.execute(statement)


def _install_statements(vendor: str, table: str) -> list[str]:
    if vendor == "postgresql":
        return [
            f"CREATE OR REPLACE TRIGGER {table}_append_only BEFORE UPDATE OR DELETE ON {table} "
            "FOR EACH ROW EXECUTE FUNCTION ladder_log_is_append_only()"
        ]
    return [
        f"CREATE TRIGGER IF NOT EXISTS {table}_no_{verb.lower()} BEFORE {verb} ON {table} "
        "BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END"
        for verb in ("UPDATE", "DELETE")
    ]


def _remove_statements(vendor: str, table: str) -> list[str]:
    if vendor == "postgresql":
        return [f"DROP TRIGGER IF EXISTS {table}_append_only ON {table}"]
    return [f"DROP TRIGGER IF EXISTS {table}_no_{verb}" for verb in ("update", "delete")]

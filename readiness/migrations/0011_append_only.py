"""Decisions, and what was told of a child, are only added to: by the database itself."""

from django.db import migrations

from readiness.guards import GUARDED
from studio.db import append_only


def install(apps, schema_editor):
    append_only.install(schema_editor.connection, GUARDED)


def remove(apps, schema_editor):
    append_only.remove(schema_editor.connection, GUARDED)


class Migration(migrations.Migration):
    dependencies = [('readiness', '0010_no_hands')]
    operations = [migrations.RunPython(install, remove)]

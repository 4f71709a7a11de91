"""Attendance and consents are only added to, from here on by the database itself."""

from django.db import migrations

from studio.db.guards import GUARDED
from studio.db import append_only


def install(apps, schema_editor):
    append_only.install(schema_editor.connection, GUARDED)


def remove(apps, schema_editor):
    append_only.remove(schema_editor.connection, GUARDED)


class Migration(migrations.Migration):
    dependencies = [('studio', '0009_known_browsers')]
    operations = [migrations.RunPython(install, remove)]

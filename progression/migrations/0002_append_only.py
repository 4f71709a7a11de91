"""The log refuses changes from its first day on."""

from django.db import migrations

from progression.log import guards


def install(apps, schema_editor):
    guards.install(schema_editor.connection)


def remove(apps, schema_editor):
    guards.remove(schema_editor.connection)


class Migration(migrations.Migration):
    dependencies = [("progression", "0001_initial")]
    operations = [migrations.RunPython(install, remove)]

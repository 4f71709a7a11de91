"""What a line says of its tablet's clock, kept with the turn.

SQLite may build the table again for this: the guards are put back after it.
"""

from django.db import migrations, models

from progression.log import guards


def install(apps, schema_editor):
    guards.install(schema_editor.connection)


def remove(apps, schema_editor):
    guards.remove(schema_editor.connection)


class Migration(migrations.Migration):
    dependencies = [("progression", "0002_append_only")]
    operations = [
        migrations.RunPython(remove, install),
        migrations.AddField("attempt", "clock", models.JSONField(default=dict)),
        migrations.RunPython(install, remove),
    ]

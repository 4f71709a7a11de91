"""What was written beside a turn moves to a table of its own, where it can be erased alone.

The guards are lifted for it and put back.
"""

from django.db import migrations, models

from progression.log import guards


def install(apps, schema_editor):
    guards.install(schema_editor.connection)


def remove(apps, schema_editor):
    guards.remove(schema_editor.connection)


def move(apps, schema_editor):
    quoted = schema_editor.connection.ops.quote_name
    schema_editor.execute(
        f"INSERT INTO {quoted('progression_attemptnote')} (attempt_id, text) "
        f"SELECT id, note FROM {quoted('progression_attempt')} WHERE note <> ''"
    )


class Migration(migrations.Migration):

    dependencies = [
        ('progression', '0005_rejected_line'),
    ]

    operations = [
        migrations.RunPython(remove, install),
        migrations.CreateModel(
            name='AttemptNote',
            fields=[
                ('attempt_id', models.UUIDField(primary_key=True, serialize=False)),
                ('text', models.CharField(max_length=500, null=True)),
            ],
        ),
        migrations.RunPython(move, migrations.RunPython.noop),
        migrations.RemoveField(
            model_name='attempt',
            name='note',
        ),
        migrations.RunPython(install, remove),
    ]

"""What was read off a picture from the side, beside its turn."""

import django.db.models.deletion
from django.db import migrations, models

from readiness.guards import GUARDED
from studio.db import append_only

TABLES = {"readiness_attemptangles": ()}


def install(apps, schema_editor):
    append_only.install(schema_editor.connection, GUARDED)


def remove(apps, schema_editor):
    append_only.remove(schema_editor.connection, TABLES)


class Migration(migrations.Migration):

    dependencies = [
        ('progression', '0010_line_resolution'),
        ('readiness', '0031_second_grades'),
    ]

    operations = [
        migrations.CreateModel(
            name='AttemptAngles',
            fields=[
                ('attempt', models.OneToOneField(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, primary_key=True, related_name='angles', serialize=False, to='progression.attempt')),
                ('picture', models.CharField(max_length=10)),
                ('angles', models.JSONField()),
                ('joints', models.JSONField()),
                ('spread', models.FloatField()),
                ('twice', models.BooleanField()),
                ('suggests', models.PositiveSmallIntegerField()),
                ('chances', models.JSONField()),
                ('received_at', models.DateTimeField()),
            ],
        ),
        migrations.RunPython(install, remove),
    ]

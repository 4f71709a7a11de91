"""Door notes: what was given to whom of the family, word for word."""

import uuid

import django.db.models.deletion
from django.db import migrations, models

from readiness.guards import GUARDED
from studio.db import append_only

TABLE = "readiness_doornote"


def install(apps, schema_editor):
    append_only.install(schema_editor.connection, {TABLE: GUARDED[TABLE]})


def remove(apps, schema_editor):
    append_only.remove(schema_editor.connection, {TABLE: ()})


class Migration(migrations.Migration):

    dependencies = [
        ('readiness', '0024_printed_letters'),
    ]

    operations = [
        migrations.CreateModel(
            name='DoorNote',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, primary_key=True, serialize=False)),
                ('kind', models.CharField(choices=[('fall', 'a fall, nothing hurt'), ('head', 'a knock to the head'), ('hands', 'hands again')], max_length=8)),
                ('start', models.UUIDField()),
                ('given_to', models.CharField(max_length=120)),
                ('words', models.TextField()),
                ('told', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='door_note', to='readiness.told')),
            ],
        ),
        migrations.RunPython(install, remove),
    ]

"""Falls, and what was written down of what happened: accounts, and what was added to them."""

import uuid

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from readiness.guards import GUARDED
from studio.db import append_only

TABLES = {f"readiness_{name}": () for name in ("fell", "incidentaccount", "incidentaddition")}


def install(apps, schema_editor):
    append_only.install(schema_editor.connection, {table: GUARDED[table] for table in TABLES})


def remove(apps, schema_editor):
    append_only.remove(schema_editor.connection, TABLES)


class Migration(migrations.Migration):

    dependencies = [
        ('progression', '0010_line_resolution'),
        ('readiness', '0017_decided'),
        ('studio', '0028_paper_undone'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Fell',
            fields=[
                ('id', models.UUIDField(primary_key=True, serialize=False)),
                ('day', models.DateField()),
                ('at', models.DateTimeField()),
                ('received_at', models.DateTimeField()),
                ('digest', models.CharField(max_length=64)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('child', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='studio.child')),
                ('meeting', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='studio.meeting')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='IncidentAccount',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, primary_key=True, serialize=False)),
                ('start', models.UUIDField(db_index=True)),
                ('kind', models.CharField(choices=[('fall', 'a fall'), ('head', 'a head or a neck'), ('caught', 'a near miss: caught'), ('other', 'something else')], max_length=8)),
                ('day', models.DateField()),
                ('time', models.TimeField(null=True)),
                ('support', models.PositiveSmallIntegerField(choices=[(3, 'hands-on'), (2, 'light touch'), (1, 'standing by'), (0, 'unspotted')], null=True)),
                ('mats', models.CharField(max_length=200)),
                ('what', models.CharField(max_length=1000)),
                ('hurt', models.CharField(max_length=20)),
                ('first_aid', models.CharField(max_length=500)),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('child', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='studio.child')),
                ('drill', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='progression.drill')),
                ('surface', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='progression.surface')),
            ],
        ),
        migrations.CreateModel(
            name='IncidentAddition',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, primary_key=True, serialize=False)),
                ('text', models.CharField(max_length=1000)),
                ('at', models.DateTimeField()),
                ('account', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='additions', to='readiness.incidentaccount')),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.RunPython(install, remove),
    ]

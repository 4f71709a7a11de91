"""Knocks on the head, and what comes after them: symptoms, clearances, the steps given."""

import uuid

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from readiness.guards import GUARDED
from studio.db import append_only

TABLES = {
    f"readiness_{name}": () for name in ("headknock", "symptom", "clearance", "stepgiven")
}


def install(apps, schema_editor):
    append_only.install(schema_editor.connection, GUARDED)


def remove(apps, schema_editor):
    append_only.remove(schema_editor.connection, TABLES)


class Migration(migrations.Migration):

    dependencies = [
        ('readiness', '0014_hall_reports'),
        ('studio', '0028_paper_undone'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='HeadKnock',
            fields=[
                ('id', models.UUIDField(primary_key=True, serialize=False)),
                ('day', models.DateField()),
                ('at', models.DateTimeField()),
                ('received_at', models.DateTimeField()),
                ('digest', models.CharField(max_length=64)),
                ('on', models.DateField(db_column='on_day')),
                ('elsewhere', models.BooleanField(default=False)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('child', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='studio.child')),
                ('meeting', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='studio.meeting')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Clearance',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, primary_key=True, serialize=False)),
                ('day', models.DateField()),
                ('at', models.DateTimeField()),
                ('on', models.DateField(db_column='on_day')),
                ('cleared_by', models.CharField(max_length=80)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('knock', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='readiness.headknock')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Symptom',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, primary_key=True, serialize=False)),
                ('day', models.DateField()),
                ('at', models.DateTimeField()),
                ('on', models.DateField(db_column='on_day')),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('knock', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='readiness.headknock')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='StepGiven',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, primary_key=True, serialize=False)),
                ('day', models.DateField()),
                ('at', models.DateTimeField()),
                ('step', models.PositiveSmallIntegerField()),
                ('said_by', models.CharField(max_length=80)),
                ('said_on', models.DateField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('knock', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='readiness.headknock')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('step__gte', 1), ('step__lte', 6)), name='one_of_six_steps')],
            },
        ),
        migrations.RunPython(install, remove),
    ]

"""The stations of an evening, as they were taken."""

import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models

from readiness.guards import GUARDED
from studio.db import append_only

TABLES = {"readiness_stationplan": (), "readiness_stationplace": ()}


def install(apps, schema_editor):
    append_only.install(schema_editor.connection, GUARDED)


def remove(apps, schema_editor):
    append_only.remove(schema_editor.connection, TABLES)


class Migration(migrations.Migration):

    dependencies = [
        ('progression', '0010_line_resolution'),
        ('readiness', '0028_hall_equipment'),
        ('studio', '0031_hall_questions'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='StationPlan',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('rotations', models.PositiveSmallIntegerField()),
                ('minutes', models.PositiveSmallIntegerField()),
                ('start', models.PositiveSmallIntegerField()),
                ('places', models.JSONField(default=dict)),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('meeting', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='studio.meeting')),
            ],
        ),
        migrations.CreateModel(
            name='StationPlace',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('rotation', models.PositiveSmallIntegerField()),
                ('station', models.CharField(max_length=50)),
                ('spotters', models.PositiveSmallIntegerField()),
                ('adult', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('child', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='studio.child')),
                ('drill', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='progression.drill')),
                ('plan', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='places_taken', to='readiness.stationplan')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(models.Q(('adult__isnull', False), ('child', None)), models.Q(('adult', None), ('child__isnull', False)), _connector='OR'), name='a_child_or_an_adult'), models.UniqueConstraint(fields=('plan', 'rotation', 'child'), name='child_once_there'), models.UniqueConstraint(fields=('plan', 'rotation', 'adult'), name='adult_once_there')],
            },
        ),
        migrations.RunPython(install, remove),
    ]

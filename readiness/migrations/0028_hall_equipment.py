"""How many of each thing a hall has."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from readiness.guards import GUARDED
from studio.db import append_only

TABLES = {"readiness_hallequipment": ()}


def install(apps, schema_editor):
    append_only.install(schema_editor.connection, GUARDED)


def remove(apps, schema_editor):
    append_only.remove(schema_editor.connection, TABLES)


class Migration(migrations.Migration):

    dependencies = [
        ('readiness', '0027_standing_reader'),
        ('studio', '0031_hall_questions'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='HallEquipment',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('thing', models.CharField(max_length=40)),
                ('count', models.PositiveSmallIntegerField()),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('hall', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='studio.location')),
            ],
            options={
                'indexes': [models.Index(fields=['hall', 'at'], name='equipment_of_hall')],
            },
        ),
        migrations.RunPython(install, remove),
    ]

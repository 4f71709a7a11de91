"""Letters that are prepared, printed several at a time, and kept as they were printed."""

import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models

from readiness.guards import GUARDED
from studio.db import append_only

TABLES = {"readiness_printedletter": (), "readiness_lettergiven": ()}


def install(apps, schema_editor):
    append_only.install(schema_editor.connection, GUARDED)


def remove(apps, schema_editor):
    append_only.remove(schema_editor.connection, TABLES)


class Migration(migrations.Migration):

    dependencies = [
        ('readiness', '0023_class_aims'),
        ('studio', '0029_family_on_staff'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='LetterRun',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.CreateModel(
            name='PrintedLetter',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('day', models.DateField()),
                ('file', models.BinaryField(null=True)),
                ('own', models.CharField(max_length=300, null=True)),
                ('digest', models.CharField(max_length=64)),
                ('text_digest', models.CharField(max_length=64)),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('child', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='studio.child')),
                ('read_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('replaces', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='readiness.printedletter')),
            ],
        ),
        migrations.CreateModel(
            name='LetterGiven',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('how', models.CharField(choices=[('handed', 'handed over'), ('posted', 'by post'), ('emailed', 'by e-mail, by hand')], max_length=10)),
                ('on', models.DateField(db_column='on_day')),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('letter', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='given', to='readiness.printedletter')),
            ],
        ),
        migrations.CreateModel(
            name='LetterDraft',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('own', models.CharField(blank=True, max_length=300)),
                ('held_back', models.CharField(blank=True, max_length=120)),
                ('review', models.BooleanField(default=False)),
                ('at', models.DateTimeField()),
                ('read_at', models.DateTimeField(null=True)),
                ('read_digest', models.CharField(blank=True, max_length=64)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('child', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='studio.child')),
                ('read_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('replaces', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='readiness.printedletter')),
            ],
        ),
        migrations.CreateModel(
            name='LetterInRun',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('place', models.PositiveIntegerField()),
                ('left_out', models.CharField(blank=True, max_length=500)),
                ('child', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='studio.child')),
                ('run', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='rows', to='readiness.letterrun')),
                ('letter', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='readiness.printedletter')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('run', 'place'), name='one_place_in_a_run')],
            },
        ),
        migrations.RunPython(install, remove),
    ]

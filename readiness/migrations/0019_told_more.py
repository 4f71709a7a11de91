"""Whom a family asked for, a child's "not tonight", private lessons and tumbling elsewhere."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from readiness.guards import GUARDED
from studio.db import append_only

TABLES = {f"readiness_{name}": () for name in ("askedfor", "nottonight", "elsewhere")}


def install(apps, schema_editor):
    append_only.install(schema_editor.connection, {table: GUARDED[table] for table in TABLES})


def remove(apps, schema_editor):
    append_only.remove(schema_editor.connection, TABLES)


class Migration(migrations.Migration):

    dependencies = [
        ('readiness', '0018_incidents'),
        ('studio', '0028_paper_undone'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='AskedFor',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('whom', models.CharField(max_length=80)),
                ('told', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='asked_for', to='readiness.told')),
            ],
        ),
        migrations.CreateModel(
            name='Elsewhere',
            fields=[
                ('id', models.UUIDField(primary_key=True, serialize=False)),
                ('day', models.DateField()),
                ('at', models.DateTimeField()),
                ('received_at', models.DateTimeField()),
                ('digest', models.CharField(max_length=64)),
                ('kind', models.CharField(choices=[('private', 'private lessons'), ('elsewhere', 'tumbles elsewhere too')], max_length=10)),
                ('ends', models.BooleanField(default=False)),
                ('said_by', models.CharField(default='', max_length=80)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('child', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='studio.child')),
                ('meeting', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='studio.meeting')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='NotTonight',
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
        migrations.RunPython(install, remove),
    ]

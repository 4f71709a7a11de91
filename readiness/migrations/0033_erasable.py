"""Somebody's own words about a child may be erased; a child that is to be erased waits for a second yes.

The guards are put back.
"""

import uuid

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

import studio.db.erasable
from readiness.guards import GUARDED
from studio.db import append_only


def install(apps, schema_editor):
    append_only.install(schema_editor.connection, GUARDED)


def remove(apps, schema_editor):
    append_only.remove(schema_editor.connection, GUARDED)


class Migration(migrations.Migration):

    dependencies = [
        ('readiness', '0032_attempt_angles'),
        ('studio', '0033_erasable'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AlterField(
            model_name='askedfor',
            name='whom',
            field=studio.db.erasable.ErasableChar(max_length=80),
        ),
        migrations.AlterField(
            model_name='clearance',
            name='cleared_by',
            field=studio.db.erasable.ErasableChar(max_length=80),
        ),
        migrations.AlterField(
            model_name='decision',
            name='reason',
            field=studio.db.erasable.ErasableChar(blank=True, max_length=500),
        ),
        migrations.AlterField(
            model_name='doornote',
            name='given_to',
            field=studio.db.erasable.ErasableChar(max_length=120),
        ),
        migrations.AlterField(
            model_name='doornote',
            name='words',
            field=studio.db.erasable.ErasableText(),
        ),
        migrations.AlterField(
            model_name='elsewhere',
            name='said_by',
            field=studio.db.erasable.ErasableChar(default='', max_length=80),
        ),
        migrations.AlterField(
            model_name='growing',
            name='said_by',
            field=studio.db.erasable.ErasableChar(default='', max_length=80),
        ),
        migrations.AlterField(
            model_name='incidentaccount',
            name='first_aid',
            field=studio.db.erasable.ErasableChar(max_length=500),
        ),
        migrations.AlterField(
            model_name='incidentaccount',
            name='mats',
            field=studio.db.erasable.ErasableChar(max_length=200),
        ),
        migrations.AlterField(
            model_name='incidentaccount',
            name='what',
            field=studio.db.erasable.ErasableChar(max_length=1000),
        ),
        migrations.AlterField(
            model_name='incidentaddition',
            name='text',
            field=studio.db.erasable.ErasableChar(max_length=1000),
        ),
        migrations.AlterField(
            model_name='pause',
            name='reason',
            field=studio.db.erasable.ErasableChar(max_length=300),
        ),
        migrations.AlterField(
            model_name='pauselift',
            name='reason',
            field=studio.db.erasable.ErasableChar(max_length=300),
        ),
        migrations.AlterField(
            model_name='placing',
            name='reason',
            field=studio.db.erasable.ErasableChar(max_length=500),
        ),
        migrations.AlterField(
            model_name='stepgiven',
            name='said_by',
            field=studio.db.erasable.ErasableChar(max_length=80),
        ),
        migrations.AlterField(
            model_name='told',
            name='whom',
            field=studio.db.erasable.ErasableChar(max_length=80),
        ),
        migrations.CreateModel(
            name='Erasure',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('at', models.DateTimeField()),
                ('answered_at', models.DateTimeField(null=True)),
                ('done', models.BooleanField(null=True)),
                ('answered_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('child', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='studio.child')),
            ],
            options={
                'constraints': [models.UniqueConstraint(condition=models.Q(('answered_at', None)), fields=('child',), name='one_erasure_waits')],
            },
        ),
        migrations.RunPython(install, remove),
    ]

"""Whose name was written down with an answer, and who of the staff is family, may be erased.

The guards are put back.
"""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

import studio.db.erasable
from studio.db import append_only
from studio.db.guards import GUARDED


def install(apps, schema_editor):
    append_only.install(schema_editor.connection, GUARDED)


def remove(apps, schema_editor):
    append_only.remove(schema_editor.connection, GUARDED)


class Migration(migrations.Migration):

    dependencies = [
        ('studio', '0032_pictures'),
    ]

    operations = [
        migrations.AlterField(
            model_name='familyonstaff',
            name='staff',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AlterField(
            model_name='spottingconsent',
            name='guardian',
            field=studio.db.erasable.ErasableChar(blank=True, max_length=120),
        ),
        migrations.AlterField(
            model_name='spottingconsent',
            name='seen_by',
            field=studio.db.erasable.ErasableChar(blank=True, max_length=120),
        ),
        migrations.AlterField(
            model_name='pictureconsent',
            name='guardian',
            field=studio.db.erasable.ErasableChar(blank=True, max_length=120),
        ),
        migrations.AlterField(
            model_name='pictureconsent',
            name='seen_by',
            field=studio.db.erasable.ErasableChar(blank=True, max_length=120),
        ),
        migrations.RunPython(install, remove),
    ]

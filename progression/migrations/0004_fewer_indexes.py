"""The indexes that the pages use, and no others: every turn pays for each.

SQLite builds the tables again for this: the guards are put back after it.
"""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from progression.log import guards


def install(apps, schema_editor):
    guards.install(schema_editor.connection)


def remove(apps, schema_editor):
    guards.remove(schema_editor.connection)


class Migration(migrations.Migration):

    dependencies = [
        ('progression', '0003_clock'),
        ('studio', '0002_tablets'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RunPython(remove, install),
        migrations.RemoveIndex(
            model_name='attempt',
            name='attempt_tally',
        ),
        migrations.RemoveIndex(
            model_name='attempt',
            name='attempt_meeting',
        ),
        migrations.AlterField(
            model_name='attempt',
            name='author',
            field=models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AlterField(
            model_name='attempt',
            name='child',
            field=models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='attempts', to='studio.child'),
        ),
        migrations.AlterField(
            model_name='attempt',
            name='drill',
            field=models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='progression.drill'),
        ),
        migrations.AlterField(
            model_name='attempt',
            name='meeting',
            field=models.ForeignKey(db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='studio.meeting'),
        ),
        migrations.AlterField(
            model_name='attempt',
            name='sender',
            field=models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AlterField(
            model_name='attempt',
            name='surface',
            field=models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='progression.surface'),
        ),
        migrations.AlterField(
            model_name='lineaside',
            name='line_id',
            field=models.CharField(max_length=60),
        ),
        migrations.AlterField(
            model_name='strike',
            name='by',
            field=models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddIndex(
            model_name='attempt',
            index=models.Index(fields=['child', 'day', 'drill'], name='attempt_child_day'),
        ),
        migrations.RunPython(install, remove),
    ]

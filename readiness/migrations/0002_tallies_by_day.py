"""The indexes that the pages use, and no others: every turn pays for each."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('progression', '0004_fewer_indexes'),
        ('readiness', '0001_initial'),
        ('studio', '0002_tablets'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='faulttally',
            name='fault_tally_once',
        ),
        migrations.RemoveIndex(
            model_name='daytally',
            name='readiness_d_day_4dce03_idx',
        ),
        migrations.AlterField(
            model_name='daytally',
            name='author',
            field=models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AlterField(
            model_name='daytally',
            name='child',
            field=models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name='tallies', to='studio.child'),
        ),
        migrations.AlterField(
            model_name='daytally',
            name='surface',
            field=models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='progression.surface'),
        ),
        migrations.AlterField(
            model_name='decision',
            name='child',
            field=models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='decisions', to='studio.child'),
        ),
        migrations.AlterField(
            model_name='faulttally',
            name='child',
            field=models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name='fault_tallies', to='studio.child'),
        ),
        migrations.AlterField(
            model_name='faulttally',
            name='drill',
            field=models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='progression.drill'),
        ),
        migrations.AddIndex(
            model_name='daytally',
            index=models.Index(fields=['child', 'day'], name='tally_child_day'),
        ),
        migrations.AddConstraint(
            model_name='faulttally',
            constraint=models.UniqueConstraint(fields=('child', 'day', 'drill', 'fault'), name='fault_tally_once'),
        ),
    ]

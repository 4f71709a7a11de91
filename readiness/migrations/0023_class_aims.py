"""For which stages classes are meant, and their places."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('readiness', '0022_hour_children'),
        ('studio', '0028_paper_undone'),
    ]

    operations = [
        migrations.CreateModel(
            name='ClassAim',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('lowest', models.PositiveSmallIntegerField()),
                ('highest', models.PositiveSmallIntegerField()),
                ('places', models.PositiveSmallIntegerField()),
                ('group', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='studio.classgroup')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('lowest__lte', models.F('highest'))), name='aim_from_lowest_to_highest')],
            },
        ),
    ]

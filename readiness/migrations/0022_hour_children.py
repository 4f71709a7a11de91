"""Evidence hours: which children, at which drill, before which two graders."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from readiness.guards import GUARDED
from studio.db import append_only


def install(apps, schema_editor):
    append_only.install(schema_editor.connection, GUARDED)


def remove(apps, schema_editor):
    append_only.remove(schema_editor.connection, {"readiness_hourchild": ()})


class Migration(migrations.Migration):

    dependencies = [
        ('progression', '0010_line_resolution'),
        ('readiness', '0021_spotters'),
        ('studio', '0028_paper_undone'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='HourChild',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('support', models.PositiveSmallIntegerField(choices=[(3, 'hands-on'), (2, 'light touch'), (1, 'standing by'), (0, 'unspotted')])),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('child', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='studio.child')),
                ('drill', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='progression.drill')),
                ('first', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('meeting', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='studio.meeting')),
                ('second', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('surface', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='progression.surface')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('meeting', 'child'), name='once_in_an_hour'), models.CheckConstraint(condition=models.Q(('first', models.F('second')), _negated=True), name='two_graders')],
            },
        ),
        migrations.RunPython(install, remove),
    ]

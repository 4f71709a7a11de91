"""Who is trained to spot what, how old a spotter is at least, how many children to an adult."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from readiness.guards import GUARDED
from studio.db import append_only

TABLES = {
    f"readiness_{name}": () for name in ("spottertraining", "youngestspotter", "roomnumbers")
}


def install(apps, schema_editor):
    append_only.install(schema_editor.connection, GUARDED)


def remove(apps, schema_editor):
    append_only.remove(schema_editor.connection, TABLES)


class Migration(migrations.Migration):

    dependencies = [
        ('progression', '0010_line_resolution'),
        ('readiness', '0020_show'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='SpotterTraining',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('trained_by', models.CharField(max_length=80)),
                ('until', models.DateField()),
                ('age', models.PositiveSmallIntegerField()),
                ('day', models.DateField()),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('drill', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='progression.drill')),
                ('staff', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='spotter_trainings', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.CreateModel(
            name='YoungestSpotter',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('years', models.PositiveSmallIntegerField()),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('drill', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='progression.drill')),
            ],
        ),
        migrations.CreateModel(
            name='RoomNumbers',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('usual', models.PositiveSmallIntegerField()),
                ('handsprings', models.PositiveSmallIntegerField()),
                ('small', models.PositiveSmallIntegerField()),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('handsprings__gte', 1), ('small__gte', 1), ('usual__gte', 1)), name='one_child_at_least_to_an_adult')],
            },
        ),
        migrations.RunPython(install, remove),
    ]

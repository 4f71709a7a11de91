"""Drawn figures to grade, and second grades of turns."""

import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models

from readiness.guards import GUARDED
from studio.db import append_only

TABLES = ("readiness_twelve", "readiness_twelveanswers", "readiness_secondgrade")


def install(apps, schema_editor):
    append_only.install(schema_editor.connection, {each: GUARDED[each] for each in TABLES})


def remove(apps, schema_editor):
    append_only.remove(schema_editor.connection, dict.fromkeys(TABLES, ()))


class Migration(migrations.Migration):

    dependencies = [
        ('progression', '0010_line_resolution'),
        ('readiness', '0030_rotations'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Twelve',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('rubric', models.CharField(max_length=40)),
                ('seed', models.PositiveBigIntegerField()),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('ladder', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='progression.ladderversion')),
            ],
        ),
        migrations.CreateModel(
            name='TwelveAnswers',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('grades', models.JSONField()),
                ('at', models.DateTimeField()),
                ('twelve', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='answers', to='readiness.twelve')),
            ],
        ),
        migrations.CreateModel(
            name='SecondGrade',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('value', models.PositiveSmallIntegerField()),
                ('at', models.DateTimeField()),
                ('attempt', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='second_grades', to='progression.attempt')),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('attempt', 'by'), name='one_second_grade_each'), models.CheckConstraint(condition=models.Q(('value__lte', 3)), name='second_grade_0_to_3')],
            },
        ),
        migrations.RunPython(install, remove),
    ]

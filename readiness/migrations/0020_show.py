"""The show list: shows, their numbers, who stands in the wings, run-throughs, what was decided."""

import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models

from readiness.guards import GUARDED
from studio.db import append_only

TABLES = {
    f"readiness_{name}": ()
    for name in ("show", "shownumber", "wings", "runthrough", "showentry")
}


def install(apps, schema_editor):
    append_only.install(schema_editor.connection, GUARDED)


def remove(apps, schema_editor):
    append_only.remove(schema_editor.connection, TABLES)


class Migration(migrations.Migration):

    dependencies = [
        ('progression', '0010_line_resolution'),
        ('readiness', '0019_told_more'),
        ('studio', '0028_paper_undone'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Show',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('name', models.CharField(max_length=80)),
                ('on', models.DateField(db_column='on_day')),
                ('shoes', models.CharField(max_length=80)),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('location', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='studio.location')),
                ('surface', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='progression.surface')),
            ],
        ),
        migrations.CreateModel(
            name='ShowNumber',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('name', models.CharField(max_length=80)),
                ('easy', models.CharField(max_length=400)),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('drill', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='progression.drill')),
                ('group', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='studio.classgroup')),
                ('show', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='numbers', to='readiness.show')),
            ],
        ),
        migrations.CreateModel(
            name='RunThrough',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('day', models.DateField()),
                ('ended_at', models.DateTimeField()),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('number', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='run_throughs', to='readiness.shownumber')),
            ],
        ),
        migrations.CreateModel(
            name='Wings',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField()),
                ('adult', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('number', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='wings', to='readiness.shownumber')),
            ],
        ),
        migrations.CreateModel(
            name='ShowEntry',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('kind', models.CharField(choices=[('easy', 'easy version'), ('beside', 'somebody beside'), ('recommend', 'recommended'), ('yes', 'signed'), ('first-turn', 'first turn there, with a coach beside'), ('own-yes', 'the child’s own yes')], max_length=10)),
                ('at', models.DateTimeField()),
                ('day', models.DateField()),
                ('answers', models.OneToOneField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='answer', to='readiness.showentry')),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('child', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='studio.child')),
                ('number', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='entries', to='readiness.shownumber')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(models.Q(('kind', 'yes'), _negated=True), ('answers__isnull', False), _connector='OR'), name='show_yes_answers_a_recommendation')],
            },
        ),
        migrations.RunPython(install, remove),
    ]

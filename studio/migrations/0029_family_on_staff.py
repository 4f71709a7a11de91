"""Who of the staff is family of a child."""

import uuid

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from studio.db import append_only
from studio.db.guards import GUARDED


def install(apps, schema_editor):
    append_only.install(schema_editor.connection, GUARDED)


def remove(apps, schema_editor):
    append_only.remove(schema_editor.connection, ["studio_familyonstaff"])


class Migration(migrations.Migration):

    dependencies = [
        ('studio', '0028_paper_undone'),
    ]

    operations = [
        migrations.CreateModel(
            name='FamilyOnStaff',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('at', models.DateTimeField()),
                ('ended_at', models.DateTimeField(null=True)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('child', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='studio.child')),
                ('ended_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('staff', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'constraints': [models.UniqueConstraint(condition=models.Q(('ended_at', None)), fields=('staff', 'child'), name='family_once')],
            },
        ),
        migrations.RunPython(install, remove),
    ]

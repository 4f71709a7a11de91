"""Pictures from the side: on or off in a hall, and each family's answer."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from studio.db import append_only
from studio.db.guards import GUARDED

TABLES = ["studio_pictureconsent", "studio_hallpictures"]


def install(apps, schema_editor):
    append_only.install(schema_editor.connection, GUARDED)


def remove(apps, schema_editor):
    append_only.remove(schema_editor.connection, TABLES)


class Migration(migrations.Migration):

    dependencies = [
        ('studio', '0031_hall_questions'),
    ]

    operations = [
        migrations.CreateModel(
            name='HallPictures',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('is_on', models.BooleanField()),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('hall', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='pictures', to='studio.location')),
            ],
        ),
        migrations.CreateModel(
            name='PictureConsent',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('guardian', models.CharField(blank=True, max_length=120)),
                ('yes', models.BooleanField()),
                ('day', models.DateField()),
                ('asked_again_on', models.DateField()),
                ('seen_by', models.CharField(blank=True, max_length=120)),
                ('seen_on', models.DateField()),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('child', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='picture_consents', to='studio.child')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.RunPython(install, remove),
    ]

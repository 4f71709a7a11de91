"""What families were told: one table, about what; and that a class is over."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from readiness.guards import GUARDED
from studio.db import append_only

BEFORE = {"readiness_familytold": ()}


def lift(apps, schema_editor):
    append_only.remove(schema_editor.connection, BEFORE)


def install(apps, schema_editor):
    append_only.install(schema_editor.connection, GUARDED)


def install_before(apps, schema_editor):
    append_only.install(schema_editor.connection, BEFORE)


def remove(apps, schema_editor):
    append_only.remove(schema_editor.connection, {"readiness_told": (), "readiness_classover": ()})


class Migration(migrations.Migration):
    dependencies = [
        ("readiness", "0011_append_only"),
        ("studio", "0023_class_dates"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]
    operations = [
        migrations.RunPython(lift, install_before),
        migrations.RenameModel("FamilyTold", "Told"),
        migrations.RenameField("Told", "what", "about"),
        migrations.CreateModel(
            name="ClassOver",
            fields=[
                ("id", models.UUIDField(primary_key=True, serialize=False)),
                ("at", models.DateTimeField()),
                ("received_at", models.DateTimeField()),
                ("digest", models.CharField(max_length=64)),
                ("by", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL)),
                ("meeting", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="studio.meeting")),
            ],
        ),
        migrations.RunPython(install, remove),
    ]

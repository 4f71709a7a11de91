"""What was said of the hall at a class: the spotter gone or back, mats looked at, broken or mended."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from readiness.guards import GUARDED
from studio.db import append_only

KINDS = [
    ("spotter-gone", "spotter gone"),
    ("spotter-back", "spotter is back"),
    ("mats-looked-at", "mats looked at"),
    ("mat-broken", "mat broken"),
    ("mat-mended", "mat mended"),
]


def install(apps, schema_editor):
    append_only.install(schema_editor.connection, GUARDED)


def remove(apps, schema_editor):
    append_only.remove(schema_editor.connection, {"readiness_hallreport": ()})


class Migration(migrations.Migration):
    dependencies = [
        ("readiness", "0013_notes"),
        ("studio", "0025_meeting_alerts"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]
    operations = [
        migrations.CreateModel(
            name="HallReport",
            fields=[
                ("id", models.UUIDField(primary_key=True, serialize=False)),
                ("kind", models.CharField(choices=KINDS, max_length=16)),
                ("surface", models.CharField(default="", max_length=40)),
                ("at", models.DateTimeField()),
                ("received_at", models.DateTimeField()),
                ("digest", models.CharField(max_length=64)),
                ("by", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL)),
                ("meeting", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="studio.meeting")),
            ],
        ),
        migrations.RunPython(install, remove),
    ]

"""What was told to parents becomes what was told to families: of anything, and whom."""

import uuid

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


def carry_over(apps, schema_editor):
    """Until now it was a parent, told by whoever wrote the pain down."""
    alias = schema_editor.connection.alias
    told = apps.get_model("readiness", "ParentTold").objects.using(alias).select_related("pain")
    rows = []
    for each in told.order_by("pk").iterator():
        pain = each.pain
        about = {"child_id": pain.child_id, "meeting_id": pain.meeting_id, "day": pain.day}
        about |= {"at": each.at, "received_at": each.at, "by_id": each.by_id}
        id_ = uuid.uuid5(pain.pk, "told")
        rows.append({"id": id_, "what": pain.place, "whom": "guardian-here", "digest": ""} | about)
    family = apps.get_model("readiness", "FamilyTold")
    family.objects.using(alias).bulk_create([family(**row) for row in rows], batch_size=500)


class Migration(migrations.Migration):

    dependencies = [
        ("readiness", "0007_pain_gone"),
        ("studio", "0005_consent_boolean_dropped"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="FamilyTold",
            fields=[
                ("id", models.UUIDField(primary_key=True, serialize=False)),
                ("day", models.DateField()),
                ("at", models.DateTimeField()),
                ("received_at", models.DateTimeField()),
                ("digest", models.CharField(max_length=64)),
                ("what", models.CharField(max_length=20)),
                ("whom", models.CharField(max_length=80)),
                ("by", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL)),
                ("child", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="studio.child")),
                ("meeting", models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="studio.meeting")),
            ],
            options={"abstract": False},
        ),
        migrations.RunPython(carry_over, migrations.RunPython.noop),
        migrations.DeleteModel(name="ParentTold"),
    ]

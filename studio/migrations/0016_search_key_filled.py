"""The children who are here already get their key."""

from django.db import migrations


def fill(apps, schema_editor):
    Child = apps.get_model("studio", "Child")
    for child in Child.objects.iterator():
        # The field makes it.
        child.save(update_fields=["search_key"])


class Migration(migrations.Migration):
    dependencies = [("studio", "0015_search_key")]
    operations = [migrations.RunPython(fill, migrations.RunPython.noop)]

from django.db import migrations


def read_again(apps, schema_editor):
    """A checkpoint knows more now than an earlier release has stored of it."""
    standings = apps.get_model("readiness", "Standing").objects
    standings.using(schema_editor.connection.alias).update(stale=True, start=None, start_on=None, pack="")


class Migration(migrations.Migration):
    dependencies = [("readiness", "0005_list_columns")]

    operations = [migrations.RunPython(read_again, migrations.RunPython.noop)]

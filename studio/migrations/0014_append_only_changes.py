"""What was done to accounts and class lists is only added to, by the database itself."""

from django.db import migrations

from studio.db import append_only
from studio.db.guards import GUARDED


def install(apps, schema_editor):
    append_only.install(schema_editor.connection, GUARDED)


class Migration(migrations.Migration):
    dependencies = [("studio", "0013_meeting_ids")]
    operations = [migrations.RunPython(install, migrations.RunPython.noop)]

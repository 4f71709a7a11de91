from django.db import migrations

from progression.log.guards import LADDER
from studio.db import append_only


def install(apps, schema_editor):
    append_only.install(schema_editor.connection, LADDER)


def remove(apps, schema_editor):
    append_only.remove(schema_editor.connection, LADDER)


class Migration(migrations.Migration):

    dependencies = [
        ('progression', '0008_proof'),
    ]

    operations = [
        migrations.RunPython(install, remove),
    ]

"""When a signer saw the child do it; a stage is closed, or stays, by a decision of its own kind."""

from django.db import migrations, models

from readiness.guards import GUARDED
from studio.db import append_only


def install(apps, schema_editor):
    append_only.install(schema_editor.connection, GUARDED)


class Migration(migrations.Migration):

    dependencies = [
        ('readiness', '0016_looks'),
    ]

    operations = [
        # SQLite takes a column away by making the table again, without its guards.
        migrations.RunPython(migrations.RunPython.noop, install),
        migrations.AddField(
            model_name='decision',
            name='seen_on',
            field=models.DateField(null=True),
        ),
        migrations.AlterField(
            model_name='decision',
            name='kind',
            field=models.CharField(choices=[('recommend', 'recommended'), ('sign', 'signed'), ('send-back', 'sent back'), ('close', 'closed'), ('stays', 'stays as signed'), ('exception', 'exception written'), ('step', 'less support given')], max_length=12),
        ),
        migrations.RunPython(install, migrations.RunPython.noop),
    ]

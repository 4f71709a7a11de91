"""The audit log."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from studio.db import append_only
from studio.db.guards import GUARDED


def install(apps, schema_editor):
    append_only.install(schema_editor.connection, GUARDED)


def remove(apps, schema_editor):
    append_only.remove(schema_editor.connection, ["studio_auditentry"])


class Migration(migrations.Migration):

    dependencies = [
        ('studio', '0033_erasable'),
    ]

    operations = [
        migrations.CreateModel(
            name='AuditEntry',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField()),
                ('kind', models.CharField(choices=[('decision', 'decision'), ('strike', 'turn taken back'), ('merge', 'records merged or parted'), ('export', 'record given out'), ('erasure', 'erasing a child'), ('account', 'account'), ('sign-in', 'sign-in')], max_length=10)),
                ('about', models.UUIDField(db_index=True, null=True)),
                ('payload', models.TextField(null=True)),
                ('salt', models.CharField(max_length=64, null=True)),
                ('commitment', models.CharField(max_length=64)),
                ('place', models.PositiveBigIntegerField(null=True, unique=True)),
                ('digest', models.CharField(max_length=64, null=True)),
                ('by', models.ForeignKey(db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'indexes': [models.Index(fields=['kind', 'at'], name='audit_kind_at'), models.Index(fields=['at'], name='audit_at')],
            },
        ),
        migrations.RunPython(install, remove),
    ]

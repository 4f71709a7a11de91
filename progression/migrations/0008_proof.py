"""What proves whose turn it is, and confirmations that come after it."""

import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models

from progression.log import guards


def install(apps, schema_editor):
    guards.install(schema_editor.connection)


class Migration(migrations.Migration):

    dependencies = [
        ('progression', '0007_ladder_proposal'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AlterField(
            model_name='attempt',
            name='source',
            field=models.CharField(choices=[('floor', 'floor'), ('paper', 'paper log'), ('file', 'tablet’s file')], max_length=8),
        ),
        migrations.CreateModel(
            name='SigningKey',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('public_key', models.CharField(max_length=200)),
                ('enrolled_at', models.DateTimeField()),
                ('ended_at', models.DateTimeField(null=True)),
                ('staff', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.CreateModel(
            name='Confirmation',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField()),
                ('completes', models.BooleanField()),
                ('attempt', models.ForeignKey(db_constraint=False, db_index=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='confirmations', to='progression.attempt')),
                ('by', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('attempt', 'by'), name='confirmation_once')],
            },
        ),
        migrations.CreateModel(
            name='AttemptProof',
            fields=[
                ('attempt', models.OneToOneField(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, primary_key=True, related_name='proof', serialize=False, to='progression.attempt')),
                ('kind', models.CharField(choices=[('session', 'sent by the author'), ('key', "signed with the author's key"), ('token', "with the token of the author's pack"), ('none', 'none')], max_length=8)),
                ('awaits', models.CharField(blank=True, choices=[('', 'nobody'), ('author', 'the author'), ('director', 'a director'), ('both', 'the author and a director')], max_length=8)),
                ('signature', models.CharField(blank=True, max_length=100)),
                ('key', models.ForeignKey(db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='progression.signingkey')),
            ],
            options={
                'indexes': [models.Index(condition=models.Q(('awaits', ''), _negated=True), fields=['awaits'], name='proof_awaits')],
            },
        ),
        migrations.RunPython(install, migrations.RunPython.noop),
    ]

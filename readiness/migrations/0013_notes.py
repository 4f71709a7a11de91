"""Notes on what was seen, and the studio's list of ready ones."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('readiness', '0012_told'),
        ('studio', '0023_class_dates'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='ReadyNote',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('text', models.CharField(max_length=60)),
            ],
        ),
        migrations.CreateModel(
            name='Note',
            fields=[
                ('id', models.UUIDField(primary_key=True, serialize=False)),
                ('turn', models.UUIDField(null=True)),
                ('text', models.CharField(max_length=200)),
                ('day', models.DateField(db_index=True)),
                ('received_at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('child', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='studio.child')),
                ('meeting', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='studio.meeting')),
            ],
        ),
    ]

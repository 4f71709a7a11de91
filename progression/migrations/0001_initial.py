from django.conf import settings
from django.db import migrations, models
import django.db.models.deletion
import uuid

class Migration(migrations.Migration):

    initial = True

    dependencies = [
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Attempt',
            fields=[
                ('id', models.UUIDField(primary_key=True, serialize=False)),
                ('day', models.DateField()),
                ('done_at', models.DateTimeField()),
                ('support', models.PositiveSmallIntegerField(choices=[(3, 'hands-on'), (2, 'light touch'), (1, 'standing by'), (0, 'unspotted')])),
                ('caught', models.BooleanField(default=False)),
                ('clean', models.BooleanField(null=True)),
                ('value', models.FloatField(null=True)),
                ('faults', models.JSONField(default=list)),
                ('graded', models.BooleanField()),
                ('flags', models.JSONField(default=list)),
                ('less_reason', models.CharField(blank=True, max_length=20)),
                ('source', models.CharField(choices=[('floor', 'floor'), ('paper', 'paper log')], max_length=8)),
                ('device', models.CharField(blank=True, max_length=60)),
                ('device_time', models.DateTimeField(null=True)),
                ('received_at', models.DateTimeField()),
                ('note', models.CharField(blank=True, max_length=500)),
                ('schema', models.PositiveSmallIntegerField(default=1)),
                ('digest', models.CharField(max_length=64)),
            ],
        ),
        migrations.CreateModel(
            name='Drill',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.SlugField(max_length=40, unique=True)),
            ],
        ),
        migrations.CreateModel(
            name='LadderVersion',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('number', models.PositiveIntegerField(unique=True)),
                ('content', models.JSONField()),
                ('digest', models.CharField(max_length=64)),
                ('from_day', models.DateField()),
                ('loaded_at', models.DateTimeField()),
                ('reason', models.CharField(blank=True, max_length=300)),
            ],
        ),
        migrations.CreateModel(
            name='LineAside',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('line_id', models.CharField(db_index=True, max_length=60)),
                ('device', models.CharField(blank=True, max_length=60)),
                ('received_at', models.DateTimeField()),
                ('answer', models.CharField(max_length=10)),
                ('code', models.CharField(max_length=40)),
                ('body', models.TextField()),
                ('digest', models.CharField(max_length=64)),
            ],
        ),
        migrations.CreateModel(
            name='Strike',
            fields=[
                ('id', models.UUIDField(primary_key=True, serialize=False)),
                ('attempt_id', models.UUIDField(unique=True)),
                ('code', models.CharField(max_length=30)),
                ('at', models.DateTimeField()),
                ('received_at', models.DateTimeField()),
                ('digest', models.CharField(max_length=64)),
            ],
        ),
        migrations.CreateModel(
            name='Surface',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.SlugField(max_length=40, unique=True)),
            ],
        ),
        migrations.AddField(
            model_name='attempt',
            name='author',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='attempt',
            name='child',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='attempts', to='studio.child'),
        ),
        migrations.AddField(
            model_name='attempt',
            name='meeting',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='studio.meeting'),
        ),
        migrations.AddField(
            model_name='attempt',
            name='sender',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='attempt',
            name='drill',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='progression.drill'),
        ),
        migrations.AddField(
            model_name='ladderversion',
            name='loaded_by',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='lineaside',
            name='meeting',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='studio.meeting'),
        ),
        migrations.AddField(
            model_name='lineaside',
            name='sender',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='strike',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='attempt',
            name='surface',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='progression.surface'),
        ),
        migrations.AddConstraint(
            model_name='lineaside',
            constraint=models.UniqueConstraint(fields=('line_id', 'digest'), name='aside_once'),
        ),
        migrations.AddIndex(
            model_name='attempt',
            index=models.Index(fields=['child', 'drill', 'day'], name='attempt_tally'),
        ),
        migrations.AddIndex(
            model_name='attempt',
            index=models.Index(fields=['meeting'], name='attempt_meeting'),
        ),
        migrations.AddConstraint(
            model_name='attempt',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('clean__isnull', False), ('value__isnull', True)), models.Q(('clean__isnull', True), ('value__isnull', False)), _connector='OR'), name='attempt_outcome_or_value'),
        ),
        migrations.AddConstraint(
            model_name='attempt',
            constraint=models.CheckConstraint(condition=models.Q(('support__lte', 3)), name='attempt_support_known'),
        ),
        migrations.AddConstraint(
            model_name='attempt',
            constraint=models.CheckConstraint(condition=models.Q(('caught', False), models.Q(('clean', True), _negated=True), _connector='OR'), name='attempt_caught_not_clean'),
        ),
    ]

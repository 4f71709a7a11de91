from django.conf import settings
from django.db import migrations, models
import django.db.models.deletion
import uuid

class Migration(migrations.Migration):

    initial = True

    dependencies = [
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
        ('progression', '0002_append_only'),
        ('studio', '0001_initial'),
    ]

    operations = [
        migrations.CreateModel(
            name='DayTally',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('support', models.PositiveSmallIntegerField(choices=[(3, 'hands-on'), (2, 'light touch'), (1, 'standing by'), (0, 'unspotted')])),
                ('day', models.DateField()),
                ('turns', models.PositiveIntegerField()),
                ('clean', models.PositiveIntegerField()),
                ('graded', models.PositiveIntegerField()),
                ('graded_clean', models.PositiveIntegerField()),
                ('best', models.FloatField(null=True)),
                ('best_graded', models.FloatField(null=True)),
                ('second_graded', models.FloatField(null=True)),
                ('total', models.FloatField(default=0)),
                ('stop_signs', models.PositiveIntegerField()),
                ('first_at', models.DateTimeField()),
                ('first_id', models.UUIDField()),
                ('first_clean', models.BooleanField(null=True)),
                ('first_graded', models.BooleanField()),
            ],
        ),
        migrations.CreateModel(
            name='Decision',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('kind', models.CharField(choices=[('recommend', 'recommended'), ('sign', 'signed'), ('send-back', 'sent back'), ('exception', 'exception written'), ('step', 'less support given')], max_length=12)),
                ('stage', models.CharField(max_length=60)),
                ('support', models.PositiveSmallIntegerField(choices=[(3, 'hands-on'), (2, 'light touch'), (1, 'standing by'), (0, 'unspotted')], null=True)),
                ('as_director', models.BooleanField()),
                ('at', models.DateTimeField()),
                ('day', models.DateField()),
                ('reason', models.CharField(blank=True, max_length=500)),
                ('reading', models.JSONField()),
                ('digest', models.CharField(max_length=64)),
            ],
        ),
        migrations.CreateModel(
            name='FaultTally',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('day', models.DateField()),
                ('fault', models.CharField(max_length=40)),
                ('count', models.PositiveIntegerField()),
            ],
        ),
        migrations.CreateModel(
            name='Pain',
            fields=[
                ('id', models.UUIDField(primary_key=True, serialize=False)),
                ('place', models.CharField(max_length=20)),
                ('day', models.DateField()),
                ('at', models.DateTimeField()),
                ('received_at', models.DateTimeField()),
                ('digest', models.CharField(max_length=64)),
            ],
        ),
        migrations.CreateModel(
            name='ParentTold',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField()),
            ],
        ),
        migrations.CreateModel(
            name='Pause',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('reason', models.CharField(max_length=300)),
                ('at', models.DateTimeField()),
                ('day', models.DateField()),
            ],
        ),
        migrations.CreateModel(
            name='PauseLift',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('reason', models.CharField(max_length=300)),
                ('at', models.DateTimeField()),
                ('day', models.DateField()),
            ],
        ),
        migrations.CreateModel(
            name='Placing',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('stage', models.PositiveSmallIntegerField()),
                ('reason', models.CharField(max_length=500)),
                ('at', models.DateTimeField()),
                ('day', models.DateField()),
            ],
        ),
        migrations.CreateModel(
            name='Standing',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('read_on', models.DateField()),
                ('reading', models.JSONField()),
                ('digest', models.CharField(max_length=64)),
            ],
        ),
        migrations.AddField(
            model_name='daytally',
            name='author',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='daytally',
            name='child',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='tallies', to='studio.child'),
        ),
        migrations.AddField(
            model_name='daytally',
            name='drill',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='progression.drill'),
        ),
        migrations.AddField(
            model_name='daytally',
            name='surface',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='progression.surface'),
        ),
        migrations.AddField(
            model_name='decision',
            name='answers',
            field=models.OneToOneField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='answer', to='readiness.decision'),
        ),
        migrations.AddField(
            model_name='decision',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='decision',
            name='child',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='decisions', to='studio.child'),
        ),
        migrations.AddField(
            model_name='decision',
            name='drill',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='progression.drill'),
        ),
        migrations.AddField(
            model_name='decision',
            name='ladder',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='progression.ladderversion'),
        ),
        migrations.AddField(
            model_name='decision',
            name='surface',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='progression.surface'),
        ),
        migrations.AddField(
            model_name='faulttally',
            name='child',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='fault_tallies', to='studio.child'),
        ),
        migrations.AddField(
            model_name='faulttally',
            name='drill',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='progression.drill'),
        ),
        migrations.AddField(
            model_name='pain',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='pain',
            name='child',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='pains', to='studio.child'),
        ),
        migrations.AddField(
            model_name='pain',
            name='meeting',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='studio.meeting'),
        ),
        migrations.AddField(
            model_name='parenttold',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='parenttold',
            name='pain',
            field=models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='told', to='readiness.pain'),
        ),
        migrations.AddField(
            model_name='pause',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='pause',
            name='child',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='pauses', to='studio.child'),
        ),
        migrations.AddField(
            model_name='pauselift',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='pauselift',
            name='child',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='pause_lifts', to='studio.child'),
        ),
        migrations.AddField(
            model_name='placing',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='placing',
            name='child',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='placings', to='studio.child'),
        ),
        migrations.AddField(
            model_name='placing',
            name='ladder',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='progression.ladderversion'),
        ),
        migrations.AddField(
            model_name='placing',
            name='surface',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='progression.surface'),
        ),
        migrations.AddField(
            model_name='standing',
            name='child',
            field=models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='standing', to='studio.child'),
        ),
        migrations.AddField(
            model_name='standing',
            name='ladder',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='progression.ladderversion'),
        ),
        migrations.AddIndex(
            model_name='daytally',
            index=models.Index(fields=['day'], name='readiness_d_day_4dce03_idx'),
        ),
        migrations.AddConstraint(
            model_name='daytally',
            constraint=models.UniqueConstraint(fields=('child', 'drill', 'day', 'surface', 'support', 'author'), name='tally_once'),
        ),
        migrations.AddIndex(
            model_name='decision',
            index=models.Index(fields=['child', 'day'], name='decision_child_day'),
        ),
        migrations.AddConstraint(
            model_name='decision',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('kind', 'sign'), _negated=True), models.Q(('answers__isnull', False), ('surface__isnull', False)), _connector='OR'), name='signature_answers_a_recommendation'),
        ),
        migrations.AddConstraint(
            model_name='decision',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['recommend', 'sign', 'step']), models.Q(('reason', ''), _negated=True), _connector='OR'), name='sending_back_has_a_reason'),
        ),
        migrations.AddConstraint(
            model_name='faulttally',
            constraint=models.UniqueConstraint(fields=('child', 'drill', 'day', 'fault'), name='fault_tally_once'),
        ),
        migrations.AddConstraint(
            model_name='placing',
            constraint=models.CheckConstraint(condition=models.Q(('stage__gte', 1), ('stage__lte', 7)), name='placed_at_seven_at_most'),
        ),
        migrations.AddConstraint(
            model_name='placing',
            constraint=models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='placing_has_a_reason'),
        ),
    ]

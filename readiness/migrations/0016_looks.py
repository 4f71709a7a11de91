"""When somebody last looked at the evidence; what lists show tells every stage that waits."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


def read_again(apps, schema_editor):
    standings = apps.get_model("readiness", "Standing").objects
    standings.using(schema_editor.connection.alias).update(stale=True)


class Migration(migrations.Migration):

    dependencies = [
        ('readiness', '0015_head_knocks'),
        ('studio', '0028_paper_undone'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Look',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField()),
                ('child', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name='+', to='studio.child')),
                ('staff', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('child', 'staff'), name='one_look_each')],
            },
        ),
        migrations.RunPython(read_again, migrations.RunPython.noop),
    ]

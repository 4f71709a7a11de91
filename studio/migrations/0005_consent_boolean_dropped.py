from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("studio", "0004_consents_carried_over")]

    operations = [
        migrations.RemoveField(model_name="child", name="consent_to_spotting"),
    ]

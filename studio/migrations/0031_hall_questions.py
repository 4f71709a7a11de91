from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("studio", "0030_hall_phone"),
    ]

    operations = [
        migrations.AddField(
            model_name="location",
            name="questions",
            field=models.CharField(blank=True, max_length=120),
        ),
    ]

"""LineAside is called RejectedLine. Its table keeps its name and nothing in it is touched."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("progression", "0004_fewer_indexes")]

    operations = [
        migrations.AlterModelTable(name="LineAside", table="progression_lineaside"),
        migrations.RenameModel(old_name="LineAside", new_name="RejectedLine"),
    ]

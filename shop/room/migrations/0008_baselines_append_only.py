from django.db import migrations

from shop.appendonly import append_only


class Migration(migrations.Migration):
    dependencies = [("room", "0007_vacuum_line")]

    operations = [
        append_only("room_linebaseline", "A baseline"),
    ]

from django.db import migrations

from shop.appendonly import append_only


class Migration(migrations.Migration):
    dependencies = [("room", "0001_initial")]

    operations = [
        append_only("room_reading", "A reading"),
    ]

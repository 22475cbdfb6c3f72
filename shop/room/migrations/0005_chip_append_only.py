from django.db import migrations

from shop.appendonly import append_only


class Migration(migrations.Migration):
    dependencies = [("room", "0004_chip")]

    operations = [
        append_only("room_chipstored", "An entry of chip stored"),
    ]

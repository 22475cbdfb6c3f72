from django.db import migrations

from shop.appendonly import append_only


class Migration(migrations.Migration):
    dependencies = [("cutting", "0001_initial")]

    operations = [
        append_only("cutting_side", "A side"),
        append_only("cutting_withdrawal", "A withdrawal"),
    ]

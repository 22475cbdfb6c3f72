from django.db import migrations

from shop.appendonly import append_only


class Migration(migrations.Migration):
    dependencies = [("stock", "0001_initial")]

    operations = [
        append_only("stock_movement", "A movement"),
        append_only("stock_remark", "A remark on a lot"),
    ]

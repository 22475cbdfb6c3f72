from django.db import migrations

from shop.appendonly import append_only


class Migration(migrations.Migration):
    dependencies = [("duties", "0001_initial")]

    operations = [
        append_only("duties_tick", "A step of a meter"),
    ]

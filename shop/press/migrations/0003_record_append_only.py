from django.db import migrations

from shop.appendonly import append_only


class Migration(migrations.Migration):
    dependencies = [("press", "0002_record")]

    operations = [append_only("press_line", "A line of the record")]

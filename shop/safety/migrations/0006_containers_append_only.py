from django.db import migrations

from shop.appendonly import append_only


class Migration(migrations.Migration):
    dependencies = [("safety", "0005_containers")]

    operations = [append_only("safety_level", "A level")]

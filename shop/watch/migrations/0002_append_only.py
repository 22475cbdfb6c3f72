from django.db import migrations

from shop.appendonly import append_only


class Migration(migrations.Migration):
    dependencies = [("watch", "0001_alerts")]

    operations = [append_only("watch_alertstep", "A step of an alert")]

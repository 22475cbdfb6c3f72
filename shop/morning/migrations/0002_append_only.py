from django.db import migrations

from shop.appendonly import append_only


class Migration(migrations.Migration):
    dependencies = [("morning", "0001_initial")]

    operations = [
        append_only("morning_check", "A check"),
        append_only("morning_answer", "An answer"),
        append_only("morning_overruling", "An overruling"),
    ]

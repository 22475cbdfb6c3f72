from django.db import migrations

from shop.appendonly import append_only


class Migration(migrations.Migration):
    dependencies = [("training", "0001_initial")]

    operations = [
        append_only("training_authority", "An authority"),
        append_only("training_authoritywithdrawn", "The withdrawal of an authority"),
    ]

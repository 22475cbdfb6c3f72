from django.db import migrations

from shop.appendonly import append_only


class Migration(migrations.Migration):
    dependencies = [("training", "0005_step_editions")]

    operations = [
        append_only("training_stepedition", "A step as it was worded"),
        append_only("training_questionedition", "A question as it was worded"),
    ]

from django.db import migrations

from shop.appendonly import append_only


class Migration(migrations.Migration):
    dependencies = [("training", "0003_programmes")]

    operations = [
        append_only("training_signoff", "A sign-off"),
        append_only("training_signoffwithdrawn", "The withdrawal of a sign-off"),
        append_only("training_answer", "An answer"),
        append_only("training_programmechange", "A change of a programme"),
    ]

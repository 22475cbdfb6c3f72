from django.db import migrations, models

from shop.appendonly import append_only, lift_guard


def lift(apps, editor):
    """A guarded table gets a column and a constraint: the guard is set again below."""
    lift_guard(editor.connection, "room_reading")


def fill(apps, editor):
    """Give the readings of standing tests, and those that correct them, the temperatures they were taken with."""
    reading = apps.get_model("room", "Reading")
    for test in apps.get_model("room", "StandingTest").objects.all().iterator():
        for first, celsius in ((test.first_id, test.first_c), (test.last_id, test.last_c)):
            pk = first
            while pk is not None:
                reading.objects.filter(pk=pk).update(beside_c=celsius)
                pk = reading.objects.filter(corrects_id=pk).values_list("pk", flat=True).first()


class Migration(migrations.Migration):
    dependencies = [("room", "0009_store_air")]

    operations = [
        migrations.RunPython(lift, migrations.RunPython.noop),
        migrations.AddField(
            model_name="reading",
            name="beside_c",
            field=models.FloatField(blank=True, null=True, verbose_name="temperature beside the cylinder"),
        ),
        migrations.AddConstraint(
            model_name="reading",
            constraint=models.CheckConstraint(
                condition=models.Q(("beside_c__isnull", True), ("kind", "nitrogen_bar"), _connector="OR"),
                name="room_beside_a_gauge_only",
            ),
        ),
        migrations.RunPython(fill, migrations.RunPython.noop, elidable=True),
        append_only("room_reading", "A reading"),
    ]

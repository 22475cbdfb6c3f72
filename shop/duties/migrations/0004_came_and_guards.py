import django.db.models.deletion
from django.db import migrations, models
from django.db.models import F

from shop.appendonly import append_only, lift_guard


def lift(apps, editor):
    """A column is added to a guarded table, and filled: the guard is set again below."""
    lift_guard(editor.connection, "duties_tick")


def fill(apps, editor):
    """Steps written before it was kept: what counted is the best there is."""
    apps.get_model("duties", "Tick").objects.filter(is_reset=False).update(came=F("amount"))


class Migration(migrations.Migration):
    dependencies = [("duties", "0003_duties")]

    operations = [
        migrations.RunPython(lift, migrations.RunPython.noop),
        migrations.AddField(
            model_name='tick',
            name='came',
            field=models.BigIntegerField(default=0),
        ),
        migrations.AddField(
            model_name="tick",
            name="undoes",
            field=models.OneToOneField(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="undone_by",
                to="duties.tick",
            ),
        ),
        migrations.AddIndex(
            model_name='tick',
            index=models.Index(fields=['at'], name='duties_ticks_at'),
        ),
        migrations.RunPython(fill, migrations.RunPython.noop),
        append_only("duties_tick", "A step of a meter"),
        append_only("duties_entry", "An entry"),
        append_only("duties_entrystep", "A step of an entry"),
        append_only("duties_photo", "A photograph"),
        append_only("duties_touched", "What an entry did"),
    ]

import django.db.models.deletion
from django.db import migrations, models

from shop.appendonly import append_only, lift_guard, set_guard

_TABLE, _WHAT = "stock_inspectiondefect", "A finding of an inspection"


def lift(apps, editor):
    lift_guard(editor.connection, _TABLE)


def set_again(apps, editor):
    set_guard(editor.connection, _TABLE, _WHAT)


class Migration(migrations.Migration):
    dependencies = [
        ("stock", "0004_weeks_and_guards"),
    ]

    # SQLite adds a unique column by making the table anew, without its triggers: so the guard is set again after.
    operations = [
        migrations.RunPython(lift, set_again),
        migrations.AddField(
            model_name="inspectiondefect",
            name="movement",
            field=models.OneToOneField(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="found_by",
                to="stock.movement",
            ),
        ),
        append_only(_TABLE, _WHAT),
    ]

import re

from django.db import migrations, models

from shop.appendonly import GUARDED, append_only, lift_guard, set_guard

_TABLE, _WHAT = "stock_remark", "A remark on a lot"
_FIGURE = r"(?:none|[0-9]+(?:\.[0-9]+)?)"
_COST = re.compile(rf"\bcost ({_FIGURE} → {_FIGURE})")


def lift(apps, editor):
    lift_guard(editor.connection, _TABLE)


def set_again(apps, editor):
    set_guard(editor.connection, _TABLE, GUARDED[_TABLE])


def part(apps, editor):
    """Take what a remark said of a price out of what everybody reads."""
    for remark in apps.get_model("stock", "Remark").objects.filter(kind="corrected", note__contains="cost "):
        if told := _COST.search(remark.note):
            remark.money = f"price {told[1]}"
            remark.note = f"{remark.note[: told.start()]}price{remark.note[told.end() :]}"
            remark.save()


class Migration(migrations.Migration):
    dependencies = [("stock", "0010_counts")]

    # SQLite adds such a column by making the table anew, without its triggers: so the guard is set again after.
    operations = [
        migrations.RunPython(lift, set_again),
        migrations.AddField("remark", "money", models.CharField(blank=True, max_length=80)),
        migrations.RunPython(part, migrations.RunPython.noop),
        append_only(_TABLE, _WHAT),
    ]

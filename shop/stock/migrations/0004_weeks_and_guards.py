from collections import Counter
from datetime import timedelta
from zoneinfo import ZoneInfo

from django.db import migrations

from shop.appendonly import append_only

_USE = ("used", "tested", "spoiled")


def add_up(apps, editor):
    """The weekly sums of a ledger written before they were kept."""
    movement, room = apps.get_model("stock", "Movement"), apps.get_model("people", "Room")
    found = room.objects.first()
    zone = ZoneInfo(found.zone if found else "UTC")
    weeks = Counter()
    stands = movement.objects.filter(kind__in=_USE, reversed_by__isnull=True).order_by()
    for item, at, change in stands.values_list("item_id", "at", "change").iterator(chunk_size=5000):
        day = at.astimezone(zone).date()
        weeks[item, day - timedelta(days=day.weekday())] -= change
    week_use = apps.get_model("stock", "WeekUse")
    rows = (week_use(item_id=item, monday=monday, quantity=total) for (item, monday), total in weeks.items())
    week_use.objects.bulk_create(rows, batch_size=500)


class Migration(migrations.Migration):
    dependencies = [
        ("people", "0001_initial"),
        ("stock", "0003_orders"),
    ]

    operations = [
        migrations.RunPython(add_up, migrations.RunPython.noop),
        append_only("stock_orderstep", "A step of an order"),
        append_only("stock_inspection", "An inspection"),
        append_only("stock_inspectiondefect", "A finding of an inspection"),
    ]

"""Keeping the hourly sums that charts of long stretches are drawn from: half a million minutes are too many to add up
while somebody waits."""

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta

from django.db import connection
from django.db.models import Count, Max, Min, Sum

from shop.room.models import Reading, ReadingHour

HOUR = timedelta(hours=1)


def hour_of(at: datetime) -> datetime:
    """The beginning of the hour a moment lies in, in UTC."""
    return at.astimezone(UTC).replace(minute=0, second=0, microsecond=0)


def count_in(taken: Iterable[Reading]) -> None:
    """Count new readings in, within the transaction that adds them: one statement an hour, which waits for nobody's
    look and so is right whoever else writes into the same hour. A correction is no new one: see `add_up`."""
    sums: dict[tuple[str, int, datetime], list[float]] = {}
    for one in taken:
        hour = (str(one.kind), one.cylinder_id or 0, hour_of(one.at))
        sums.setdefault(hour, []).append(one.value)
    least, most = ("MIN", "MAX") if connection.vendor == "sqlite" else ("LEAST", "GREATEST")
    adapt = connection.ops.adapt_datetimefield_value
    with connection.cursor() as cursor:
        cursor.executemany(
            'INSERT INTO room_readinghour AS kept (kind, "of", hour, count, total, low, high) '
            "VALUES (%s, %s, %s, %s, %s, %s, %s) "
            'ON CONFLICT (kind, hour, "of") DO UPDATE SET count = kept.count + excluded.count, '
            f"total = kept.total + excluded.total, low = {least}(kept.low, excluded.low), "
            f"high = {most}(kept.high, excluded.high)",
            # in one order, so that two writers cannot wait for each other
            [
                (kind, of, adapt(hour), len(some), sum(some), min(some), max(some))
                for (kind, of, hour), some in sorted(sums.items())
            ],
        )


def add_up(corrected: Reading) -> None:
    """Add the hour of a reading that was just corrected up anew; its row is locked before its readings are read."""
    start = hour_of(corrected.at)
    of = corrected.cylinder_id or 0
    row = ReadingHour.objects.select_for_update().get(kind=corrected.kind, of=of, hour=start)
    standing = Reading.objects.filter(
        kind=corrected.kind, cylinder=corrected.cylinder_id, at__gte=start, at__lt=start + HOUR, corrected_by=None
    )
    sums = standing.aggregate(count=Count("pk"), total=Sum("value"), low=Min("value"), high=Max("value"))
    ReadingHour.objects.filter(pk=row.pk).update(**sums)

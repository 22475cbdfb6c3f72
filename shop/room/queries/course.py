"""How readings went over a stretch of time, for charts: as they are while they are few, else thinned by the database.

A long stretch is made of the hourly sums that shop.room.hours keeps, a day of the readings themselves. However many
there are, the database gives back some 400 rows of a kind at most.
"""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta
from typing import Any

from django.db import connection
from django.db.models import Max, Min

from shop import clock
from shop.room.hours import HOUR, hour_of
from shop.room.models import Cylinder, Reading, ReadingKind
from shop.room.queries.readings import Point, readings
from shop.topic import moment

#: So many readings are drawn one by one; more are thinned.
MOST_POINTS = 400
#: The pieces a stretch of up to so many days is thinned to; longer ones go by whole days.
_PIECES = (
    (1, timedelta(minutes=5)),
    (30, timedelta(hours=2)),
    (90, timedelta(hours=6)),
)
#: From so many days on the hourly sums are used.
_BY_HOUR_FROM = 3

_FEW = (
    "SELECT * FROM (SELECT one.kind, one.at, one.value, one.cylinder_id FROM room_reading one "
    "WHERE one.kind = %s AND one.at >= %s AND one.at <= %s "
    "AND NOT EXISTS (SELECT 1 FROM room_reading later WHERE later.corrects_id = one.id) "
    "ORDER BY one.at, one.id LIMIT %s) few"
)
_EDGES = "WITH edge(place, lo, hi) AS (VALUES {rows}) "
_OF_READINGS = (
    _EDGES + "SELECT one.kind, edge.place, COALESCE(one.cylinder_id, 0), "
    "COUNT(*), AVG(one.value), MIN(one.value), MAX(one.value) "
    "FROM edge CROSS JOIN room_reading one WHERE one.kind IN ({kinds}) AND one.at >= edge.lo AND one.at < edge.hi "
    "AND NOT EXISTS (SELECT 1 FROM room_reading later WHERE later.corrects_id = one.id) "
    "GROUP BY one.kind, edge.place, COALESCE(one.cylinder_id, 0) ORDER BY 1, 2, 3"
)
_OF_HOURS = (
    _EDGES + 'SELECT one.kind, edge.place, one."of", '
    "SUM(one.count), SUM(one.total) / SUM(one.count), MIN(one.low), MAX(one.high) "
    "FROM edge CROSS JOIN room_readinghour one "
    "WHERE one.kind IN ({kinds}) AND one.count > 0 AND one.hour >= edge.lo AND one.hour < edge.hi "
    'GROUP BY one.kind, edge.place, one."of" ORDER BY 1, 2, 3'
)


def course(kind: ReadingKind, since: datetime, until: datetime) -> list[Point]:
    """The readings of a kind between two moments, in order of time: two queries at most."""
    return courses((kind,), since, until)[kind]


def courses(kinds: Sequence[ReadingKind], since: datetime, until: datetime) -> dict[ReadingKind, list[Point]]:
    """The readings of each of these kinds between two moments, in order of time: two queries at most. Each is thinned
    or not by how many there are of it alone."""
    found: dict[ReadingKind, list[Point]] = {kind: [] for kind in kinds}
    adapt = connection.ops.adapt_datetimefield_value
    given = [one for kind in kinds for one in (str(kind), adapt(since), adapt(until), MOST_POINTS + 1)]
    with connection.cursor() as cursor:
        cursor.execute(" UNION ALL ".join([_FEW] * len(kinds)), given)
        for kind, at, *told in cursor.fetchall():
            found[ReadingKind(kind)].append(Point(moment(at), *told))
    for points in found.values():  # a UNION promises no order
        points.sort(key=lambda point: point.at)
    many = [kind for kind in kinds if len(found[kind]) > MOST_POINTS]
    if many:
        days = max(1, round((until - since) / timedelta(days=1)))
        found |= _thinned(many, list(_edges(since, until, days)), by_hour=days >= _BY_HOUR_FROM)
    return found


def gauge_course(cylinder: Cylinder) -> list[Point]:
    """The gauge readings of a cylinder that count, for a chart, in order of time: three queries at most."""
    own = readings().filter(kind=ReadingKind.NITROGEN_BAR, cylinder=cylinder)
    few = [Point(*row) for row in own.order_by("at", "id").values_list("at", "value", "cylinder_id")[: MOST_POINTS + 1]]
    if len(few) <= MOST_POINTS:
        return few
    ends = Reading.objects.filter(cylinder=cylinder).aggregate(first=Min("at"), last=Max("at"))
    first, last = hour_of(ends["first"]), hour_of(ends["last"]) + HOUR
    step = HOUR * -(-(last - first) // (HOUR * MOST_POINTS))
    edges = [(first + step * n, min(last, first + step * (n + 1))) for n in range(-(-(last - first) // step))]
    found = _thinned([ReadingKind.NITROGEN_BAR], edges, by_hour=True)
    return [point for point in found[ReadingKind.NITROGEN_BAR] if point.cylinder_id == cylinder.pk]


def _edges(since: datetime, until: datetime, days: int) -> Iterator[tuple[datetime, datetime]]:
    """The pieces of a stretch. They begin with the room's own days, so that those can be told apart in a table."""
    step = next((step for most, step in _PIECES if days <= most), None)
    day, last = clock.day_of(since), clock.day_of(until)
    while day <= last:
        start, end = (edge.astimezone(UTC) for edge in clock.day_bounds(day))
        at = start
        while at < end:
            after = end if step is None else min(end, at + step)
            if after > since and at <= until:
                yield max(at, since), after
            at = after
        day += timedelta(days=1)


def _thinned(
    kinds: Sequence[ReadingKind], edges: list[tuple[datetime, datetime]], *, by_hour: bool
) -> dict[ReadingKind, list[Point]]:
    adapt = connection.ops.adapt_datetimefield_value
    given: list[Any] = []
    for place, (low, high) in enumerate(edges):
        # an hour is in the piece in which it begins
        given += [place, adapt(hour_of(low) if by_hour else low), adapt(high)]
    row = "(%s, %s::timestamptz, %s::timestamptz)" if connection.vendor == "postgresql" else "(%s, %s, %s)"
    statement = (_OF_HOURS if by_hour else _OF_READINGS).format(
        rows=", ".join([row] * len(edges)), kinds=", ".join(["%s"] * len(kinds))
    )
    with connection.cursor() as cursor:
        cursor.execute(statement, [*given, *map(str, kinds)])
        rows = cursor.fetchall()
    found: dict[ReadingKind, list[Point]] = defaultdict(list)
    for kind, place, of, count, mean, low, high in rows:
        middle = edges[place][0] + (edges[place][1] - edges[place][0]) / 2
        found[ReadingKind(kind)].append(Point(middle, mean, of or None, count, low, high))
    return found


def last_of_days(kind: ReadingKind, days: int) -> list[int]:
    """The last reading that counts of each of so many days up to today, by its key: one query, an index look a day."""
    today = clock.today()
    bounds = [clock.day_bounds(today - timedelta(days=back)) for back in range(days)]
    adapt = connection.ops.adapt_datetimefield_value
    cast = "::timestamptz" if connection.vendor == "postgresql" else ""
    rows = ", ".join([f"(%s{cast}, %s{cast})"] * days)
    with connection.cursor() as cursor:
        cursor.execute(
            f"WITH edge(lo, hi) AS (VALUES {rows}) SELECT (SELECT one.id FROM room_reading one WHERE one.kind = %s "
            "AND one.at >= edge.lo AND one.at < edge.hi "
            "AND NOT EXISTS (SELECT 1 FROM room_reading later WHERE later.corrects_id = one.id) "
            "ORDER BY one.at DESC, one.id DESC LIMIT 1) FROM edge",
            [*(adapt(edge.astimezone(UTC)) for pair in bounds for edge in pair), str(kind)],
        )
        return [pk for (pk,) in cursor.fetchall() if pk is not None]

"""For how long very many readings lay outside the shop's bands: exactly, and without reading them all.

An hour of which every reading lies within the band, or every one beyond the same edge, needs no closer look: its lowest
and highest tell (see shop.room.hours). The database strings such hours together to stretches; of these only the first
and the last reading are fetched, and all the readings of the hours in which an edge was crossed.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from typing import Any, NamedTuple

from django.db import connection

from shop.calc.air import Piece
from shop.room.hours import HOUR, hour_of
from shop.room.models import ReadingKind
from shop.topic import moment

Band = tuple[float | None, float | None]

#: No value is so far out: what stands for an edge that is not set.
_FAR = 1e300
#: The side of an hour in which an edge was crossed, or that only in part belongs to the stretch.
_MIXED = 2

_STRETCHES = """
WITH band(kind, low, high) AS (VALUES {bands}),
told AS (
  SELECT one.kind, one.hour, one.low, one.high,
    CASE WHEN one.hour < {moment} OR one.hour > {moment} THEN 2
         WHEN one.low >= band.low AND one.high <= band.high THEN 0
         WHEN one.low > band.high THEN 1
         WHEN one.high < band.low THEN -1
         ELSE 2 END AS side
  FROM band CROSS JOIN room_readinghour one
  WHERE one.kind = band.kind AND one."of" = 0 AND one.count > 0 AND one.hour >= {moment} AND one.hour <= {moment}
),
beside AS (
  SELECT told.*, LAG(side) OVER course AS side_before, LAG(hour) OVER course AS hour_before
  FROM told WINDOW course AS (PARTITION BY kind ORDER BY hour)
),
numbered AS (
  SELECT beside.*, SUM(CASE WHEN side_before = side AND {gap} THEN 0 ELSE 1 END)
    OVER (PARTITION BY kind ORDER BY hour) AS number
  FROM beside
)
SELECT kind, side, MIN(hour), MAX(hour), MIN(low), MAX(high)
FROM numbered GROUP BY kind, number, side ORDER BY kind, number
"""

_STANDING = "NOT EXISTS (SELECT 1 FROM room_reading later WHERE later.corrects_id = {one}.id)"
_READINGS = (
    "WITH edge(place, kind, lo, hi, side) AS (VALUES {edges}) "
    "SELECT edge.place, one.at, one.value FROM edge CROSS JOIN room_reading one "
    "WHERE edge.side = 2 AND one.kind = edge.kind AND one.at >= edge.lo AND one.at < edge.hi AND "
    + _STANDING.format(one="one")
    + "".join(
        " UNION ALL SELECT edge.place, one.at, one.value FROM edge CROSS JOIN room_reading one WHERE edge.side <> 2 "
        "AND one.id = (SELECT own.id FROM room_reading own WHERE own.kind = edge.kind "
        "AND own.at >= edge.lo AND own.at < edge.hi AND "
        + _STANDING.format(one="own")
        + f" ORDER BY own.at {way}, own.id {way} LIMIT 1)"
        for way in ("ASC", "DESC")
    )
    + " ORDER BY 1, 2"
)


class _Stretch(NamedTuple):
    kind: ReadingKind
    side: int
    start: datetime
    end: datetime
    low: float
    high: float


def pieces(
    bands: Mapping[ReadingKind, Band], since: datetime, until: datetime, *, longest_gap: timedelta
) -> dict[ReadingKind, list[Piece]]:
    """What calc.air.time_outside_of_pieces takes, of each of these kinds, in hours since `since`: two queries.

    bands: the edges of each kind's band, in its stored unit, None for no such edge. longest_gap: between readings
    further apart a piece ends.
    """
    found: dict[ReadingKind, list[Piece]] = {kind: [] for kind in bands}
    if not bands:
        return found
    stretches = list(_stretches(bands, since, until, longest_gap))
    for stretch, taken in zip(stretches, _readings(stretches), strict=True):
        told = [((at - since).total_seconds() / 3600, value) for at, value in taken]
        if stretch.side == _MIXED or len(taken) == 1:
            found[stretch.kind].extend(Piece.of(hour, value) for hour, value in told)
        elif told:
            (first_h, first), (last_h, last) = told[0], told[-1]
            found[stretch.kind].append(Piece(first_h, first, last_h, last, stretch.low, stretch.high))
    return found


def _stretches(
    bands: Mapping[ReadingKind, Band], since: datetime, until: datetime, longest_gap: timedelta
) -> Iterable[_Stretch]:
    adapt = connection.ops.adapt_datetimefield_value
    # two hours next to each other may hold readings that lie nearly two hours further apart than they, or nearer
    gap_h = (longest_gap - HOUR) / HOUR
    on_postgresql = connection.vendor == "postgresql"
    statement = _STRETCHES.format(
        bands=", ".join(["(%s::text, %s::float8, %s::float8)" if on_postgresql else "(%s, %s, %s)"] * len(bands)),
        moment="%s::timestamptz" if on_postgresql else "%s",
        gap="EXTRACT(EPOCH FROM hour - hour_before) <= 3600.0 * %s"
        if on_postgresql
        else "(julianday(hour) - julianday(hour_before)) * 24 <= %s + 0.001",
    )
    edges = (since, until - HOUR, hour_of(since), until)
    given: list[Any] = []
    for kind, (low, high) in bands.items():
        given += [str(kind), -_FAR if low is None else low, _FAR if high is None else high]
    with connection.cursor() as cursor:
        cursor.execute(statement, [*given, *map(adapt, edges), gap_h])
        for kind, side, first, last, low, high in cursor.fetchall():
            # what lies beyond the last moment is none of this; the last moment is
            end = min(moment(last) + HOUR, until + timedelta(microseconds=1))
            yield _Stretch(ReadingKind(kind), side, max(moment(first), since), end, low, high)


def _readings(stretches: list[_Stretch]) -> list[list[tuple[datetime, float]]]:
    """Of each stretch, in order of time: all its readings where an edge was crossed, else its first and its last."""
    if not stretches:
        return []
    adapt = connection.ops.adapt_datetimefield_value
    row = "(%s, %s, %s, %s, %s)"
    if connection.vendor == "postgresql":
        row = "(%s::int, %s::text, %s::timestamptz, %s::timestamptz, %s::int)"
    given: list[Any] = []
    for place, one in enumerate(stretches):
        given += [place, str(one.kind), adapt(one.start), adapt(one.end), one.side]
    taken: dict[int, list[tuple[datetime, float]]] = defaultdict(list)
    with connection.cursor() as cursor:
        cursor.execute(_READINGS.format(edges=", ".join([row] * len(stretches))), given)
        for place, at, value in cursor.fetchall():
            taken[place].append((moment(at), value))
    return [taken[place] for place in range(len(stretches))]

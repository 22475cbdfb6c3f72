"""What the vacuum line worries about: suction that strays from the clean line, and talc that is due in damp air."""

from collections import defaultdict
from collections.abc import Iterator
from datetime import datetime
from typing import Any

from django.db.models import Exists, F, Max, OuterRef, QuerySet, Subquery
from django.db.models.functions import JSONObject
from django.urls import reverse

from shop import clock
from shop.calc import air
from shop.concern import Concern, Grade
from shop.duties.models import Meter
from shop.people.fields import measured
from shop.people.queries import the_room
from shop.room.air_now import talc_due
from shop.room.kinds import KINDS
from shop.room.models import SUCTION, LineBaseline, LineRules, Reading, ReadingKind
from shop.room.queries.vacuum import BY_EYE, LINE, Taken, chart_begins, diagnosis, point_state
from shop.room.wording import said
from shop.topic import Row, Topic, midnight, moment

#: Readings older than so many days are not looked at here; the line's own page goes back to the last cleaning.
_BACK = 120


def _rows() -> Iterator[QuerySet[Any]]:
    """The baselines that count, the readings since of their kinds, the rules with the air as it was last read."""
    latest = LineBaseline.objects.order_by().values("kind").annotate(last=Max("pk")).values("last")
    cleaned = Meter.objects.filter(key=LINE).values("reset_at")[:1]
    yield LineBaseline.objects.filter(pk__in=latest).annotate(
        told=JSONObject(
            base=F("kind"),
            target=F("target"),
            sd=F("sd"),
            count=F("count"),
            first=F("first_at"),
            cleaned=Subquery(cleaned),
        )
    )
    kept = LineBaseline.objects.filter(kind=OuterRef("kind"))
    yield Reading.objects.filter(
        Exists(kept), kind__in=SUCTION, corrected_by=None, at__gte=midnight(days=-_BACK), **BY_EYE
    ).annotate(told=JSONObject(kind=F("kind"), at=F("at"), value=F("value")))
    read = Reading.objects.filter(corrected_by=None, at__gte=midnight()).order_by("-at", "-id")
    yield LineRules.objects.filter(talc_dew_c__isnull=False).annotate(
        told=JSONObject(
            dew=F("talc_dew_c"),
            days=F("talc_days"),
            duty=F("talc_duty_id"),
            talced=F("talc_duty__last_entry__at"),
            celsius=Subquery(read.filter(kind=ReadingKind.ROOM_C).values("value")[:1]),
            rh=Subquery(read.filter(kind=ReadingKind.ROOM_RH).values("value")[:1]),
        )
    )


def _worries(rows: list[Row], now: datetime) -> Iterator[Concern]:
    taken: dict[str, list[Taken]] = defaultdict(list)
    bases = [row for row in rows if "base" in row]
    for row in rows:
        if "kind" in row:
            taken[row["kind"]].append(Taken(moment(row["at"]), row["value"]))
        elif "dew" in row:
            yield from _talc(row, now)
    if bases:
        yield from _strays(bases, taken)


def _strays(bases: list[Row], taken: dict[str, list[Taken]]) -> Iterator[Concern]:
    points = []
    for row in sorted(bases, key=lambda row: SUCTION.index(ReadingKind(row["base"]))):
        kind, first = ReadingKind(row["base"]), moment(row["first"])
        base = LineBaseline(kind=kind, target=row["target"], sd=row["sd"], count=row["count"], first_at=first)
        begins = chart_begins(base, moment(row["cleaned"]) if row["cleaned"] else None)
        since = sorted((each for each in taken[kind] if each.at >= begins), key=lambda each: each.at)
        points.append(point_state(kind, base, since))
    found = diagnosis(points)
    if found is None:
        return
    room = the_room()
    told, quantities = [], []
    for each in found.out:
        assert each.charts is not None
        about, smoothed, clean = KINDS[each.kind], each.charts.ewma[-1].ewma, each.baseline.target
        told.append(
            f"{about.name}: {said(about.quantity, smoothed, room)} smoothed, {said(about.quantity, clean, room)} when "
            f"clean, {'at once' if each.charts.is_step else 'bit by bit'}."
        )
        quantities += [measured(about.quantity, value, room) for value in (smoothed, clean)]
    others = f" It may also be {' or '.join(each.name for each in found.others)}." if found.others else ""
    yield Concern(
        key=f"room:line:{found.first or 'strays'}",
        grade=found.grade,
        subject="Vacuum line",
        headline=f"Suction strays from the clean line: {found.words.name} fits best"
        if found.first
        else "Suction strays from the clean line, in a way that no known fault explains",
        reason=" ".join(told) + others,
        what_to_do=found.words.first,
        link=reverse("room:line"),
        quantities=tuple(quantities),
    )


def _talc(row: Row, now: datetime) -> Iterator[Concern]:
    if row["celsius"] is None or not row["rh"]:
        return
    try:
        dew = air.dew_point_c(row["celsius"], row["rh"])
    except ValueError:  # a confirmed reading can lie outside the range of the formula
        return
    talced = moment(row["talced"]) if row["talced"] else None
    if not talc_due(dew, row["dew"], row["days"], talced, now):
        return
    room = the_room()
    last = (
        f"last treated on {clock.day_of(talced):%-d %B %Y}" if talced else "not treated yet, as far as is written down"
    )
    yield Concern(
        key="room:line:talc",
        grade=Grade.CARE,
        subject="Vacuum line",
        headline="The air is damp: treat the line with talc before cutting",
        reason=(
            f"Dew point {said('temperature', dew, room)}, the shop's own limit "
            f"{said('temperature', row['dew'], room)}; {last}. In damp air chip sticks in the hose."
        ),
        what_to_do=(
            "Draw a little through with the suction on. Only talc that its supplier states to be free of asbestos; do "
            "not breathe the dust."
        ),
        link=reverse("duties:do-duty", args=[row["duty"]]) if row["duty"] else reverse("room:line"),
        quantities=tuple(measured("temperature", value, room) for value in (dew, row["dew"])),
    )


TOPIC = Topic(rows=_rows, worries=_worries)

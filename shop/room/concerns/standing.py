"""What standing tests worry about: a leak that one found, and one that runs, while which nothing may draw."""

from collections.abc import Iterator
from datetime import datetime
from typing import Any

from django.db.models import F, OuterRef, QuerySet, Subquery
from django.db.models.functions import Coalesce, JSONObject
from django.urls import reverse

from shop.concern import Concern, Grade
from shop.people.fields import measured
from shop.people.models import Units
from shop.people.queries import the_room
from shop.room.models import Cylinder, StandingTest
from shop.room.queries.standing import Ends, tightness
from shop.room.wording import moment_words, said
from shop.topic import Row, Topic, moment


def _rows() -> Iterator[QuerySet[Any]]:
    """The latest test of the connected cylinder that was not dropped, with what its readings were corrected to."""
    latest = StandingTest.objects.filter(cylinder=OuterRef("cylinder"), dropped_at=None).order_by("-id").values("pk")
    connected = {
        "cylinder__connected_at__isnull": False,
        "cylinder__empty_at__isnull": True,
        "cylinder__returned_on__isnull": True,
    }
    yield (
        StandingTest.objects.filter(pk=Subquery(latest[:1]), **connected).annotate(
            told=JSONObject(
                test=F("pk"),
                cylinder=F("cylinder_id"),
                mark=F("cylinder__mark"),
                litres=F("cylinder__water_volume_l"),
                fill_bar=F("cylinder__fill_bar"),
                fill_c=F("cylinder__fill_c"),
                begun=F("first__at"),
                ended=F("last__at"),
                first_bar=Coalesce("first__corrected_by__value", "first__value"),
                last_bar=Coalesce("last__corrected_by__value", "last__value"),
                first_c=F("first_c"),
                last_c=F("last_c"),
            )
        )
    )


def _worries(rows: list[Row], now: datetime) -> Iterator[Concern]:
    for row in rows:
        if row["ended"] is None:
            yield _runs(row)
        else:
            yield from _leaks(row, the_room())


def _runs(row: Row) -> Concern:
    return Concern(
        key=f"room:gas:standing:{row['test']}",
        grade=Grade.NOTE,
        subject="Nitrogen",
        headline=f"A standing test of cylinder {row['mark']} is running",
        reason=f"Its gauge was read {moment_words(moment(row['begun']))}; until it is read again nothing may draw.",
        what_to_do="Read the gauge again before the first cut, or drop the test.",
        link=reverse("room:cylinder", args=[row["cylinder"]]),
    )


def _leaks(row: Row, reader: Units) -> Iterator[Concern]:
    ends = Ends(
        row["first_bar"], row["first_c"], row["last_bar"], row["last_c"], moment(row["begun"]), moment(row["ended"])
    )
    cylinder = Cylinder(water_volume_l=row["litres"], fill_bar=row["fill_bar"], fill_c=row["fill_c"])
    found = tightness(cylinder, ends)
    if not found.is_leak:
        return
    yield Concern(
        key=f"room:gas:leak:{row['cylinder']}",
        grade=Grade.CARE,
        subject="Nitrogen",
        headline=f"Nitrogen leaks from cylinder {row['mark']} or the line behind it",
        reason=(
            f"Over {ends.hours:.3g} hours with nothing running the gauge went from "
            f"{said('pressure', ends.first_bar, reader)} to {said('pressure', ends.last_bar, reader)}; temperature "
            f"reckoned with, that is {found.g_day:.0f} g a day, between {found.low_g_day:.0f} and "
            f"{found.high_g_day:.0f}. In a small room a leak thins the air, without any warning."
        ),
        what_to_do=(
            "Air the room, shut the cylinder valve when nobody cuts, and look for the leak with leak-finding fluid; "
            "then test again. A valve that leaks is the supplier's to see to."
        ),
        link=reverse("room:cylinder", args=[row["cylinder"]]),
        quantities=tuple(measured("pressure", bar, reader) for bar in (ends.first_bar, ends.last_bar)),
    )


TOPIC = Topic(rows=_rows, worries=_worries)

"""Worries about the room's own sheets: not in force, an approval that runs out, and who has still to read what."""

from collections.abc import Iterator
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import Count, Exists, OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import JSONObject
from django.urls import reverse

from shop import clock
from shop.concern import Concern, Grade
from shop.people.models import HANDS, Person
from shop.safety import queries
from shop.safety.models import HazardSheet, SheetRead, SheetVersion, SheetWithdrawn
from shop.topic import Row, Topic, day_it_is, midnight, moment
from shop.wording import in_full

#: An approval is spoken of so many days before it runs out.
RUNS_OUT_DAYS = 31
#: A sheet is to be read within so many days of its approval, or of one's own first day; spoken of from half of them on.
READ_DAYS = 14
#: So many titles are named in one sentence.
_NAMED = 4


def _rows() -> tuple[QuerySet[Any], ...]:
    """Sheets that are not in force, or not for long; and for each person how many they have still to read."""
    latest = SheetVersion.objects.filter(sheet=OuterRef("pk")).order_by("-number")
    withdrawn = SheetWithdrawn.objects.filter(version__sheet=OuterRef("pk"), version__number=OuterRef("number"))
    sheets = (
        HazardSheet.objects.filter(is_active=True)
        .annotate(number=Subquery(latest.values("number")[:1]), until=Subquery(latest.values("until")[:1]))
        .annotate(gone=Exists(withdrawn))
        .filter(Q(number=None) | Q(gone=True) | Q(until__lte=day_it_is(timedelta(days=RUNS_OUT_DAYS))))
        .annotate(told=JSONObject(sheet="pk", slug="slug", title="title", number="number", until="until", gone="gone"))
    )
    old_enough = midnight(days=1 - READ_DAYS // 2)
    read = SheetRead.objects.filter(version=OuterRef("pk"), by=OuterRef(OuterRef("pk")))
    unread = (
        queries.versions_in_force(day_it_is()).select_related(None).order_by().filter(~Exists(read), at__lte=old_enough)
    )
    people = (
        Person.objects.filter(is_active=True, role__in=HANDS, made_at__lte=old_enough)
        .annotate(
            unread=Subquery(unread.values("sheet__is_active").annotate(n=Count("pk")).values("n")),
            since=Subquery(unread.order_by("at").values("at")[:1]),
        )
        .filter(unread__gt=0)
        .annotate(told=JSONObject(person="pk", name="name", unread="unread", since="since", came="made_at"))
    )
    return sheets, people


def _worries(rows: list[Row], now: datetime) -> Iterator[Concern]:
    today = clock.day_of(now)
    sheets = sorted((row for row in rows if "sheet" in row), key=lambda row: row["title"].casefold())
    lacking = [row for row in sheets if row["number"] is None or row["gone"]]
    if lacking:
        yield _not_in_force(lacking)
    for row in sheets:
        if row["number"] is not None and not row["gone"]:
            yield _approval(row, date.fromisoformat(row["until"]), today)
    for row in rows:
        if "person" in row:
            yield _to_read(row)


def _not_in_force(rows: list[Row]) -> Concern:
    """One for all of them: a room that has just opened has nothing but drafts."""
    named = "; ".join(row["title"] for row in rows[:_NAMED])
    more = f"; and {len(rows) - _NAMED} more" if len(rows) > _NAMED else ""
    many = len(rows) > 1
    return Concern(
        key="safety:sheets-not-in-force",
        grade=Grade.NOTE,
        subject="Hazard sheets",
        headline=f"{len(rows)} hazard sheets are not in force" if many else "A hazard sheet is not in force",
        reason=f"{named}{more}. Nobody here has approved {'them' if many else 'it'}, or the approval was withdrawn.",
        what_to_do="Read the draft against the supplier's sheet and this room, put it right, and approve it.",
        link=reverse("safety:hazard-sheets"),
    )


def _approval(row: Row, until: date, today: date) -> Concern:
    is_over = until < today
    return Concern(
        key=f"safety:approval-{'over' if is_over else 'ends'}:{row['sheet']}",
        grade=Grade.CARE if is_over else Grade.NOTE,
        subject="Hazard sheets",
        headline=f"{row['title']}: the approval {'has run out' if is_over else 'runs out'}",
        reason=f"Version {row['number']} was approved until {in_full(until)}."
        + (" The sheet is not in force any more." if is_over else ""),
        what_to_do="Look through the sheet again, and approve it anew.",
        link=reverse("safety:hazard-sheet", args=[row["slug"]]),
        by=None if is_over else clock.day_bounds(until)[0],
    )


def _to_read(row: Row) -> Concern:
    since = max(moment(row["since"]), moment(row["came"]))
    last = clock.day_of(since) + timedelta(days=READ_DAYS)
    many = row["unread"] > 1
    return Concern(
        key=f"safety:to-read:{row['person']}",
        grade=Grade.NOTE,
        subject="Hazard sheets",
        headline=f"{row['name']} has {row['unread']} hazard sheet{'s' if many else ''} still to read",
        reason=f"To be read since {in_full(clock.day_of(since))}; a new version asks everybody again.",
        what_to_do=f"{row['name']} reads {'them' if many else 'it'}, asks what is not clear, and says so there.",
        link=reverse("safety:hazards"),
        by=clock.day_bounds(last)[0],
    )


TOPIC = Topic(_rows, _worries)

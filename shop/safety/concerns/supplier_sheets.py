"""What suppliers' sheets worry about: substances that have none, and sheets that have grown old."""

from collections.abc import Iterator, Sequence
from datetime import date, datetime
from typing import Any

from dateutil.relativedelta import relativedelta
from django.db.models import Exists, F, OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import JSONObject
from django.urls import reverse

from shop import clock
from shop.concern import Concern, Grade
from shop.safety.models import SafetyRules, Substance, SupplierSheet
from shop.topic import Row, Topic, day_it_is
from shop.wording import in_full

#: A sheet this much past the shop's own years is cut with care; until then it is to be known. Our own figure.
_LONG_PAST = relativedelta(years=1)


def _rows() -> Iterator[QuerySet[Any]]:
    """Substances kept here without a sheet that stands, and the newest sheet of each where that is a year old."""
    standing = SupplierSheet.objects.filter(withdrawn=None, substance=OuterRef("pk"))
    kept = Substance.objects.filter(is_active=True)
    yield kept.filter(~Exists(standing)).annotate(told=JSONObject(without=F("name"), no_class=F("no_class_why")))
    newer = Q(revised_on__gt=OuterRef("revised_on")) | Q(revised_on=OuterRef("revised_on"), pk__gt=OuterRef("pk"))
    later = SupplierSheet.objects.filter(newer, withdrawn=None, substance=OuterRef("substance"))
    aged = SupplierSheet.objects.filter(
        ~Exists(later),
        withdrawn=None,
        substance__is_active=True,
        revised_on__lte=day_it_is(relativedelta(years=-1)),
    )
    years = Subquery(SafetyRules.objects.filter(pk=1).values("sheet_years")[:1])
    yield aged.annotate(
        told=JSONObject(
            sheet=F("pk"),
            substance=F("substance_id"),
            name=F("substance__name"),
            supplier=F("supplier_name"),
            revised=F("revised_on"),
            years=years,
        )
    )


def _worries(rows: list[Row], now: datetime) -> Iterator[Concern]:
    without = [row for row in rows if "without" in row]
    if bare := sorted(row["without"] for row in without if not row["no_class"]):
        yield _missing(bare)
    if unclassed := sorted(row["without"] for row in without if row["no_class"]):
        yield _unclassed(unclassed)
    for row in rows:
        if "sheet" in row:
            yield from _aged(row, clock.day_of(now))


def _missing(names: Sequence[str]) -> Concern:
    one = len(names) == 1
    return Concern(
        key="safety:supplier-sheets:missing",
        grade=Grade.NOTE,  # it is to be asked for, and says nothing of this morning's cut
        subject="Suppliers' sheets",
        headline=f"{names[0]}: no supplier's sheet" if one else f"{len(names)} substances without a supplier's sheet",
        reason=f"Kept here, with no supplier's safety data sheet: {', '.join(names)}.",
        what_to_do="Ask the supplier for it, and take it in."
        if one
        else "Ask the suppliers for them, and take them in.",
        link=reverse("safety:supplier-sheets"),
    )


def _unclassed(names: Sequence[str]) -> Concern:
    return Concern(
        key="safety:supplier-sheets:unclassed",
        grade=Grade.NOTE,
        subject="Suppliers' sheets",
        headline=(
            f"{names[0]}: no sheet of its maker"
            if len(names) == 1
            else f"{len(names)} materials without a maker's sheet"
        ),
        reason=(
            f"Kept here, given no hazard class, and without a sheet: {', '.join(names)}. Whether one is owed, only the "
            "maker can say."
        ),
        what_to_do=(
            "Ask whoever makes or supplies it for a safety data sheet, or for a letter that says none is needed; take "
            "that in."
        ),
        link=reverse("safety:supplier-sheets"),
    )


def _aged(row: Row, today: date) -> Iterator[Concern]:
    years = row["years"] if row["years"] is not None else SafetyRules().sheet_years
    revised = date.fromisoformat(row["revised"])
    past = revised + relativedelta(years=years)
    if today < past:
        return
    yield Concern(
        key=f"safety:supplier-sheet:old:{row['substance']}",
        grade=Grade.CARE if today >= past + _LONG_PAST else Grade.NOTE,
        subject="Suppliers' sheets",
        headline=f"{row['name']}: its supplier's sheet is of {revised.year}",
        reason=(
            f"The sheet in force, of {row['supplier']}, was revised on {in_full(revised)}. The shop asks for a newer "
            f"one after {years} year{'s' * (years != 1)}, which was on {in_full(past)}."
        ),
        what_to_do="Ask the supplier whether there is a later one, and take it in.",
        link=reverse("safety:supplier-sheet", args=[row["sheet"]]),
    )


TOPIC = Topic(rows=_rows, worries=_worries)

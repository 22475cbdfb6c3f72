"""Reports, what came of them, and their numbers."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from dateutil.relativedelta import relativedelta
from django.db.models import BooleanField, Count, OuterRef, Q, QuerySet, Subquery, Value
from django.db.models.functions import Coalesce, TruncMonth
from django.utils import timezone

from shop import clock
from shop.safety.models import HazardSheet, Incident, IncidentKind, IncidentNote

#: So many months are told of, the present one among them.
MONTHS = 12


def _closed() -> Coalesce:
    """Whether a report's last note closes it."""
    last = IncidentNote.objects.filter(incident=OuterRef("pk")).order_by("-pk").values("closes")[:1]
    return Coalesce(Subquery(last), Value(False), output_field=BooleanField())


def incidents() -> QuerySet[Incident]:
    """All reports, each with `is_closed`: whether its last note closes it."""
    return Incident.objects.annotate(is_closed=_closed()).select_related("place", "substance", "by")


def open_incidents() -> QuerySet[Incident]:
    """Reports that nobody has closed, or that were opened again."""
    return Incident.objects.annotate(is_closed=_closed()).filter(is_closed=False)


def notes_of(reports: Iterable[Incident]) -> QuerySet[IncidentNote]:
    """What came of them, in the order it was written down."""
    found = IncidentNote.objects.filter(incident__in=[one.pk for one in reports])
    return found.select_related("by", "sheet", "duty__last_entry", "duty__for_person")


def lessons_of(sheet: HazardSheet) -> QuerySet[IncidentNote]:
    """What a sheet learned from reports, the latest first, each with its report."""
    return IncidentNote.objects.filter(sheet=sheet).select_related("incident", "by").order_by("-pk")


@dataclass(frozen=True)
class Numbers:
    """Reports counted over the last MONTHS months. by_month: (first of the month, incidents, near misses), the oldest
    first; by_kind: (what sort, incidents, near misses), those that came up."""

    by_month: list[tuple[date, int, int]]
    by_kind: list[tuple[str, int, int]]

    @property
    def happened(self) -> int:
        return sum(count for _, count, _ in self.by_month)

    @property
    def nearly(self) -> int:
        return sum(count for _, _, count in self.by_month)


def numbers(now: datetime) -> Numbers:
    """How often it happened, and nearly, month by month and by kind. One query."""
    this = clock.day_of(now).replace(day=1)
    months = [this - relativedelta(months=back) for back in reversed(range(MONTHS))]
    counted = (
        Incident.objects.filter(at__gte=clock.day_bounds(months[0])[0])
        .annotate(month=TruncMonth("at", tzinfo=timezone.get_current_timezone()))
        .values_list("month", "kind")
        .annotate(happened=Count("pk", filter=Q(near_miss=False)), nearly=Count("pk", filter=Q(near_miss=True)))
        .order_by()
    )
    rows = [(clock.day_of(month), kind, happened, nearly) for month, kind, happened, nearly in counted]
    by_month = [
        (first, sum(row[2] for row in rows if row[0] == first), sum(row[3] for row in rows if row[0] == first))
        for first in months
    ]
    by_kind = [
        (kind.label, sum(row[2] for row in rows if row[1] == kind), sum(row[3] for row in rows if row[1] == kind))
        for kind in IncidentKind
    ]
    return Numbers(by_month, [row for row in by_kind if row[1] or row[2]])

"""Reading what becomes of good masters."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Count, Prefetch, Q, QuerySet

from shop import clock
from shop.cutting.models import WAITING, BookingSide, EarlierReport, Master, Parcel, Report, Side, Stylus
from shop.cutting.queries.bookings import good_cut


def _with_source(masters: QuerySet[Master]) -> QuerySet[Master]:
    return masters.select_related("side__wanted__booking", "side__lot", "side__life__stylus")


def waiting_masters(or_these: Iterable[str] = ()) -> QuerySet[Master]:
    """Masters that nothing has become of yet, the oldest first; and those that a repeated press names."""
    named = [int(key) for key in or_these if len(key) < 18]
    those = WAITING | Q(pk__in=named) if named else WAITING
    return _with_source(Master.objects.filter(those)).order_by("side__at", "id")


def kept_masters() -> QuerySet[Master]:
    """Masters that were kept back, latest first."""
    return (
        _with_source(Master.objects.filter(kept_at__isnull=False)).select_related("kept_by").order_by("-kept_at", "-id")
    )


def parcels() -> QuerySet[Parcel]:
    """Parcels, latest first, each with how many masters are in it, reported on, and not fine."""
    stands = Q(masters__side__withdrawal__isnull=True)
    return Parcel.objects.annotate(
        count=Count("masters", filter=stands),
        told=Count("masters", filter=stands & Q(masters__report__in=Report.values)),
        amiss=Count("masters", filter=stands & Q(masters__report__in=(Report.NOISY, Report.REFUSED))),
    ).order_by("-sent_at", "-id")


def masters_of(parcel: Parcel) -> QuerySet[Master]:
    """What lies in a parcel, those of sides that were withdrawn since too; with what was reported of it earlier."""
    return (
        _with_source(parcel.masters.all())
        .select_related("reported_by", "side__withdrawal")
        .prefetch_related(_earlier())
        .order_by("side__at", "id")
    )


def _earlier() -> Prefetch:
    return Prefetch("earlier_reports", EarlierReport.objects.select_related("reported_by"))


def to_cut_again(parcel: Parcel) -> list[BookingSide]:
    """Sides of open bookings that a parcel had a master of, which was refused, and that have no good cut by now."""
    refused = BookingSide.objects.filter(
        cuts__master__parcel=parcel,
        cuts__master__report=Report.REFUSED,
        booking__finished_at__isnull=True,
        booking__cancelled_at__isnull=True,
    )
    return list(refused.filter(~good_cut()).select_related("booking").order_by("label", "id").distinct())


def reports_on(stylus: Stylus) -> dict[str, int]:
    """How many masters that this stylus cut were reported as what, by the report's words; those reported only."""
    counted = (
        Master.objects.filter(side__life__stylus=stylus, side__withdrawal__isnull=True)
        .exclude(report="")
        .order_by()
        .values_list("report")
        .annotate(Count("pk"))
    )
    found = dict(counted)
    return {str(Report(value).label): found[value] for value in Report.values if value in found}


def master_of(side: Side) -> Master | None:
    found = Master.objects.filter(side=side).select_related("parcel", "kept_by", "reported_by")
    return found.prefetch_related(_earlier()).first()


@dataclass(frozen=True)
class Wait:
    """A master that waits: the days since it was cut, and whether they are more than the shop's limit."""

    master: Master
    days: int
    is_late: bool


def waits(masters: Sequence[Master], limit: int | None, today: date) -> list[Wait]:
    found = []
    for master in masters:
        days = (today - clock.day_of(master.side.at)).days
        found.append(Wait(master, days, limit is not None and days > limit))
    return found

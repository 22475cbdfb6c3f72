"""Which lots may be taken from, and in which order."""

from datetime import date

from django.db.models import DateField, F, IntegerField, Q, QuerySet

from shop.prepared import Given, prepared
from shop.stock.models import Item, Lot

#: First expired, first out. Lots without a date come last; ties go to the older delivery, then to the one entered
#: first.
PICKING_ORDER = (F("last_day").asc(nulls_last=True), "received_on", "id")


def in_date(day: date | Given) -> Q:
    """Lots usable by their date on `day`: through the last day of it, or without one."""
    return Q(last_day__isnull=True) | Q(last_day__gte=day)


def usable_lots(
    *, day: date | Given, blank_in: int | Given | None = None, item: Item | Given | None = None
) -> QuerySet[Lot]:
    """Lots that may be taken from on `day`, in the order to take them: something left, not on hold, not past its date.

    blank_in: only blanks of that size; item: only that item's.
    """
    lots = Lot.objects.filter(in_date(day), on_hand__gt=0, held_at__isnull=True)
    if blank_in is not None:
        lots = lots.filter(item__blank_in=blank_in)
    if item is not None:
        lots = lots.filter(item=item)
    return lots.select_related("item", "supplier").order_by(*PICKING_ORDER)


def first_lot(*, day: date, blank_in: int | None = None, item: Item | None = None) -> Lot | None:
    """The lot to take from next on `day`, of blanks of that size or of that item; None if there is none to take."""
    if item is not None:
        return _first_of_item.first(day=day, item=item.pk)
    return _first_of_size.first(day=day, size=blank_in)


@prepared
def _first_of_item() -> QuerySet[Lot]:
    return usable_lots(day=Given("day", DateField()), item=Given("item", IntegerField()))[:1]


@prepared
def _first_of_size() -> QuerySet[Lot]:
    return usable_lots(day=Given("day", DateField()), blank_in=Given("size", IntegerField()))[:1]

"""From a lot to every side, stylus and booking it touched, and back."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.db import models
from django.db.models import Count, Max, Min, Q, QuerySet

from shop.cutting.models import Booking, Side, Stylus
from shop.cutting.queries.sides import sides
from shop.finding import begins
from shop.stock.models import ItemKind, Lot, Remark
from shop.stock.queries import is_void

#: How many matches of a kind a search shows, and how many lots, styli or bookings a trace lists beside its sides.
MOST_MATCHES = 20
MOST_TOUCHED = 60
#: The longest text that is looked for: a longer one is cut off there.
LONGEST = 80


class Traced(models.TextChoices):
    """What can be traced; the value is its part of an address."""

    LOT = "lot", "Lot"
    BOOKING = "booking", "Booking"
    STYLUS = "stylus", "Stylus"
    SIDE = "side", "Side"


# Searching ------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Matches:
    """What has a text in its code, mark or run-out. cut_off: the kinds that have more than are shown."""

    asked: str
    lots: list[Lot] = field(default_factory=list)
    bookings: list[Booking] = field(default_factory=list)
    styli: list[Stylus] = field(default_factory=list)
    sides: list[Side] = field(default_factory=list)
    cut_off: tuple[Traced, ...] = ()

    @property
    def every(self) -> list[tuple[Traced, Any]]:
        kinds: Iterable[tuple[Traced, Iterable[Any]]] = (
            (Traced.LOT, self.lots),
            (Traced.BOOKING, self.bookings),
            (Traced.STYLUS, self.styli),
            (Traced.SIDE, self.sides),
        )
        return [(kind, row) for kind, rows in kinds for row in rows]

    @property
    def only(self) -> tuple[Traced, Any] | None:
        """The one match, where there is only one; or the booking whose code was typed exactly, whatever else has it."""
        if len(self.every) == 1:
            return self.every[0]
        asked = self.asked.casefold()
        exact = [booking for booking in self.bookings if booking.code.casefold() == asked]
        others = [*(lot.code for lot in self.lots), *(stylus.mark for stylus in self.styli)]
        if len(exact) == 1 and all(other.casefold() != asked for other in others):
            return Traced.BOOKING, exact[0]
        return None


_CODES = {Traced.LOT: "code", Traced.BOOKING: "code", Traced.STYLUS: "mark"}


def matches(text: str) -> Matches:
    """Lots and bookings by code, styli by mark, sides by the text in their run-out, whatever the capitals.

    Codes that begin with the text, the exact one first, are found by an index: three queries. Where there is none, any
    part of a code counts: three more, over tables that stay short beside the sides. The texts are read through, latest
    first, until there are enough.
    """
    asked = " ".join(text.replace("\x00", " ").split())[:LONGEST]
    if not asked:
        return Matches("")
    rows: dict[Traced, QuerySet[Any]] = {
        Traced.LOT: Lot.objects.select_related("item", "supplier"),
        Traced.BOOKING: Booking.objects.all(),
        Traced.STYLUS: Stylus.objects.select_related("kind"),
    }
    found: dict[Traced, list[Any]] = {
        kind: list(begins(all_of_it, _CODES[kind], asked)[: MOST_MATCHES + 1]) for kind, all_of_it in rows.items()
    }
    if not any(found.values()):
        found = {
            kind: list(all_of_it.filter(**{f"{_CODES[kind]}__icontains": asked}).order_by("-pk")[: MOST_MATCHES + 1])
            for kind, all_of_it in rows.items()
        }
    found[Traced.SIDE] = list(sides().filter(cut_text__icontains=asked)[: MOST_MATCHES + 1])
    shown = {kind: those[:MOST_MATCHES] for kind, those in found.items()}
    return Matches(
        asked,
        lots=shown[Traced.LOT],
        bookings=shown[Traced.BOOKING],
        styli=shown[Traced.STYLUS],
        sides=shown[Traced.SIDE],
        cut_off=tuple(kind for kind, those in found.items() if len(those) > MOST_MATCHES),
    )


# Tracing --------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Touched:
    """A lot, stylus or booking that shares sides with what is traced: how many stand, how many were withdrawn since,
    and when the first and the last of them were cut; None where there is none."""

    row: Any
    sides: int = 0
    withdrawn: int = 0
    first_at: datetime | None = None
    last_at: datetime | None = None


@dataclass(frozen=True)
class Trace:
    """What one lot, booking, stylus or side touched.

    sides: all of them, withdrawn ones too, latest first; lots: those their blanks came from; each of the lists holds
    MOST_TOUCHED at most, the latest first, and `cut_off` the names of those that would go on. remarks: what was said of
    a lot; is_void: its delivery was undone.
    """

    kind: Traced
    row: Any
    sides: QuerySet[Side]
    lots: list[Touched] = field(default_factory=list)
    styli: list[Touched] = field(default_factory=list)
    bookings: list[Touched] = field(default_factory=list)
    cut_off: tuple[str, ...] = ()
    remarks: list[Remark] = field(default_factory=list)
    is_void: bool = False


def trace(kind: Traced, pk: int) -> Trace | None:
    """The trace of a record; None if there is none of that kind and number. As many queries for much as for little."""
    return {Traced.LOT: _of_lot, Traced.BOOKING: _of_booking, Traced.STYLUS: _of_stylus, Traced.SIDE: _of_side}[kind](
        pk
    )


_LOTS = Lot.objects.select_related("item", "supplier")
_STYLI = Stylus.objects.select_related("kind", "lot__item", "lot__supplier")
_BOOKINGS = Booking.objects.all()


def _of_lot(pk: int) -> Trace | None:
    lot = Lot.objects.select_related("item", "supplier", "held_by").filter(pk=pk).first()
    if lot is None:
        return None
    of_styli = lot.item.kind == ItemKind.STYLUS
    own = Q(life__stylus__lot=lot) if of_styli else Q(lot=lot)
    styli, more_styli = _touched(own, "life__stylus", _STYLI)
    if of_styli:
        styli, more_styli = _with_unused(styli, _STYLI.filter(lot=lot))
    bookings, more_bookings = _touched(own, "wanted__booking", _BOOKINGS)
    lots, more_lots = _touched(own, "lot", _LOTS) if of_styli else ([], False)
    return Trace(
        Traced.LOT,
        lot,
        sides().filter(own),
        lots=lots,
        styli=styli,
        bookings=bookings,
        cut_off=_named(lots=more_lots, styli=more_styli, bookings=more_bookings),
        remarks=list(lot.remarks.select_related("by")[:20]),
        is_void=lot.on_hand == 0 and is_void(lot),
    )


def _of_booking(pk: int) -> Trace | None:
    booking = Booking.objects.filter(pk=pk).first()
    if booking is None:
        return None
    own = Q(wanted__booking=booking)
    lots, more_lots = _touched(own, "lot", _LOTS)
    styli, more_styli = _touched(own, "life__stylus", _STYLI)
    return Trace(
        Traced.BOOKING,
        booking,
        sides().filter(own),
        lots=lots,
        styli=styli,
        cut_off=_named(lots=more_lots, styli=more_styli),
    )


def _of_stylus(pk: int) -> Trace | None:
    stylus = _STYLI.select_related("retired_by").filter(pk=pk).first()
    if stylus is None:
        return None
    own = Q(life__stylus=stylus)
    lots, more_lots = _touched(own, "lot", _LOTS)
    bookings, more_bookings = _touched(own, "wanted__booking", _BOOKINGS)
    return Trace(
        Traced.STYLUS,
        stylus,
        sides().filter(own),
        lots=lots,
        bookings=bookings,
        cut_off=_named(lots=more_lots, bookings=more_bookings),
    )


def _of_side(pk: int) -> Trace | None:
    """One side: its lot, stylus and booking, and all that was cut of the same booked side."""
    side = (
        sides().select_related("lot__supplier", "life__stylus__lot__supplier", "withdrawal__by").filter(pk=pk).first()
    )
    if side is None:
        return None
    own = Q(pk=pk) if side.wanted_id is None else Q(wanted=side.wanted_id)
    return Trace(Traced.SIDE, side, sides().filter(own))


def _touched(own: Q, by: str, rows: QuerySet[Any]) -> tuple[list[Touched], bool]:
    """What the sides `own` share by that key, latest first, and whether there is more than is listed: two queries."""
    counted = (
        Side.objects.filter(own, **{f"{by}__isnull": False})
        .order_by()
        .values(by)
        .annotate(
            stand=Count("pk", filter=Q(withdrawal__isnull=True)),
            gone=Count("withdrawal"),
            first=Min("at"),
            last=Max("at"),
            latest=Max("pk"),
        )
        .order_by("-last", "-latest")[: MOST_TOUCHED + 1]
    )
    found = list(counted)
    shown = found[:MOST_TOUCHED]
    known = rows.in_bulk([one[by] for one in shown])
    touched = [Touched(known[one[by]], one["stand"], one["gone"], one["first"], one["last"]) for one in shown]
    return touched, len(found) > MOST_TOUCHED


def _with_unused(touched: list[Touched], every: QuerySet[Any]) -> tuple[list[Touched], bool]:
    """All rows of `every`, with the counts of those that were touched; and whether there are more."""
    counts = {one.row.pk: one for one in touched}
    found = list(every.order_by("mark")[: MOST_TOUCHED + 1])
    return [counts.get(row.pk, Touched(row)) for row in found[:MOST_TOUCHED]], len(found) > MOST_TOUCHED


def _named(**more: bool) -> tuple[str, ...]:
    return tuple(name for name, is_more in more.items() if is_more)

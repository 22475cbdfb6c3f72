"""How a trace is written out: what is known of the thing itself, and what has become of it."""

from dataclasses import dataclass
from datetime import date, datetime

from django.urls import reverse
from django.utils import timezone

from shop import clock
from shop.cutting.models import Booking, Side, Stylus
from shop.cutting.queries import Trace, Traced, is_withdrawn
from shop.people.models import Units
from shop.stock.amounts import in_words
from shop.stock.models import Lot
from shop.stock.queries import gone_of
from shop.wording import in_full


@dataclass(frozen=True)
class Fact:
    """One thing known, under its label. link: the path of what the text names, "" for none; more: said after it."""

    label: str
    text: str
    link: str = ""
    more: str = ""


def link_of(kind: Traced, pk: int) -> str:
    """The path of a trace."""
    return reverse("cutting:trace-of", args=[kind.value, pk])


def title_of(trace: Trace) -> str:
    if trace.kind == Traced.SIDE:
        return f"Side {trace.row.wanted}" if trace.row.wanted else str(trace.row)
    name = trace.row.code if trace.kind == Traced.BOOKING else str(trace.row)
    return f"{trace.kind.label} {name}"


def marks_of(trace: Trace) -> list[str]:
    """What has become of it, in a word or two each: it shows as what it is now."""
    day = clock.today()
    if trace.kind == Traced.LOT:
        return ["its delivery was undone"] if trace.is_void else lot_marks(trace.row, day)
    if trace.kind == Traced.BOOKING:
        return [booking_state(trace.row)]
    if trace.kind == Traced.STYLUS:
        return [f"retired: {trace.row.get_retired_why_display().lower()}"] if trace.row.retired_at else []
    return ["withdrawn"] if is_withdrawn(trace.row) else []


def lot_marks(lot: Lot, day: date) -> list[str]:
    if not lot.on_hand:
        return ["used up"]
    marks = ["on hold"] if lot.is_held else []
    return [*marks, "past its date"] if lot.is_past_date(day) else marks


def booking_state(booking: Booking) -> str:
    if booking.finished_at is not None:
        return "finished"
    return "cancelled" if booking.cancelled_at is not None else "open"


def facts_of(trace: Trace, reader: Units) -> list[Fact]:
    """What is known of the traced thing, quantities in the reader's units."""
    if trace.kind == Traced.LOT:
        return _lot(trace.row, reader)
    if trace.kind == Traced.BOOKING:
        return _booking(trace.row)
    return _stylus(trace.row) if trace.kind == Traced.STYLUS else _side(trace.row)


def _lot(lot: Lot, reader: Units) -> list[Fact]:
    facts = [
        Fact("Of", lot.item.name, lot.item.get_absolute_url()),
        Fact("From", lot.supplier.name if lot.supplier else "not known"),
        Fact("Came in", in_full(lot.received_on)),
        Fact("Made", in_full(lot.made_on) if lot.made_on else "not known"),
        Fact("Usable through", in_full(lot.last_day) if lot.last_day else "no date"),
        Fact("On hand", in_words(lot.on_hand, lot.item, reader)),
    ]
    gone = gone_of([lot.pk]).get(lot.pk)
    if gone is not None:
        parts = ((gone.went_back, "went back"), (gone.spoiled, "spoiled"))
        said = ", ".join(f"{in_words(value, lot.item, reader)} {words}" for value, words in parts if value)
        facts.append(Fact("What became of it", said))
    if lot.held_at is not None and lot.on_hand:
        facts.append(Fact("On hold", f"since {moment_words(lot.held_at)}, {lot.held_by}: {lot.held_why}"))
    return [*facts, Fact("Note", lot.note)] if lot.note else facts


def _booking(booking: Booking) -> list[Fact]:
    facts = [Fact("Title", booking.title)]
    if booking.customer:
        facts.append(Fact("For", booking.customer))
    facts.append(Fact("To be cut on", in_full(booking.cut_on)))
    if booking.finished_at is not None:
        facts.append(Fact("Finished", moment_words(booking.finished_at)))
    if booking.cancelled_at is not None:
        facts.append(Fact("Cancelled", moment_words(booking.cancelled_at)))
    return facts


def _stylus(stylus: Stylus) -> list[Fact]:
    facts = [Fact("Kind", str(stylus.kind)), Fact("Came in", in_full(stylus.received_on)), *_source(stylus.lot)]
    if stylus.retired_at is not None:
        why = stylus.get_retired_why_display().lower()
        facts.append(Fact("Retired", f"{moment_words(stylus.retired_at)}, {stylus.retired_by}: {why}"))
    return [*facts, Fact("Note", stylus.note)] if stylus.note else facts


def _source(lot: Lot | None, label: str = "From lot") -> list[Fact]:
    if lot is None:
        return [Fact(label, "not known")]
    by = f" of {lot.supplier}" if lot.supplier else ""
    return [Fact(label, lot.code, link_of(Traced.LOT, lot.pk), f"{by}, came in {in_full(lot.received_on)}")]


def _side(side: Side) -> list[Fact]:
    stylus = side.life.stylus
    facts = [Fact("Ended", f"{moment_words(side.at)}, cut by {side.cut_by} on {side.lathe}")]
    if side.judged_by is not None:
        facts.append(Fact("Judged", f"by {side.judged_by}"))
    if side.wanted is not None:
        booking = side.wanted.booking
        facts.append(Fact("Booking", booking.code, link_of(Traced.BOOKING, booking.pk), f" {booking.title}"))
    else:
        facts.append(Fact("Booking", "none"))
    facts.append(Fact("Outcome", outcome_words(side)))
    if side.cut_text:
        facts.append(Fact("Text in the run-out", side.cut_text))
    facts.append(Fact("Blank", side.lot.item.name, side.lot.item.get_absolute_url()))
    facts += _source(side.lot, "Of lot")
    facts.append(Fact("Stylus", stylus.mark, link_of(Traced.STYLUS, stylus.pk), f", life {side.life.number}"))
    facts += _source(stylus.lot, "Stylus from lot")
    if side.overruled:
        facts.append(Fact("Overruled because", side.overruled))
    return [*facts, Fact("Note", side.note)] if side.note else facts


def outcome_words(side: Side) -> str:
    """ "Rejected: noisy blank; withdrawn 3 March 2025, 10:04: entered twice"."""
    said = side.get_outcome_display()
    if side.reject_reason is not None:
        said += f": {side.reject_reason}"
    if is_withdrawn(side):
        said += f"; withdrawn {moment_words(side.withdrawal.at)}: {side.withdrawal.reason}"
    return said


def moment_words(moment: datetime) -> str:
    local = timezone.localtime(moment)
    return f"{in_full(local.date())}, {local:%H:%M}"

"""What stock is worried about: too little of something, lots near or past their date, lots on hold."""

from collections.abc import Iterator
from datetime import date, datetime

from django.urls import reverse

from shop import clock
from shop.concern import Concern, Grade
from shop.people.models import Units
from shop.people.queries import the_room
from shop.stock import queries
from shop.stock.amounts import in_words
from shop.stock.models import Item, ItemKind, Lot
from shop.stock.rules import in_full


def concerns(now: datetime) -> Iterator[Concern]:
    """All worries about stock at `now`, with days in the zone now active. Three queries, whatever the history."""
    day = clock.day_of(now)
    room = the_room()
    for stock in queries.blank_stock(day).values():
        if worry := about_blanks(stock):
            yield worry
    levels = queries.levels_on_shelf(day)
    for item in queries.items_on_shelf():
        if item.kind == ItemKind.BLANK or not item.is_active or not item.minimum:
            continue
        if worry := about_level(item, levels.get(item.pk, queries.Level()), room):
            yield worry
    for lot in queries.lots_to_watch(day):
        yield about_lot(lot, day, room)


def about_blanks(stock: queries.BlankStock) -> Concern | None:
    """Blanks of a size: note when fewer than the minimum are free, care when bookings want more than can be used, or
    none is left of a size that has a minimum."""
    short = stock.first_short
    if stock.free >= stock.minimum and short is None:
        return None
    held = f", {stock.held} of them on hold" if stock.held else ""
    counted = f"{stock.usable} usable ({stock.on_hand} on hand{held})"
    if stock.claimed:
        counted += f", {stock.claimed} wanted by bookings"
    counted += f"; the minimum is {stock.minimum}." if stock.minimum else "."
    if short is not None:
        headline = f"{-stock.free} {'blank' if stock.free == -1 else 'blanks'} of {stock.size} short for what is booked"
        counted += f" They run out at {short.label} on {in_full(short.day)}."
    elif stock.usable == 0:
        headline = f"No usable {stock.size} blanks"
    else:
        headline = f"{stock.free} {stock.size} {'blank' if stock.free == 1 else 'blanks'} free, below {stock.minimum}"
    return Concern(
        key=f"stock:low:blank-{stock.blank_in}",
        grade=Grade.CARE if short is not None or stock.usable == 0 else Grade.NOTE,
        subject=f"{stock.size} blanks",
        headline=headline,
        reason=counted,
        what_to_do=f"Order more, {'look whether a held lot can be released, ' if stock.held else ''}or move a booking.",
        link=reverse("stock:items"),
        by=clock.day_bounds(short.day)[0] if short is not None else None,
    )


def about_level(item: Item, level: queries.Level, reader: Units) -> Concern | None:
    """Another item: note when less than its minimum is usable, care when none is."""
    if level.usable >= item.minimum:
        return None
    usable, minimum, on_hand = (in_words(value, item, reader) for value in (level.usable, item.minimum, level.on_hand))
    return Concern(
        key=f"stock:low:item-{item.pk}",
        grade=Grade.NOTE if level.usable else Grade.CARE,
        subject=item.name,
        headline=f"{item.name}: {usable} usable, below {minimum}" if level.usable else f"{item.name}: none usable",
        reason=f"{usable} usable ({on_hand} on hand); the minimum is {minimum}.",
        what_to_do="Order more, or enter the delivery if it has come.",
        link=item.get_absolute_url(),
    )


def about_lot(lot: Lot, day: date, reader: Units) -> Concern:
    """A lot on hold (note), past its date (care) or near it (note)."""
    left = f"{in_words(lot.on_hand, lot.item, reader)} on hand"
    subject = f"{lot.item.name}, lot {lot.code}"
    if lot.is_held:
        assert lot.held_at is not None
        held_on = in_full(clock.day_of(lot.held_at))
        return Concern(
            key=f"stock:held:lot-{lot.pk}",
            grade=Grade.NOTE,
            subject=subject,
            headline=f"Lot {lot.code} is on hold",
            reason=f"{lot.held_why or 'No reason given'} ({lot.held_by}, {held_on}); {left}.",
            what_to_do="Decide: release it, send it back, or spoil it.",
            link=lot.get_absolute_url(),
        )
    assert lot.last_day is not None
    after = clock.day_bounds(lot.last_day)[1]
    if lot.is_past_date(day):
        return Concern(
            key=f"stock:past:lot-{lot.pk}",
            grade=Grade.CARE,
            subject=subject,
            headline=f"Lot {lot.code} is past its date",
            reason=f"It was usable through {in_full(lot.last_day)}; {left}.",
            what_to_do="Take it off the shelf: send it back or spoil it. An engineer may overrule with a reason.",
            link=lot.get_absolute_url(),
            by=after,
        )
    days = (lot.last_day - day).days
    until = "today" if days == 0 else "tomorrow" if days == 1 else f"for {days} more days"
    return Concern(
        key=f"stock:near:lot-{lot.pk}",
        grade=Grade.NOTE,
        subject=subject,
        headline=f"Lot {lot.code} is usable only {until}" if days < 2 else f"Lot {lot.code} is usable {until}",
        reason=f"It is usable through {in_full(lot.last_day)}; {left}.",
        what_to_do="Use it first.",
        link=lot.get_absolute_url(),
        by=after,
    )

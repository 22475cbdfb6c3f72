"""How an outlook is said: what to do, what it rests on, and which assumption fills a gap."""

from collections.abc import Iterator
from datetime import date, datetime, timedelta
from typing import NamedTuple

from django.utils import timezone

from shop import clock
from shop.calc.demand import METHOD_WORDS, MethodName, Outlook
from shop.people.models import Units
from shop.stock import rules
from shop.stock.amounts import in_words, is_or_are, kind_of
from shop.stock.models import Item, Movement
from shop.stock.queries.outlook import MOST_WEEKS, SHARE_WEEKS, Basis
from shop.wording import chance_words, in_full, per_cent


class Reason(NamedTuple):
    """What a part of the outlook rests on: its name and one to three sentences."""

    about: str
    words: str


def rate_words(per_week: float, item: Item, reader: Units) -> str:
    """An expected use: with decimals where pieces are few, in whole units where it is measured."""
    if per_week < 0.005:
        return "0"
    if kind_of(item) is None:
        return f"{per_week:.{0 if per_week >= 99.5 else 1 if per_week >= 0.95 else 2}f}"
    return in_words(round(per_week), item, reader) if per_week >= 0.5 else f"under {in_words(1, item, reader)}"


def day_words(day: date, today: date) -> str:
    """A day to come: "today", "tomorrow", "Thursday 3 December", with its year when that is not this one."""
    if day <= today:
        return "today"
    if day == today + timedelta(days=1):
        return "tomorrow"
    return f"{day:%A} {day.day} {day:%B}{f' {day.year}' if day.year != today.year else ''}"


def moment_words(moment: datetime, today: date) -> str:
    """When something was worked out: "at 08:10", with its day where that is not today."""
    local = timezone.localtime(moment)
    day = "" if local.date() == today else f"on {in_full(local.date())} "
    return f"{day}at {local:%H:%M}"


def happened_words(movement: Movement, today: date) -> str:
    """When a movement happened: as `moment_words`, and no hour where only the day is known."""
    if rules.is_day_only(movement):
        return f"on {in_full(clock.day_of(movement.at))}"
    return moment_words(movement.at, today)


# What to do -----------------------------------------------------------------------------------------------------------


def advice_words(basis: Basis, outlook: Outlook, reader: Units) -> str:
    """What to do about an item, in one or two sentences."""
    item = basis.item
    if outlook.order_by_days is None:
        weeks = outlook.weeks[-1].number
        return f"Nothing has to be ordered within the next {weeks} weeks."
    quantity = in_words(outlook.suggestion.quantity, item, reader)
    by = basis.day + timedelta(days=outlook.order_by_days)
    when = "now" if outlook.order_by_days <= 0 else f"by {day_words(by, basis.day)}"
    held = f" {held_words(basis.held, item, reader)}" if basis.held else ""
    return f"Order {quantity} {when}.{held}"


def held_words(held: int, item: Item, reader: Units) -> str:
    """That what is on hold is left out of a suggestion."""
    return (
        f"{in_words(held, item, reader)} on hold {is_or_are(held, item)} not counted: decide about that first, for "
        "what is released need not be ordered."
    )


def quantity_words(basis: Basis, outlook: Outlook, reader: Units) -> str:
    """How the suggested quantity came about."""
    item, found = basis.item, outlook.suggestion

    def said(value: int) -> str:
        return in_words(value, item, reader)

    enough = f"{said(found.wanted)} is enough" if found.wanted != found.quantity else "Enough"
    weeks = "a week" if item.cover_weeks == 1 else f"{item.cover_weeks} weeks"
    sentences = [
        f"{enough} for {weeks} beyond the arrival, with the margin that {level_words(item.service_level)} asks for."
    ]
    if found.cap == "age":
        sentences.append("That is held down to what is likely to be used before it ages.")
    elif found.cap == "room":
        sentences.append(f"That is held down to what the shelf has room for, {said(item.shelf_room or 0)}.")
    sentences += _rounding(item, found.quantity, found.wanted, reader, capped=found.cap != "none")
    if found.over_cap:
        sentences.append(f"Even the smallest order is {said(found.over_cap)} more than that.")
    if found.expected_aged >= 0.5:
        sentences.append(f"About {said(round(found.expected_aged))} of it are likely to pass their date unused.")
    if found.lasts_days is not None:
        until = in_full(basis.day + timedelta(days=found.lasts_days))
        sentences.append(f"With it, stock is expected to last until about {until}.")
    return " ".join(sentences)


def _rounding(item: Item, quantity: int, wanted: int, reader: Units, *, capped: bool) -> Iterator[str]:
    if item.pack_size > 1 and quantity:
        packs = quantity // item.pack_size
        made = "1 pack" if packs == 1 else f"{packs} packs"
        yield f"Ordered in {made} of {in_words(item.pack_size, item, reader)}: {in_words(quantity, item, reader)}."
    least = item.minimum_order
    if least > item.pack_size and quantity > wanted and quantity - item.pack_size < least and not capped:
        yield f"The supplier's smallest order is {in_words(least, item, reader)}."


# What it rests on -----------------------------------------------------------------------------------------------------


def reasons(basis: Basis, outlook: Outlook, reader: Units) -> list[Reason]:
    """Which data, how much of it, and which assumption fills a gap; one entry a part."""
    return [
        Reason("Past use", _past_words(basis, outlook, reader)),
        Reason("Forecast", _forecast_words(basis, outlook, reader)),
        *([Reason("Booked", _booked_words(basis, reader))] if basis.item.blank_in is not None else []),
        Reason("Lead time", _lead_words(basis)),
        Reason("On the shelf", _shelf_words(basis, outlook, reader)),
        *([Reason("On order", _order_words(basis, reader))] if basis.arrivals or basis.drafts else []),
        Reason("Your figures", _figures_words(basis.item, reader)),
        Reason("How it is reckoned", _reckoned_words(basis, outlook, reader)),
    ]


def _past_words(basis: Basis, outlook: Outlook, reader: Units) -> str:
    weeks, item = len(basis.counts), basis.item
    if not weeks:
        told = "No whole week of use is known yet."
    else:
        assert basis.first_week is not None
        used = in_words(sum(basis.counts), item, reader)
        empty = sum(1 for count in basis.counts if not count)
        since = in_full(basis.first_week)
        told = f"{used} in {weeks} whole week{'' if weeks == 1 else 's'} since {since}"
        told += f", {empty} of them without use." if 0 < empty < weeks else "."
        if weeks == MOST_WEEKS:
            told += " What is older is left out."
    if basis.past_until is not None:
        until = in_full(basis.past_until)
        told += f" What files told of the time before the ledger, up to the week of {until}, is among it."
    if outlook.picked.expected_per_week is not None:
        told += (
            f" Your expectation of {rate_words(outlook.picked.expected_per_week, item, reader)} a week is what it "
            "starts from, and gives way to what is recorded."
        )
    if basis.this_week:
        told += (
            f" What was used this week, {in_words(basis.this_week, item, reader)}, is off the shelf, but counts as use "
            "only when the week is over on Sunday."
        )
    return told


def _forecast_words(basis: Basis, outlook: Outlook, reader: Units) -> str:
    picked = outlook.picked
    if basis.counts and not any(basis.counts) and picked.expected_per_week is None:
        return "None was used, so none is expected."
    return f"{rate_words(picked.forecast.per_week, basis.item, reader)} a week. {picked.rests_on}"


def _booked_words(basis: Basis, reader: Units) -> str:
    item = basis.item
    if not basis.due:
        told = "Nothing is booked of it."
    else:
        last = max(due.claim.day for due in basis.due)
        told = (
            f"{in_words(basis.booked, item, reader)} up to {in_full(last)}. A week asks for what is booked, and "
            "for the usual use as far as that goes beyond."
        )
    if basis.fellows:
        told += (
            f" Bookings ask for a size, not for an item: {level_words(basis.share)} of what is booked of "
            f"{item.get_blank_in_display()} is counted here, its share of that size's use in the last {SHARE_WEEKS} "
            "weeks (or, without any, of what is on hand)."
        )
    return told


def _lead_words(basis: Basis) -> str:
    lead = basis.lead
    early, late = lead.quantile(0.05), lead.quantile(0.95)
    from_whom = "" if basis.item.supplier is not None else " The item has no usual supplier."
    return f"About {lead.mean_days:.0f} days, 9 in 10 between {early} and {late}. {lead.rests_on}{from_whom}"


def _shelf_words(basis: Basis, outlook: Outlook, reader: Units) -> str:
    item = basis.item
    lots = len(basis.lots)
    told = f"{in_words(basis.usable, item, reader)} usable in {lots} lot{'' if lots == 1 else 's'}"
    left_out = [
        f"{in_words(value, item, reader)} {words}"
        for value, words in ((basis.held, "on hold"), (basis.past_date, "past the date"))
        if value
    ]
    if left_out:
        told += f"; {' and '.join(left_out)} left out"
    aged = outlook.expected_aged
    return f"{told}. If what expires first is taken first, " + (
        f"{rate_words(aged, item, reader)} of it are likely to pass their date unused."
        if aged >= 0.05
        else "none of it is likely to pass its date unused."
    )


def _order_words(basis: Basis, reader: Units) -> str:
    sentences = []
    for arrival in basis.arrivals:
        early, late = arrival.likely_on(basis.day, 0.05), arrival.likely_on(basis.day, 0.95)
        moved = ""
        if arrival.moved_days:
            way = "later" if arrival.moved_days > 0 else "earlier"
            moved = f", {abs(arrival.moved_days)} days {way} than first promised"
        sentences.append(
            f"{arrival.line.order}: {in_words(arrival.quantity, basis.item, reader)}, sent {in_full(arrival.sent_on)}"
            f"{moved}; likely to come between {in_full(early)} and {in_full(late)}."
        )
    sentences += [
        f"{line.order} is a draft ({in_words(line.quantity, basis.item, reader)}): it counts when it is sent."
        for line in basis.drafts
    ]
    return " ".join(sentences)


def _figures_words(item: Item, reader: Units) -> str:
    told = [
        f"Service level {level_words(item.service_level)}",
        f"an order lasts {item.cover_weeks} week{'' if item.cover_weeks == 1 else 's'}",
        "no pack" if item.pack_size == 1 else f"packs of {in_words(item.pack_size, item, reader)}",
        f"smallest order {in_words(item.minimum_order, item, reader)}" if item.minimum_order else "no smallest order",
        f"room for {in_words(item.shelf_room, item, reader)}" if item.shelf_room else "no limit of room",
        f"a new lot lasts {item.shelf_days} days" if item.shelf_days else "a new lot does not age",
    ]
    return f"{', '.join(told)}."


def _reckoned_words(basis: Basis, outlook: Outlook, reader: Units) -> str:
    point = in_words(outlook.reorder_point, basis.item, reader)
    mean = rate_words(outlook.lead_demand.mean, basis.item, reader)
    told = (
        f"Until an order comes, {mean} are expected to be used, give or take "
        f"{rate_words(outlook.lead_demand.sd, basis.item, reader)}. With {point} usable and on order that is met "
        f"{chance_words(outlook.chance_met)} of the time: at {point} or below it is time to order."
    )
    if outlook.grain > 1:
        told += f" Reckoned in steps of {in_words(outlook.grain, basis.item, reader)}."
    return told


# The picture and the back-test ----------------------------------------------------------------------------------------


def fan_words(basis: Basis, outlook: Outlook, reader: Units) -> str:
    """The fan chart in words."""
    item = basis.item

    def said(value: int) -> str:
        return in_words(value, item, reader)

    near, last = outlook.weeks[min(7, len(outlook.weeks) - 1)], outlook.weeks[-1]
    told = f"{said(basis.usable)} usable today."
    for week in (near, last):
        fan = week.stock
        if fan.p5 == fan.p95:
            told += f" In {week.number} weeks {said(fan.p50) if fan.p50 else 'nothing'}."
        else:
            told += (
                f" In {week.number} weeks about {said(fan.p50)}, 9 in 10 between {said(fan.p5)} and {said(fan.p95)}."
            )
    days = {due.claim.day for due in basis.due}
    if days:
        told += f" Something is booked on {len(days)} day{'' if len(days) == 1 else 's'} up to {in_full(max(days))}."
    for arrival in basis.arrivals:
        told += f" {said(arrival.quantity)} on order, likely by {in_full(arrival.likely_on(basis.day))}."
    if outlook.order_by_days is not None:
        told += f" Order by {in_full(basis.day + timedelta(days=max(0, outlook.order_by_days)))}."
    return told


def method_words(method: MethodName) -> str:
    words = METHOD_WORDS[method]
    return words[0].upper() + words[1:]


def level_words(share: float) -> str:
    """A service level or a share, with a decimal only where it has one."""
    return per_cent(share, 0 if abs(100 * share - round(100 * share)) < 0.05 else 1)

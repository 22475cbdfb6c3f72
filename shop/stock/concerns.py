"""What stock is worried about: too little of something or soon to be ordered, lots near or past their date, on hold,
not looked over or clearly worse than their fellows, and orders that are late or will come too late."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime

from django.urls import reverse

from shop import clock
from shop.concern import Concern, Grade
from shop.people.models import Room, Units
from shop.people.queries import the_room
from shop.recall import looking
from shop.stock import queries, wording
from shop.stock.amounts import in_words, written
from shop.stock.claims import Claim
from shop.stock.compared import worse_words
from shop.stock.models import Item, ItemKind, Lot, OrderLine
from shop.wording import chance_words, in_full


def concerns(now: datetime) -> list[Concern]:
    """All worries about stock at `now`, with days in the zone now active. Two queries and the claims, whatever the
    history."""
    with looking():  # all of it is read off the shelf
        day, room = clock.day_of(now), the_room()
        blanks = queries.blank_stock(day).values()
        return [
            *_about_too_little(blanks, now, room),
            *(about_lot(lot, day, room) for lot in queries.lots_to_watch(day)),
            *(about_a_look(lot, room) for lot in queries.lots_to_look_over(day)),
            *(about_worse(lot) for lot in queries.worse_lots()),
            *_about_orders(blanks, day, room),
        ]


def _about_too_little(blanks: Iterable[queries.BlankStock], now: datetime, room: Room) -> Iterator[Concern]:
    """What there is too little of, and what is to be ordered soon: of one thing one worry, the graver of the two."""
    day = clock.day_of(now)
    levels, coming = queries.levels_on_shelf(day), queries.on_order()
    due = queries.reorders(day, levels, coming)
    for stock in blanks:
        own = [due.pop(item) for item in stock.items if item in due]
        if worry := about_blanks(stock, day, own, coming=sum(coming.get(item, 0) for item in stock.items)):
            yield worry
        else:
            yield from (about_reorder(reorder, now, room) for reorder in own)
    for item in queries.items_on_shelf():
        if item.kind == ItemKind.BLANK or not item.is_active:
            continue
        level, reorder = levels.get(item.pk, queries.Level()), due.get(item.pk)
        if worry := about_level(item, level, room, reorder, coming=coming.get(item.pk, 0)):
            yield worry
        elif reorder is not None:
            yield about_reorder(reorder, now, room)
    if since := queries.stale_since(now):
        yield about_stale_figures(since)


def about_reorder(reorder: queries.Reorder, now: datetime, reader: Units) -> Concern:
    """An item to be ordered: note from two weeks ahead, care once the last day for it has come."""
    item, figure, day = reorder.item, reorder.figure, clock.day_of(now)
    counted = f"{in_words(reorder.level.usable, item, reader)} usable"
    if reorder.level.held:
        counted += f", {in_words(reorder.level.held, item, reader)} on hold"
    if reorder.on_order:
        counted += f", {in_words(reorder.on_order, item, reader)} on order"
    counted += f"; {wording.rate_words(figure.per_week or 0.0, item, reader)} a week are used."
    if reorder.chance_out is not None:
        counted += f" Ordered today, the chance of running out before it comes is {chance_words(reorder.chance_out)}."
    return Concern(
        key=f"stock:order:item-{item.pk}",
        grade=Grade.CARE if reorder.is_due else Grade.NOTE,
        subject=item.name,
        headline=f"Order {item.name} {_when(reorder, day)}",
        reason=f"{counted} Worked out {wording.moment_words(figure.worked_at, day)}.",
        what_to_do=f"Order {_how_much(reorder, reader)}.{_held_first(reorder.level.held, item, reader)}",
        link=reverse("stock:item-outlook", args=[item.pk]),
        by=None if reorder.is_due else clock.day_bounds(reorder.by)[0],
        quantities=written(
            item,
            reader,
            *(reorder.level.usable, reorder.level.held, reorder.on_order, figure.quantity or 0),
            *(round(figure.per_week or 0.0), 1),  # as rate_words has it: "under 1 ml"
        ),
    )


def _when(reorder: queries.Reorder, day: date) -> str:
    return "now" if reorder.is_due else f"by {wording.day_words(reorder.by, day)}"


def _how_much(reorder: queries.Reorder, reader: Units) -> str:
    return in_words(reorder.figure.quantity, reorder.item, reader) if reorder.figure.quantity else "more"


def _held_first(held: int, item: Item, reader: Units) -> str:
    return f" {wording.held_words(held, item, reader)}" if held else ""


def about_stale_figures(since: datetime) -> Concern:
    """What to order was not worked out for more than a day: note."""
    return Concern(
        key="stock:outlook:stale",
        grade=Grade.NOTE,
        subject="Outlook",
        headline="What to order was not worked out lately",
        reason=f"Some of it was worked out {wording.moment_words(since, clock.today())} for the last time.",
        what_to_do="Look at the outlook, which is worked out for you then. See that the program's clock runs.",
        link=reverse("stock:outlook"),
    )


def _about_orders(blanks: Iterable[queries.BlankStock], day: date, room: Room) -> Iterator[Concern]:
    """Late orders, and arrivals that come too late for what is booked."""
    lines = queries.to_come()
    for own in _by_order(lines).values():
        if own[0].order.is_late(day):
            yield about_late(own, day, room)
    for stock in blanks:
        if worry := about_too_late(stock, lines, day):
            yield worry


def _by_order(lines: Iterable[OrderLine]) -> dict[int, list[OrderLine]]:
    found: dict[int, list[OrderLine]] = {}
    for line in lines:
        found.setdefault(line.order_id, []).append(line)
    return found


def about_late(lines: list[OrderLine], day: date, reader: Units) -> Concern:
    """An order of which something is still to come on the day after it was expected: care. lines: what is to come."""
    order = lines[0].order
    assert order.expected_on is not None
    days = (day - order.expected_on).days
    missing = ", ".join(f"{in_words(line.open_quantity, line.item, reader)} of {line.item.name}" for line in lines)
    return Concern(
        key=f"stock:late:order-{order.pk}",
        grade=Grade.CARE,
        subject=f"Order {order.pk}",
        headline=f"Order {order.pk} from {order.supplier.name} is {days} {'day' if days == 1 else 'days'} late",
        reason=f"It was expected on {in_full(order.expected_on)}. Still to come: {missing}.",
        what_to_do="Ask when it comes. Enter the new day, receive what has come, or close the order.",
        link=order.get_absolute_url(),
        quantities=tuple(one for line in lines for one in written(line.item, reader, line.open_quantity)),
    )


def about_too_late(stock: queries.BlankStock, lines: Iterable[OrderLine], day: date) -> Concern | None:
    """Blanks of a size that are on their way, but only after bookings have run out of them: care.

    What is late already has no day that can be believed, and counts as no arrival.
    """
    coming = [
        (line.order.expected_on, line)
        for line in lines
        if line.item.blank_in == stock.blank_in and line.order.expected_on and line.order.expected_on >= day
    ]
    claim = _short_in_spite_of(stock, [(on, line.open_quantity) for on, line in coming], day)
    needed_on = max(claim.day, day) if claim is not None else day
    after = [(on, line) for on, line in coming if on > needed_on]
    if claim is None or not after:
        return None
    on, line = after[0]
    days = (on - needed_on).days
    later = f"{days} {'day' if days == 1 else 'days'} {'from today' if claim.day < day else 'later'}"
    return Concern(
        key=f"stock:too-late:blank-{stock.blank_in}",
        grade=Grade.CARE,
        subject=f"{stock.size} blanks",
        headline=f"Order {line.order_id} comes too late for {claim.label}",
        reason=(
            f"Bookings run out of {stock.size} blanks at {_wanted_words(claim, day)}, also with what is to come by "
            f"then. The next {line.open_quantity} are expected on {in_full(on)}, {later}."
        ),
        what_to_do="Ask for an earlier day, get some elsewhere, or move the booking.",
        link=line.order.get_absolute_url(),
        by=_wanted_by(claim, day),
    )


def _short_in_spite_of(stock: queries.BlankStock, coming: Iterable[tuple[date, int]], day: date) -> Claim | None:
    """The first claim, by day, that neither the usable blanks reach for nor what comes by its day, or by `day`."""
    left, arrivals = stock.usable, list(coming)
    for claim in stock.claims:
        left -= claim.quantity
        if left + sum(quantity for on, quantity in arrivals if on <= max(claim.day, day)) < 0:
            return claim
    return None


def _wanted_words(claim: Claim, day: date) -> str:
    """What wants blanks, and when: what is left over from an earlier day wants them now."""
    if claim.day < day:
        return f"{claim.label}, left over from {in_full(claim.day)}"
    return f"{claim.label} {'today' if claim.day == day else f'on {in_full(claim.day)}'}"


def _wanted_by(claim: Claim, day: date) -> datetime | None:
    """By when; None for what is left over, whose day has gone by."""
    return clock.day_bounds(claim.day)[0] if claim.day >= day else None


def about_a_look(lot: Lot, reader: Units) -> Concern:
    """Blanks that came on an order and that nobody looked over: note."""
    return Concern(
        key=f"stock:look-over:lot-{lot.pk}",
        grade=Grade.NOTE,
        subject=f"{lot.item.name}, lot {lot.code}",
        headline=f"Lot {lot.code} was not looked over yet",
        reason=f"It came on {in_full(lot.received_on)}; {in_words(lot.on_hand, lot.item, reader)} on hand.",
        what_to_do="Look at some of it before it is used, and enter what you see.",
        link=lot.get_absolute_url(),
        quantities=written(lot.item, reader, lot.on_hand),
    )


def about_blanks(
    stock: queries.BlankStock, day: date, due: Sequence[queries.Reorder] = (), *, coming: int = 0
) -> Concern | None:
    """Blanks of a size: note when fewer than the minimum are free, care when bookings want more than can be used, or
    none is left of a size that has a minimum. due: its items that are to be ordered; coming: what is on order of it."""
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
        counted += f" They run out at {_wanted_words(short, day)}."
    elif stock.usable == 0:
        headline = f"No usable {stock.size} blanks"
    else:
        headline = f"{stock.free} {stock.size} {'blank' if stock.free == 1 else 'blanks'} free, below {stock.minimum}"
    is_due = any(reorder.is_due for reorder in due)
    return Concern(
        key=f"stock:low:blank-{stock.blank_in}",
        grade=Grade.CARE if short is not None or stock.usable == 0 or is_due else Grade.NOTE,
        subject=f"{stock.size} blanks",
        headline=headline,
        reason=counted,
        what_to_do=_more_of_it(_order_words(due, Room(), coming=str(coming) if coming else ""), held=bool(stock.held)),
        link=reverse("stock:item-outlook", args=[due[0].item.pk]) if len(due) == 1 else reverse("stock:items"),
        by=_wanted_by(short, day) if short is not None else None,
    )


def _more_of_it(order: str, *, held: bool) -> str:
    """How to come by more blanks: what lies there on hold comes first."""
    if held:
        return f"Look whether a held lot can be released; else {order[0].lower()}{order[1:]}, or move a booking."
    return f"{order}, or move a booking."


def _order_words(due: Sequence[queries.Reorder], reader: Units, *, coming: str) -> str:
    """What to order of what there is too little of; or to ask when it comes, where enough is on order (`coming`)."""
    if not due:
        return f"Ask when the {coming} on order will come" if coming else "Order more"
    return "Order " + " and ".join(f"{_how_much(reorder, reader)} of {reorder.item.name}" for reorder in due)


def about_level(
    item: Item, level: queries.Level, reader: Units, reorder: queries.Reorder | None = None, *, coming: int = 0
) -> Concern | None:
    """Another item: note when less than its minimum is usable, care when none is or it is to be ordered now.

    reorder: that it is to be ordered; coming: what is on order of it.
    """
    if level.usable >= item.minimum:
        return None
    due, on_order = [reorder] if reorder is not None else [], in_words(coming, item, reader) if coming else ""
    usable, minimum, on_hand = (in_words(value, item, reader) for value in (level.usable, item.minimum, level.on_hand))
    return Concern(
        key=f"stock:low:item-{item.pk}",
        grade=Grade.CARE if not level.usable or (reorder is not None and reorder.is_due) else Grade.NOTE,
        subject=item.name,
        headline=f"{item.name}: {usable} usable, below {minimum}" if level.usable else f"{item.name}: none usable",
        reason=f"{usable} usable ({on_hand} on hand); the minimum is {minimum}.",
        what_to_do=f"{_order_words(due, reader, coming=on_order)}, or enter the delivery if it has come.",
        link=reverse("stock:item-outlook", args=[item.pk]) if due else item.get_absolute_url(),
        quantities=written(
            item,
            reader,
            *(level.usable, item.minimum, level.on_hand, coming),
            (reorder.figure.quantity or 0) if reorder is not None else 0,
        ),
    )


def about_lot(lot: Lot, day: date, reader: Units) -> Concern:
    """A lot on hold (note), past its date (care) or near it (note)."""
    left = f"{in_words(lot.on_hand, lot.item, reader)} on hand"
    subject, quantities = f"{lot.item.name}, lot {lot.code}", written(lot.item, reader, lot.on_hand)
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
            quantities=quantities,
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
            quantities=quantities,
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
        quantities=quantities,
    )


def about_worse(lot: Lot) -> Concern:
    """A lot that is clearly worse than its fellows, not on hold: care."""
    return Concern(
        key=f"stock:worse:lot-{lot.pk}",
        grade=Grade.CARE,
        subject=f"{lot.item.name}, lot {lot.code}",
        headline=f"Lot {lot.code} is clearly worse than its fellows",
        reason=worse_words(lot.worse),
        what_to_do="Put it on hold, or look at each blank before it goes on the lathe. Tell the supplier.",
        link=f"{reverse('stock:compare-lots')}?item={lot.item_id}#lot-{lot.pk}",
    )

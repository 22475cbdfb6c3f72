"""The sweep over a large room: every app asked for its worries, and the alerts brought up to date with them.

Run as a program: python -m tests.bench.sweep DUTIES LOTS STYLI; prints JSON.
"""

import sys
import time
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

from tests.bench import care
from tests.bench.alone import alone

PARTS = (("liquid", "ml", None), ("part", "each", None), ("blank", "each", 14), ("part", "g", None))


def fill(duties: int, lots: int, styli: int) -> None:
    """A room with so much in it, much of it a worry: most duties due, a lot in five past its date, one near it, one on
    hold, one of an item that is low; a stylus in ten in the head of a lathe, bookings for today, orders that are late.
    """
    from django.db import transaction

    with transaction.atomic():
        care.fill(duties)
        _fill_stock(lots)
        _fill_cutting(styli)


def _fill_stock(lots: int) -> None:
    from shop import clock
    from shop.people.models import Person
    from shop.stock.models import Item, Lot, Order, OrderLine, Supplier

    today, now, owner = clock.today(), clock.now(), Person.objects.get()
    supplier = Supplier.objects.create(name="Bench Supply", lead_days=10)
    items = Item.objects.bulk_create(
        Item(name=f"Item {n}", kind=kind, unit=unit, blank_in=blank_in, minimum=40 * (n % 5), supplier=supplier)
        for n in range(max(4, lots // 5))
        for kind, unit, blank_in in [PARTS[n % 4]]
    )
    last_days = (today - timedelta(days=3), today + timedelta(days=9), None, None, today + timedelta(days=900))
    Lot.objects.bulk_create(
        Lot(
            item=items[n % len(items)],
            supplier=supplier,
            code=f"L-{n}",
            received_on=date(2025, 1, 1),
            best_before=last_days[n % 5],
            last_day=last_days[n % 5],
            on_hand=20 + n % 30,
            held_at=now if n % 5 == 2 else None,
            held_by=owner if n % 5 == 2 else None,
            held_why="Looks dull." if n % 5 == 2 else "",
        )
        for n in range(lots)
    )
    orders = Order.objects.bulk_create(
        Order(
            supplier=supplier,
            state="sent",
            sent_on=today - timedelta(days=30),
            expected_on=today - timedelta(days=2),
        )
        for _ in range(lots // 10)
    )
    OrderLine.objects.bulk_create(
        OrderLine(order=order, item=items[n % len(items)], quantity=5, is_open=True) for n, order in enumerate(orders)
    )


def _fill_cutting(styli: int) -> None:
    from shop import clock
    from shop.cutting.models import Booking, BookingSide, Fitting, Lathe, Life, Stylus, StylusKind
    from shop.people.models import Person

    today, now, owner = clock.today(), clock.now(), Person.objects.get()
    kind = StylusKind.objects.create(name="Ruby")
    rows = Stylus.objects.bulk_create(
        Stylus(mark=f"Q{n}", kind=kind, received_on=date(2025, 1, 1)) for n in range(styli)
    )
    lives = Life.objects.bulk_create(
        Life(stylus=stylus, began_at=now - timedelta(days=90), cut_s=3600 * (2 + n % 12), sides=5 + n % 40)
        for n, stylus in enumerate(rows)
    )
    lathes = Lathe.objects.bulk_create(Lathe(name=f"Lathe {n}") for n in range(max(2, styli // 10)))
    Fitting.objects.bulk_create(
        Fitting(life=life, lathe=lathe, fitted_at=now - timedelta(days=3), fitted_by=owner)
        for life, lathe in zip(lives, lathes, strict=False)
    )
    ended = lives[len(lathes) :: 2]
    for life in ended:
        life.ended_at, life.end_reason = now - timedelta(days=2), "worn"
    Life.objects.bulk_update(ended, ["ended_at", "end_reason"])
    bookings = Booking.objects.bulk_create(
        Booking(code=f"B-{n}", title="Bench", cut_on=today - timedelta(days=n % 2)) for n in range(styli // 4)
    )
    BookingSide.objects.bulk_create(
        BookingSide(booking=booking, label=label, play_s=(1000, 1900)[n % 2])
        for n, booking in enumerate(bookings)
        for label in "AB"
    )


def queries_of(call: Callable[[], Any]) -> int:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    with CaptureQueriesContext(connection) as seen:
        call()
    return len(seen)


def questions() -> dict[str, Callable[[], Any]]:
    """Each app's question, to be asked now, by its name."""
    from shop import clock, concern

    return {name: lambda ask=ask: list(ask(clock.now())) for name, ask in concern._questions.items()}  # type: ignore[misc]


def measure(duties: int, lots: int, styli: int) -> dict[str, dict[str, float]]:
    """Seconds, queries and how many come of it: of each app's question, and of a sweep that raises all of them, of
    one that finds them as they were, and of one that finds each a little other than it was."""
    from shop import clock
    from shop.duties.starting import work_out_care
    from shop.stock.figures import keep_figures
    from shop.watch import sweep
    from shop.watch.models import Alert

    found: dict[str, dict[str, float]] = {}

    def take(what: str, call: Callable[[], Any]) -> None:
        began, cpu = time.perf_counter(), time.process_time()
        queries = queries_of(call)
        found[what] = {"s": time.perf_counter() - began, "cpu_s": time.process_time() - cpu, "queries": queries}

    with clock.in_zone("UTC"):
        fill(duties, lots, styli)
        work_out_care()
        keep_figures()
        for ask in questions().values():
            ask()  # loads what it needs
        for name, ask in questions().items():
            take(f"{name}, {len(ask())} worries", ask)
        take("sweep that raises them all", sweep.sweep)
        take("sweep with nothing new", sweep.sweep)
        Alert.objects.update(headline="as it was")
        take("sweep that finds all changed", sweep.sweep)
    return found


if __name__ == "__main__":
    alone(measure, *map(int, sys.argv[1:4]))

"""A long history of sides, written straight into the tables: lots of 100 blanks, styli of 40 sides, bookings of 4."""

from datetime import UTC, date, datetime, timedelta

from django.db import connection, transaction

from shop.cutting.models import Booking, BookingSide, Lathe, Life, Side, Stylus, StylusKind
from shop.stock.models import Item, Lot, Movement, Supplier
from tests.makers import make_person, make_room

PER_LOT, PER_STYLUS, PER_BOOKING = 100, 40, 4


def fill_sides(sides: int) -> None:
    """So many sides over ten years, each with its movement and a text in its run-out; SQLite's statistics made."""
    with transaction.atomic():
        make_room()
        owner = make_person("owner", "Bench Owner", "owner")
        item = Item.objects.create(name="14-inch blank", kind="blank", blank_in=14)
        supplier = Supplier.objects.create(name="Bench Blanks")
        lathe, kind = Lathe.objects.create(name="Lathe"), StylusKind.objects.create(name="Ruby")
        end, step = datetime.now(UTC), timedelta(days=3650) / sides
        for begin in range(0, sides, 10_000):
            _some(
                range(begin, min(begin + 10_000, sides)), end - step * sides, step, owner, item, supplier, lathe, kind
            )
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")


def _some(numbers, start, step, owner, item, supplier, lathe, kind) -> None:  # type: ignore[no-untyped-def]
    def of(per):  # type: ignore[no-untyped-def]
        return range(numbers.start // per, -(-numbers.stop // per))

    lots = {n: Lot(item=item, supplier=supplier, code=f"L-{n:05}", received_on=date(2020, 1, 1)) for n in of(PER_LOT)}
    Lot.objects.bulk_create(lots.values())
    styli = {n: Stylus(mark=f"Q{n:05}", kind=kind, received_on=date(2020, 1, 1)) for n in of(PER_STYLUS)}
    Stylus.objects.bulk_create(styli.values())
    lives = {n: Life(stylus=stylus, began_at=start) for n, stylus in styli.items()}
    Life.objects.bulk_create(lives.values())
    bookings = {n: Booking(code=f"B-{n:06}", title="Bench", cut_on=date(2020, 1, 1)) for n in of(PER_BOOKING)}
    Booking.objects.bulk_create(bookings.values())
    wanted = [
        BookingSide(booking=bookings[n // PER_BOOKING], label="ABCD"[n % PER_BOOKING], play_s=1200) for n in numbers
    ]
    BookingSide.objects.bulk_create(wanted)
    moved = [
        Movement(
            lot=lots[n // PER_LOT],
            item=item,
            kind="used",
            change=-1,
            balance=PER_LOT - 1 - n % PER_LOT,
            at=start + n * step,
            recorded_at=start + n * step,
            by=owner,
        )
        for n in numbers
    ]
    Movement.objects.bulk_create(moved)
    Side.objects.bulk_create(
        Side(
            wanted=wanted[place],
            lathe=lathe,
            life=lives[n // PER_STYLUS],
            lot=lots[n // PER_LOT],
            movement=moved[place],
            at=start + n * step,
            recorded_at=start + n * step,
            by=owner,
            disc_in=12,
            speed="33",
            cut_s=1200,
            pitch_um=125,
            width_um=56,
            inner_mm=120,
            length_mm=500_000,
            chip_mg=1200,
            outcome="good",
            cut_text=f"B-{n // PER_BOOKING:06} {'ABCD'[n % PER_BOOKING]}",
        )
        for place, n in enumerate(numbers)
    )

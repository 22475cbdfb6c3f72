"""Fills an empty database with a long ledger, quickly: rows that add up, written straight into the tables."""

from datetime import UTC, date, datetime, timedelta

from django.db import connection, transaction

from shop.stock.models import Item, Lot, Movement
from tests.makers import make_person, make_room

#: One delivery of so many, used up one at a time, save for the last lots, which are left half full.
LOT = 100


def fill(movements: int) -> None:
    """A room with a starter item, `movements` movements over ten years, and half a lot on hand."""
    with transaction.atomic():
        make_room()
        owner = make_person("owner", "Bench Owner", "owner")
        item = Item.objects.create(name="14-inch blank", kind="blank", blank_in=14, minimum=5)
    end = datetime.now(UTC)
    step = timedelta(days=3650) / movements
    at = end - timedelta(days=3650)
    rows: list[Movement] = []
    with transaction.atomic():
        made = 0
        while made < movements:
            lot = Lot.objects.create(item=item, code=f"L{made}", received_on=date(2020, 1, 1))
            here = min(LOT + 1, movements - made)
            left = LOT
            rows.append(_row(lot, item, owner, "received", LOT, left, at))
            for _ in range(here - 1):
                at += step
                left -= 1
                rows.append(_row(lot, item, owner, "used", -1, left, at))
            if made + here >= movements:
                left = max(left, 1)
            Lot.objects.filter(pk=lot.pk).update(on_hand=left)
            made += here
            if len(rows) >= 20_000:
                Movement.objects.bulk_create(rows)
                rows = []
        Movement.objects.bulk_create(rows)
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")


def _row(lot, item, owner, kind: str, change: int, balance: int, at: datetime) -> Movement:  # type: ignore[no-untyped-def]
    return Movement(lot=lot, item=item, by=owner, kind=kind, change=change, balance=balance, at=at, recorded_at=at)

"""The outlook of a large shelf, from the room's own tables: worked out by the job, and looked at on its page.

Run as a program: python -m tests.bench.figures ITEMS WEEKS; prints JSON.
"""

import random
import statistics
import sys
import time
from datetime import timedelta
from typing import Any

from tests.bench.alone import alone

ROUNDS = 9


def fill(items: int, weeks: int) -> None:
    """Parts with so many weeks of use each, steady and rare, and some on hand, written straight into the tables."""
    from django.db import transaction

    from shop import clock
    from shop.stock.models import Item, Lot, Movement, Supplier, WeekUse
    from tests.makers import make_person, make_room

    rng = random.Random(5)
    monday, began = clock.monday_of(clock.now()), clock.now() - timedelta(weeks=weeks)
    with transaction.atomic():
        make_room()
        owner = make_person("owner", "Bench Owner", "owner")
        suppliers = [Supplier.objects.create(name=f"Supplier {n}", lead_days=rng.randint(5, 50)) for n in range(20)]
        for n in range(items):
            often, size = rng.choice([1.0, 0.6, 0.2]), rng.randint(1, 12)
            item = Item.objects.create(name=f"Part {n:03}", kind="part", supplier=rng.choice(suppliers), shelf_days=365)
            left = round(often * size) * rng.randint(2, 20) + 1
            lot = Lot.objects.create(item=item, code=f"L{n}", received_on=clock.today(), on_hand=left)
            Movement.objects.create(
                lot=lot, item=item, by=owner, kind="received", change=left, balance=left, at=began, recorded_at=began
            )
            WeekUse.objects.bulk_create(
                WeekUse(item=item, monday=monday - timedelta(weeks=back), quantity=size)
                for back in range(1, weeks)
                if rng.random() < often
            )


def measure(items: int, weeks: int) -> dict[str, Any]:
    """CPU to work all of it out from nothing, and to see that nothing changed; CPU and queries of the pages."""
    from django.db import connection
    from django.test import Client
    from django.test.utils import CaptureQueriesContext
    from django.urls import reverse

    from shop.people.models import Person
    from shop.stock.figures import keep_figures
    from shop.stock.models import ReorderFigure

    fill(items, weeks)
    keep_figures()  # loads the libraries
    ReorderFigure.objects.all().delete()
    anew, again = _cpu(keep_figures), _cpu(keep_figures)
    client = Client()
    client.force_login(Person.objects.get())
    found: dict[str, Any] = {"anew_s": anew, "again_ms": 1000 * again}
    for name in ("stock:outlook", "morning:today"):
        address = reverse(name)
        client.get(address)
        with CaptureQueriesContext(connection) as seen:
            client.get(address)
            queries = len(seen)
        found[name] = {
            "ms": 1000 * statistics.median(_cpu(lambda a=address: client.get(a)) for _ in range(ROUNDS)),  # type: ignore[misc]
            "queries": queries,
        }
    return found


def _cpu(call: Any) -> float:
    began = time.process_time()
    call()
    return time.process_time() - began


if __name__ == "__main__":
    alone(measure, int(sys.argv[1]), int(sys.argv[2]))

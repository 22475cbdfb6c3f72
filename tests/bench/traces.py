"""Finding and tracing among many sides. Run as a program: python -m tests.bench.traces SIDES; prints JSON."""

import statistics
import sys
import time
from typing import Any

from tests.bench.alone import alone

ROUNDS = 15


def measure(sides: int) -> dict[str, Any]:
    """CPU in ms and queries of the search by a code, by a text that few or none have, and of a lot's and a stylus's
    trace."""
    from django.db import connection
    from django.test import Client
    from django.test.utils import CaptureQueriesContext
    from django.urls import reverse

    from shop.cutting.models import Stylus
    from shop.people.models import Person
    from shop.stock.models import Lot
    from tests.bench.cut import fill_sides

    fill_sides(sides)
    client = Client()
    client.force_login(Person.objects.get())
    search, middle = reverse("cutting:trace"), sides // 8
    asked = {
        "search by a code": f"{search}?q=B-{middle:06}",
        "search by what none has": f"{search}?q=nowhere",
        "trace of a lot": reverse("cutting:trace-of", args=["lot", Lot.objects.order_by("pk")[3].pk]),
        "trace of a stylus": reverse("cutting:trace-of", args=["stylus", Stylus.objects.order_by("pk")[7].pk]),
    }
    found: dict[str, Any] = {}
    for what, address in asked.items():
        client.get(address)
        with CaptureQueriesContext(connection) as seen:
            if client.get(address).status_code != 200:
                raise RuntimeError(f"{address} did not answer")
            queries = len(seen)  # counted here: the next request empties the log
        taken = []
        for _ in range(ROUNDS):
            began = time.process_time()
            client.get(address)
            taken.append(time.process_time() - began)
        found[what] = {"ms": 1000 * statistics.median(taken), "queries": queries}
    return found


if __name__ == "__main__":
    alone(measure, int(sys.argv[1]))

"""How a page's cost grows with the ledger. Run as a program: python -m tests.bench.pages MOVEMENTS; prints JSON.

Server time is process CPU in one process, each round beside the page with the same layout and signed-in person but
no rows (people:settings); the median of the paired ratios is what compares between ledgers.
"""

import statistics
import sys
import time
from collections.abc import Callable
from typing import Any

from tests.bench.alone import alone

ROUNDS = 25


def measure(movements: int) -> dict[str, Any]:
    """For each page: CPU in ms, its ratio to the baseline page, and the number of queries."""
    from django.db import connection
    from django.test import Client
    from django.test.utils import CaptureQueriesContext
    from django.urls import reverse

    from shop.people.models import Person
    from tests.bench.fill import fill

    fill(movements)
    client = Client()
    client.force_login(Person.objects.get())

    def get(address: str) -> None:
        response = client.get(address)
        if response.status_code != 200:
            raise RuntimeError(f"{address} answered {response.status_code}")

    baseline = reverse("people:settings")
    found: dict[str, Any] = {}
    for name in ("morning:today", "stock:ledger", "stock:items"):
        address = reverse(name)
        get(address)
        get(baseline)
        with CaptureQueriesContext(connection) as seen:
            get(address)
            queries = len(seen)  # counted here: the next request empties the log
        pairs = [(_cpu(lambda a=address: get(a)), _cpu(lambda: get(baseline))) for _ in range(ROUNDS)]  # type: ignore[misc]
        found[name] = {
            "ms": 1000 * statistics.median(page for page, _ in pairs),
            "of_baseline": statistics.median(page / base for page, base in pairs),
            "queries": queries,
        }
    return found


def _cpu(call: Callable[[], None]) -> float:
    began = time.process_time()
    call()
    return time.process_time() - began


if __name__ == "__main__":
    alone(measure, int(sys.argv[1]))

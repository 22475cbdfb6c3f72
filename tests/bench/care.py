"""A sweep over many duties, and the pages that list them. Run as a program: python -m tests.bench.care DUTIES."""

import sys
import time
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

from tests.bench.alone import alone

RULES = ("FREQ=WEEKLY;BYDAY=MO", "FREQ=DAILY", "FREQ=MONTHLY;BYDAY=1FR", "FREQ=MONTHLY;INTERVAL=3", "FREQ=YEARLY")


def fill(duties: int) -> None:
    """Duties by rule, by meter and by both, most of them due, and two months of use of their meters."""
    from shop import clock
    from shop.duties.models import Duty, Meter, Tick
    from tests.makers import make_person, make_room

    make_room()
    owner, now = make_person("owner", "Bench Owner", "owner"), clock.now()
    meters = [Meter.objects.create(key=f"m{n}", name=f"Meter {n}", unit="n", reset_word="") for n in range(4)]
    Tick.objects.bulk_create(
        Tick(meter=meter, amount=500, came=500, value=500, at=at, recorded_at=at, by=owner)
        for meter in meters
        for at in (now - timedelta(hours=6 * n) for n in range(240))
    )
    Duty.objects.bulk_create(
        Duty(
            name=f"Duty {n}",
            rule=RULES[n % len(RULES)],
            starts_on=date(2020, 1, 6),
            counts_from=("plan", "entry")[n % 2],
            meter=meters[n % 4] if n % 3 else None,
            meter_amount=50_000 + n if n % 3 else None,
            begun_at=now,
            late_days=2,
        )
        for n in range(duties)
    )


def measure(duties: int) -> dict[str, dict[str, float]]:
    """CPU and queries of working everything out anew, of the sweep after that, of the worries, and of the pages."""
    from django.db import connection
    from django.test import Client
    from django.test.utils import CaptureQueriesContext
    from django.urls import reverse

    from shop import clock
    from shop.duties.concerns import concerns
    from shop.duties.starting import work_out_care
    from shop.people.models import Person

    fill(duties)
    client = Client()
    client.force_login(Person.objects.get())
    found: dict[str, dict[str, float]] = {}

    def take(what: str, call: Callable[[], Any]) -> None:
        with CaptureQueriesContext(connection) as seen:
            began = time.process_time()
            call()
            found[what] = {"ms": 1000 * (time.process_time() - began), "queries": len(seen)}

    take("worked out anew, all of them", work_out_care)
    take("the hourly sweep", work_out_care)
    take("what they worry about", lambda: concerns(clock.now()))
    for name in ("due", "month", "duties"):
        address = reverse(f"duties:{name}")
        client.get(address)
        take(f"duties:{name}", lambda a=address: client.get(a))  # type: ignore[misc]
    return found


if __name__ == "__main__":
    alone(measure, int(sys.argv[1]))

"""Readings that instruments took by themselves: a batch taken in, and pages over a year of minutes.

Run as a program: python -m tests.bench.gauges READINGS BATCH; prints JSON.
"""

import json
import statistics
import sys
import time
from collections.abc import Callable
from datetime import timedelta
from typing import Any
from uuid import uuid4

from tests.bench.alone import alone

ROUNDS = 9


def measure(count: int, size: int) -> dict[str, Any]:
    """CPU and wall time in ms of the charts, of the room's page and of today's, over `count` minutes of temperature;
    and in s of one batch of `size` readings, kept and then known already."""
    from django.core.management import call_command
    from django.db import connection
    from django.test import Client
    from django.test.utils import CaptureQueriesContext

    from shop import bulk, clock
    from shop.people.models import Role
    from shop.room import actions, hours
    from shop.room.models import Reading
    from tests.makers import make_person, make_room

    make_room()
    owner = make_person("owner", "Orla Tindrum", Role.OWNER)
    call_command("loaddata", "starter_room", verbosity=0)
    secret = "a-token-of-forty-three-characters-for-bench"
    instrument = actions.add_instrument(
        by=owner, once=uuid4(), secret=secret, name="Thermometer", kinds=["room_c", "room_rh"]
    )
    now = clock.now().replace(microsecond=0)
    client = Client()
    client.force_login(owner)
    pages = {
        **{f"{days} days": f"/room/readings/room_c/?days={days}" for days in (1, 30, 90, 365)},
        "air, 365 days": "/room/air/?days=365",
        "room": "/room/",
        "today": "/",
    }

    def look() -> dict[str, Any]:
        found = {}
        for name, address in pages.items():
            client.get(address)
            with CaptureQueriesContext(connection) as seen:
                assert client.get(address).status_code == 200
                queries = len(seen)
            times = [_timed(lambda a=address: client.get(a)) for _ in range(ROUNDS)]  # type: ignore[misc]
            found[name] = {
                "cpu_ms": 1000 * statistics.median(cpu for cpu, _ in times),
                "ms": 1000 * statistics.median(wall for _, wall in times),
                "queries": queries,
            }
        return found

    few = look()
    for start in range(0, count, 50_000):
        rows = [
            Reading(
                kind="room_c",
                value=21 + n % 97 / 100,
                at=now - timedelta(minutes=n),
                recorded_at=now,
                by=owner,
                instrument=instrument,
            )
            for n in range(start, min(count, start + 50_000))
        ]
        bulk.insert(rows)
        hours.count_in(rows)
    many = look()
    batch = json.dumps(
        {
            "readings": [
                {
                    "kind": "room_rh",
                    "at": (now - timedelta(minutes=n)).isoformat(),
                    "value": 45 + n % 7,
                    "unit": "percent",
                }
                for n in range(size)
            ]
        }
    )

    def send() -> None:
        answer = client.post("/api/readings/", batch, "application/json", headers={"Authorization": f"Bearer {secret}"})
        assert answer.status_code == 200, answer.content

    kept_s, known_s = (_timed(send)[1] for _ in range(2))
    return {"few": few, "many": many, "kept_s": kept_s, "known_s": known_s, "batch_kb": len(batch) / 1024}


def _timed(call: Callable[[], Any]) -> tuple[float, float]:
    cpu, wall = time.process_time(), time.perf_counter()
    call()
    return time.process_time() - cpu, time.perf_counter() - wall


if __name__ == "__main__":
    alone(measure, *map(int, sys.argv[1:]))

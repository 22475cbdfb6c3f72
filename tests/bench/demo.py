"""What the demo room takes to build, and what stands in it: `python -m tests.bench.demo`; prints JSON."""

import time
from collections import Counter
from datetime import date
from typing import Any

from tests.bench.alone import alone

#: So that one run can be held against another.
ENDS = date(2026, 11, 25)


def measure() -> dict[str, Any]:
    """CPU and wall seconds of the whole story on a database that is there; the sides, the lives by how they ended, and
    the checks by their verdict."""
    import gc

    from django.db import connection

    from shop.cutting.models import Life, Side
    from shop.demo.story import Story
    from shop.morning.models import Check

    with connection.cursor() as cursor:
        cursor.execute("PRAGMA synchronous=OFF")  # as the demo command does
    gc.disable()
    wall, cpu = time.perf_counter(), time.process_time()
    Story(ENDS).build()
    return {
        "s": time.perf_counter() - wall,
        "cpu_s": time.process_time() - cpu,
        "sides": Side.objects.count(),
        "ended": Counter(Life.objects.exclude(ended_at=None).values_list("end_reason", flat=True)),
        "verdicts": Counter(Check.objects.values_list("verdict", flat=True)),
    }


if __name__ == "__main__":
    alone(measure)

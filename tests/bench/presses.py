"""Twenty people pressing at once on SQLite: what each was told, and whether the ledger adds up."""

import statistics
import time
from collections import Counter
from typing import Any
from uuid import uuid4

from tests.bench.alone import alone

PEOPLE, EACH = 20, 10


def measure() -> dict[str, Any]:
    """Each of PEOPLE posts the use-stock form EACH times, all at the same moment, from a lot that holds enough."""
    from django.test import Client
    from django.urls import reverse

    from shop.people.models import Role
    from shop.stock.actions import receive_delivery
    from shop.stock.models import Item, Lot, Movement
    from shop.stock.queries import ledger_faults
    from tests.makers import make_person, make_room, together

    make_room()
    people = [make_person(f"hand{n}", f"Hand {n}", Role.ENGINEER) for n in range(PEOPLE)]
    item = Item.objects.create(name="14-inch blank", kind="blank", blank_in=14)
    lot = receive_delivery(by=people[0], once=uuid4(), item=item, code="L1", quantity=PEOPLE * EACH)
    address = reverse("stock:use-stock", args=[lot.pk])
    clients = [Client() for _ in people]
    for client, person in zip(clients, people, strict=True):
        client.force_login(person)
    answers: Counter[int] = Counter()
    waits: list[float] = []

    def presses(client: Client) -> None:
        for _ in range(EACH):
            began = time.perf_counter()
            # a note of its own: the very same twice within minutes is asked about
            answer = client.post(address, {"once": (key := str(uuid4())), "quantity": "1", "note": key})
            waits.append(time.perf_counter() - began)
            answers[answer.status_code] += 1

    together(*[lambda c=client: presses(c) for client in clients])  # type: ignore[misc]
    return {
        "saved": answers[302],
        "refused": sum(answers.values()) - answers[302],
        "records": Movement.objects.filter(kind="used").count(),
        "left": Lot.objects.get(pk=lot.pk).on_hand,
        "faults": len(ledger_faults()),
        "median_ms": 1000 * statistics.median(waits),
        "worst_ms": 1000 * max(waits),
    }


if __name__ == "__main__":
    alone(measure)

"""Run by test_watch_mail.py in a process of its own: senders that are killed at any moment, until all is sent.

Prints a line of JSON: kills, deliveries, those that are not marked as sent, and those that may have come twice.
"""

import json
import os
import random
import signal
import sys
import time
from datetime import timedelta

import django

django.setup()

from django.db import connections  # noqa: E402

from shop import clock  # noqa: E402
from shop.people.models import Room  # noqa: E402
from shop.watch import sender  # noqa: E402
from shop.watch.models import Delivery  # noqa: E402
from tests.watch.makers import wishes_to_send  # noqa: E402


def wish(count: int) -> None:
    Room.objects.create(pk=1, name="Tindrum Street Cutting Room", zone="UTC")
    wishes_to_send(count)


def a_sender_that_dies(after: float) -> None:
    child = os.fork()
    if child == 0:
        sender.send_due()
        os._exit(0)
    time.sleep(after)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)


def main(kills: int, count: int) -> None:
    rng = random.Random(20250303)
    sender.LEASE = timedelta(seconds=0.3)
    wish(count)
    sender.send_due(most=1)  # loads all that a sender needs, so that none dies while it still imports
    for _ in range(kills):
        connections.close_all()
        a_sender_that_dies(rng.uniform(0.03, 0.25))
    until = time.monotonic() + 60
    while Delivery.objects.filter(state="wanted").exists() and time.monotonic() < until:
        Delivery.objects.filter(state="wanted").update(not_before=clock.now())
        sender.send_due()
        time.sleep(0.05)
    print(
        json.dumps(
            {
                "kills": kills,
                "deliveries": Delivery.objects.count(),
                "unsent": Delivery.objects.exclude(state="sent").count(),
                "perhaps_twice": [sender.message_id(one) for one in Delivery.objects.filter(doubled__gt=0)],
            }
        )
    )


main(int(sys.argv[1]), int(sys.argv[2]))

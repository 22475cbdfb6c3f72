"""Run by the tests of this folder in processes of their own: what people do in the browser, in a room's environment.

`build` makes a room with one record of everything and prints the path of every page; `walk` looks at each of them,
logs a reading and sends a long file; `empty` marks the cylinder in use as empty, which is a hold. Each prints JSON.
"""

import json
import sys
import time
from typing import Any
from uuid import uuid4

import django

django.setup()

from django.core.files.uploadedfile import SimpleUploadedFile  # noqa: E402
from django.db import transaction  # noqa: E402
from django.test import Client  # noqa: E402

from shop import clock  # noqa: E402
from shop.people.models import Person, Role, Room  # noqa: E402
from shop.people.queries import the_room  # noqa: E402
from shop.room import actions as room  # noqa: E402
from shop.room.models import Cylinder, Reading  # noqa: E402
from shop.stock.models import Intake  # noqa: E402
from shop.watch.models import Wishes  # noqa: E402
from tests.house.permissions import PERMISSIONS  # noqa: E402
from tests.house.world import build as build_world  # noqa: E402
from tests.makers import anyway, make_person, make_room  # noqa: E402
from tests.services.servers import wait_until  # noqa: E402


def signed_in() -> Client:
    client = Client(SERVER_NAME="127.0.0.1")
    client.force_login(owner())
    return client


def owner() -> Person:
    return Person.objects.get(sign_in="tindrum")


def build() -> Any:
    """Nobody here is kept quiet by the hour at which the tests run."""
    with transaction.atomic():  # one wait for the disk, not hundreds
        make_room(zone="UTC")
        person = make_person("tindrum", "Orla Tindrum", Role.OWNER, email="tindrum@shop.example")
        Wishes.objects.create(person=person, quiet_from="00:00", quiet_to="00:00", morning_mail=False)
    with clock.in_zone(Room.objects.get().zone):
        paths = build_world(person)
    return paths


def walk(paths: str) -> Any:
    client, slowest = signed_in(), 0.0
    answers: dict[str, int] = {}
    for name, path in json.loads(paths).items():
        if Role.OWNER not in PERMISSIONS[name].look or name == "people:sign-out":
            continue
        began = time.monotonic()
        answers[name] = client.get(path).status_code
        slowest = max(slowest, time.monotonic() - began)
    readings = Reading.objects.count()
    logged = client.post("/room/readings/take/", {"once": str(uuid4()), "room_c": "21.5", "sure": "room_c"})
    rows = "\n".join(f"Supplier {number}" for number in range(16_000))
    file = SimpleUploadedFile("list.csv", f"Supplier\n{rows}\n".encode(), "text/csv")
    began = time.monotonic()
    sent = client.post("/stock/in-and-out/send/suppliers/", {"once": str(uuid4()), "file": file})
    answered_s = time.monotonic() - began
    intake = Intake.objects.latest("id")
    wait_until(lambda: Intake.objects.get(pk=intake.pk).state != "reading", 60, "the file is read")
    progress = client.get(intake.get_absolute_url()).status_code
    return {
        "answers": answers,
        "slowest_s": slowest,
        "logged": [logged.status_code, Reading.objects.count() - readings],
        "sent": [sent.status_code, Intake.objects.get(pk=intake.pk).state, progress],
        "sent_s": answered_s,
    }


def empty() -> Any:
    with clock.in_zone(the_room().zone):
        for cylinder in Cylinder.objects.filter(connected_at__isnull=False, empty_at__isnull=True):
            anyway(room.empty_cylinder, by=owner(), cylinder=cylinder)
    return None


if __name__ == "__main__":
    print(json.dumps({"build": build, "walk": walk, "empty": empty}[sys.argv[1]](*sys.argv[2:])))

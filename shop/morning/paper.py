"""The paper of a check: made once, kept as a file, handed out from there.

A check never changes, so its paper need be set once for each way of reading it: units, paper size, zone, and what was
added to it since (a correction that names it, an overruling).
"""

import hashlib
import os
from pathlib import Path
from typing import Any
from uuid import uuid4

from django.conf import settings

from shop import clock, paper
from shop.concern import Grade
from shop.morning.models import Check, Verdict
from shop.morning.queries import by_place, check_in_full
from shop.morning.today import by_booking
from shop.morning.verdict import MEANING
from shop.people.models import Person, Room, Units

#: Raise it when the template says something else than before, so that papers are set anew.
EDITION = 4

_UNITS = [field.name for field in Units._meta.fields]


def file_of(check: Check, *, reader: Units, page_size: str) -> Path:
    """Where the paper of a check is kept for this way of reading it."""
    way = [
        EDITION,
        page_size,
        clock.zone_name(),
        *(getattr(reader, name) for name in _UNITS),
        check.corrected_by.pk if check.is_corrected else None,
        check.overruling.pk if check.is_overruled else None,
    ]
    digest = hashlib.sha256(repr(way).encode()).hexdigest()[:20]
    return Path(settings.MEDIA_ROOT) / "checks" / str(check.pk) / f"{digest}.pdf"


def check_pdf(check: Check, *, reader: Units, page_size: str) -> bytes:
    """The paper of a check (one of queries.checks) as a PDF: the kept one, else made and kept now.

    Raises paper.PaperMissing where it would have to be made and the machine can't.
    """
    kept = file_of(check, reader=reader, page_size=page_size)
    try:
        return kept.read_bytes()
    except FileNotFoundError:
        told = context(check_in_full().get(pk=check.pk), reader=reader)
        made = paper.pdf("print/check.html", told, page_size, on_one=True)
    kept.parent.mkdir(parents=True, exist_ok=True)
    fresh = kept.with_name(f"{uuid4().hex}.part")
    fresh.write_bytes(made)
    os.replace(fresh, kept)  # two that make it at once each put a whole one there
    return made


def context(check: Check, *, reader: Units) -> dict[str, Any]:
    """What the paper shows, on the screen and in print; the room by the name it had then."""
    return {
        "check": check,
        "places": by_place(check),
        "notes": [one for one in check.concerns if one["grade"] <= Grade.NOTE],
        "bookings": by_booking(check.plan.get("sides", [])),
        "meaning": MEANING[Verdict(check.verdict)],
        "room": Room(name=check.room_name),
        "reader": _nameless(reader),
    }


def _nameless(reader: Units) -> Person:
    """Somebody who reads in these units: a kept paper names nobody it was printed for."""
    return Person(**{name: getattr(reader, name) for name in _UNITS})

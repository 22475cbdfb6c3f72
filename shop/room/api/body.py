"""Reading what an instrument sent: the batch as a whole first, then each reading by itself."""

import json
import math
import re
from datetime import UTC, datetime
from typing import Any

from shop.calc import units
from shop.room.kinds import KINDS
from shop.room.models import ReadingKind
from shop.room.sent import Sent, Wrong

#: The largest body, bytes: a week of minutes of one kind written generously. What is larger is refused unread.
MOST_BODY = 2 * 1024 * 1024
#: The most readings of one batch: a week of minutes, measured to be taken in within a few seconds.
MOST_READINGS = 10_000

#: RFC 3339, 5.6, with the offset that it asks for.
_MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,9})?(Z|[+-]\d\d:\d\d)", re.ASCII)
_KEYS = {"kind", "at", "value", "unit"}


class Unreadable(Exception):
    """The batch cannot be read at all; the sentence says why."""


def read_batch(body: bytes) -> list[Sent | Wrong]:
    """The readings of a batch. Raises Unreadable where it is no batch; what is wrong with one reading is its own."""
    try:
        told = json.loads(body, parse_constant=_no_number)
    except (ValueError, RecursionError) as wrong:
        raise Unreadable("The body is not JSON in UTF-8.") from wrong
    if not isinstance(told, dict) or set(told) != {"readings"}:
        raise Unreadable('The body is an object with one key, "readings".')
    listed = told["readings"]
    if not isinstance(listed, list) or not listed:
        raise Unreadable('"readings" is a list of at least one reading.')
    if len(listed) > MOST_READINGS:
        raise Unreadable(
            f"These are {len(listed)} readings; one batch holds {MOST_READINGS} at most. Nothing was kept: send them "
            "in several batches."
        )
    return [_read(one) for one in listed]


def _no_number(name: str) -> float:
    raise ValueError(f"{name} is not JSON")


def _read(told: Any) -> Sent | Wrong:
    if not isinstance(told, dict) or set(told) != _KEYS:
        return Wrong("shape", "A reading is an object of kind, at, value and unit, and nothing besides.")
    name = told["kind"]
    if not isinstance(name, str) or name not in set(ReadingKind):
        return Wrong("kind", f"The kind is one of {', '.join(ReadingKind)}.")
    kind = ReadingKind(name)
    at = moment(told["at"])
    if at is None:
        return Wrong("time", "Write the moment as in 2026-01-31T08:15:00Z, with its offset from UTC.", kind)
    value = told["value"]
    if isinstance(value, bool) or not isinstance(value, int | float):
        return Wrong("value", "The value is a number, not in quotes.", kind, at)
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        return Wrong("value", "The value is too large to be meant.", kind, at)
    known = units.UNITS[KINDS[kind].quantity]
    if not isinstance(told["unit"], str) or told["unit"] not in known:
        return Wrong("unit", f"The unit of {kind} is {' or '.join(known)}.", kind, at)
    return Sent(kind, at, number, told["unit"])


def moment(told: Any) -> datetime | None:
    """A moment of RFC 3339 in UTC; None for anything else."""
    if not isinstance(told, str) or not _MOMENT.fullmatch(told):
        return None
    try:
        return datetime.fromisoformat(told).astimezone(UTC)
    except (ValueError, OverflowError):
        return None

"""The brakes on guessing: a few tries are free, then each miss makes the next one wait longer, and none for good.

A try is counted as a miss before it is looked at, in one transaction with its row locked, and taken back when it was
right: so any number of tries at once cannot slip through before the first of them is counted, on either database.
The rows are in the database, so a restart forgets nothing, and no broker or cache is needed. The well-kept libraries
for this lock an account for a fixed time after so many misses, which lets a stranger lock anybody out; none has
waits that grow and are forgotten, nor lets a known device pass. So the table is our own.

The figures are our own. NIST SP 800-63B-4, 3.2.2, asks besides that a password be switched off after
100 misses in a row: we do not, for then a stranger could lock the room out; with a wait of a quarter of an hour that
would be a day's work for some 96 guesses, and from that many on the owners are told (concerns.py).
"""

import hashlib
import ipaddress
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import F, Value
from django.db.models.functions import Greatest
from django.utils.crypto import salted_hmac

from shop import clock
from shop.people.models import Brake, Person
from shop.people.models.people import folded
from shop.refusal import Refused


class HeldUp(Refused):
    """Too many misses: the next try is taken after `wait`."""

    status = 429

    def __init__(self, wait: timedelta, *, field: str | None = None) -> None:
        super().__init__(f"There were too many tries. Wait {_in_words(wait)}, then try again.", field=field)
        self.wait = wait


@dataclass(frozen=True)
class Rule:
    """free: misses without a wait; first: the wait after the next one, doubling up to `longest`; forgets: so long
    after the last try one miss is forgotten, and one more for each further such time."""

    free: int
    first: timedelta = timedelta(seconds=30)
    longest: timedelta = timedelta(minutes=15)
    forgets: timedelta = timedelta(minutes=30)

    def wait(self, misses: int) -> timedelta:
        if misses < self.free:
            return timedelta()
        doublings = min(misses - self.free, 20)
        return min(self.longest, self.first * 2**doublings)

    def left(self, misses: int, since: timedelta) -> int:
        """How many of so many misses are not forgotten after such a time."""
        return max(0, misses - max(0, since // self.forgets))


#: One's own account, device or code: five misses, then 30 s, 1, 2, 4, 8 and at most 15 minutes.
CLOSE = Rule(free=5)
#: An address, behind which a whole room may sit.
WIDE = Rule(free=20)

Brakes = Mapping[str, Rule]


def take(brakes: Brakes, person: Person | None = None) -> None:
    """Count one try as a miss on each of the brakes, or raise HeldUp and count nothing.

    Must stand outside of any transaction: what an action's refusal rolls back would not be counted.
    """
    now = clock.now()
    keys = sorted(brakes)
    with transaction.atomic(durable=True):
        Brake.objects.bulk_create([Brake(key=key, last_at=now, person=person) for key in keys], ignore_conflicts=True)
        rows = list(Brake.objects.select_for_update(of=("self",)).filter(key__in=keys).order_by("key"))
        latest = max((row.until for row in rows if row.until is not None), default=now)
        if latest > now:
            raise HeldUp(latest - now)
        for row in rows:
            _count(row, brakes[row.key], now)
            row.save(update_fields=["misses", "in_a_row", "last_at", "until"])


def _count(row: Brake, rule: Rule, now: datetime) -> None:
    row.misses = rule.left(row.misses, now - row.last_at) + 1
    row.in_a_row += 1
    row.last_at = now
    wait = rule.wait(row.misses)
    row.until = now + wait if wait else None


def passed(brakes: Brakes) -> None:
    """The try was right: what is one's own is free again, and an address has its last miss taken back only: else
    somebody with an account could guess at the others' as long as they like."""
    own = [key for key in brakes if not key.startswith("address:")]
    Brake.objects.filter(key__in=own).update(misses=0, in_a_row=0, until=None)
    shared = [key for key in brakes if key.startswith("address:")]
    Brake.objects.filter(key__in=shared, misses__gt=0).update(
        misses=Greatest(F("misses") - 1, Value(0)), in_a_row=0, until=None
    )


def account(typed: str) -> str:
    """The brake of an account by the name that was typed, whether there is one of it or not. The name is not kept:
    people type passwords into the wrong box."""
    return f"account:{salted_hmac('shop.people.brakes', folded(typed)).hexdigest()}"


def address(remote: str) -> str:
    """The brake of an address; of IPv6, of the network of 64 bits that one customer has."""
    try:
        ip = ipaddress.ip_address(remote)
    except ValueError:
        return "address:unknown"
    if isinstance(ip, ipaddress.IPv6Address):
        if ip.ipv4_mapped is None:
            return f"address:{ipaddress.ip_network((ip, 64), strict=False)}"
        ip = ip.ipv4_mapped
    return f"address:{ip}"


def of_person(what: str, person: Person, where: str = "") -> str:
    """The brake of one thing about a person, on one device if `where` is told."""
    place = f":{hashlib.sha256(where.encode()).hexdigest()[:32]}" if where else ""
    return f"{what}:{person.pk}{place}"


def forget_old() -> str:
    """Remove the brakes on what nobody tried for a week: all their misses are forgotten by then."""
    count, _ = Brake.objects.filter(last_at__lt=clock.now() - timedelta(days=7)).delete()
    return f"{count} forgotten"


def _in_words(wait: timedelta) -> str:
    seconds = max(1, -(-wait // timedelta(seconds=1)))
    if seconds < 60:
        return f"{seconds} second{'' if seconds == 1 else 's'}"
    minutes = -(-seconds // 60)
    return f"{minutes} minute{'' if minutes == 1 else 's'}"

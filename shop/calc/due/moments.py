"""Wall-clock times of a zone as moments.

RFC 5545, 3.3.5, says what becomes of a time that the clocks skip or repeat, and so do we: one in a gap is reckoned with
the offset before it (02:30 becomes 03:30), and of one that comes twice the first is meant. `zoneinfo` does both where
`fold` is 0.
"""

from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo


@lru_cache(maxsize=64)
def zone_of(name: str) -> ZoneInfo:
    """The zone of that name, such as Europe/Lisbon; ValueError for one that does not exist."""
    try:
        return ZoneInfo(name)
    except (ValueError, OSError, LookupError) as unknown:  # a folder, a file that is no zone, no such key
        shown = str(name)[:40] or "Nothing"
        raise ValueError(f"zone must be a time zone, such as Europe/Lisbon: “{shown}” is none.") from unknown


def moment_of(day: date, at: time, zone: str) -> datetime:
    """The moment (in UTC) at which the clocks of `zone` show `at` on `day`; see above for gaps and repeats."""
    return datetime.combine(day, at.replace(fold=0, tzinfo=None), tzinfo=zone_of(zone)).astimezone(UTC)


def day_in(moment: datetime, zone: str) -> date:
    """The day that it is in `zone` at an aware `moment`."""
    return moment.astimezone(zone_of(zone)).date()


def end_of(day: date, zone: str) -> datetime:
    """The first moment (in UTC) after `day` in `zone`."""
    return moment_of(day + timedelta(days=1), time(), zone)

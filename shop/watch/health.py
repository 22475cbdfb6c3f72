"""Whether the room's program is well: how old the last sweep is, the database, the broker, the mail that waits."""

from dataclasses import asdict, dataclass
from datetime import datetime, timedelta

from django.conf import settings
from django.db import DatabaseError, connection

from shop import clock
from shop.jobs.registry import last_done
from shop.watch.models import Delivery, DeliveryState
from shop.watch.sweep import SWEEP

#: Twice the sweep's period and a little: beyond it the clock stands still.
OLDEST_SWEEP = timedelta(minutes=12)
#: Mail that was due for so long and did not go is a backlog.
OLDEST_MAIL = timedelta(minutes=30)


@dataclass(frozen=True)
class Health:
    """well: nothing below is amiss. sweep_age_s: since the last sweep that was done, None if there was none; broker: as
    "none" where the room runs without one. mail_waiting: due and not sent; mail_oldest_s: for how long the oldest;
    mail_given_up: in the last three days; mail_perhaps_twice: that may have come twice in that time."""

    well: bool
    database: str
    broker: str
    sweep_age_s: int | None
    mail_waiting: int | None
    mail_oldest_s: int | None
    mail_given_up: int | None
    mail_perhaps_twice: int | None

    def as_json(self) -> dict[str, object]:
        return asdict(self)


def look(now: datetime | None = None) -> Health:
    """Look at everything; nothing here raises."""
    now = now or clock.now()
    broker = _broker()
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
        swept = _last_sweep(now)
        waiting, oldest = _waiting(now)
        recent = Delivery.objects.filter(made_at__gt=now - timedelta(days=3))
        given_up = recent.filter(state=DeliveryState.GIVEN_UP).count()
        twice = recent.filter(doubled__gt=0).count()
    except DatabaseError as trouble:
        return Health(False, f"does not answer: {type(trouble).__name__}", broker, None, None, None, None, None)
    well = (
        broker in ("none", "answers")
        and swept is not None
        and swept <= OLDEST_SWEEP.total_seconds()
        and (oldest or 0) <= OLDEST_MAIL.total_seconds()
    )
    return Health(well, "answers", broker, swept, waiting, oldest, given_up, twice)


def _last_sweep(now: datetime) -> int | None:
    last = last_done(SWEEP)
    return None if last is None or last.ended_at is None else max(0, int((now - last.ended_at).total_seconds()))


def _waiting(now: datetime) -> tuple[int, int | None]:
    due = Delivery.objects.filter(state=DeliveryState.WANTED, made_at__lte=now).order_by("made_at")
    held = due.filter(not_before__lte=now) | due.filter(attempts__gt=0)
    first = held.values_list("made_at", flat=True).first()
    return held.count(), None if first is None else int((now - first).total_seconds())


def _broker() -> str:
    if not settings.REDIS_URL:
        return "none"
    import redis

    try:
        once = redis.retry.Retry(redis.backoff.NoBackoff(), 0)
        redis.Redis.from_url(settings.REDIS_URL, socket_connect_timeout=1, socket_timeout=1, retry=once).ping()
    except redis.RedisError as trouble:
        return f"does not answer: {type(trouble).__name__}"
    return "answers"

"""The beat of rooms that run on more than one machine, which goes on where Redis does not.

Of several one beats: whoever holds the lock in Redis. While Redis is away each of them looks for due jobs by itself,
and the unique row of each job and period lets one run it, as on a single machine. So the room is watched and its mail
goes out also on a day without a broker; when Redis is back, empty or not, beats and workers take up where they were.
"""

from typing import Any

from celery.utils.log import get_logger
from redbeat import RedBeatScheduler
from redbeat.schedulers import get_redis
from redis.exceptions import LockError, RedisError
from redis.lock import Lock

from shop import clock
from shop.jobs.clockwork import look_once
from shop.jobs.registry import each_minute

log = get_logger(__name__)

#: How long a beat that has not the lock waits before it asks for it again, and one without Redis for it to come back.
AGAIN_S = 5.0


class Beat(RedBeatScheduler):
    """RedBeat's scheduler with a lock that it may lose and win again.

    RedBeat itself takes its lock once, as it starts, and ends with the connection to Redis or with the lock.
    """

    lock: Lock | None = None
    lock_key: str

    def __init__(self, *given: Any, **named: Any) -> None:
        super().__init__(*given, **named)
        self.own_key, self.lock_key = self.lock_key, ""  # with no key of its own RedBeat leaves the lock to us
        self.looked = ""
        self.is_alone = False

    def setup_schedule(self) -> None:
        """Left until the lock is ours: then the schedule is put into Redis, where it may not be any more."""

    def tick(self, *given: Any, **named: Any) -> float:
        """What is due now, and how long to sleep, in seconds."""
        try:
            sleep_s = float(super().tick(*given, **named)) if self._has_the_lock() else AGAIN_S
        except RedisError as trouble:
            if not self.is_alone:
                log.warning("beat: Redis is not to be had; looking for due jobs here meanwhile: %s", trouble)
            self.lock, self.is_alone = None, True
            self._look_by_itself()
            return AGAIN_S
        if self.is_alone:
            log.warning("beat: Redis is there again")
        self.is_alone = False
        return sleep_s

    def _has_the_lock(self) -> bool:
        """Keep it, or take it if it is free. A lock that was lost meanwhile is asked for anew."""
        if self.lock is not None:
            try:
                self.lock.reacquire()
            except LockError:
                log.warning("beat: the lock was lost")
                self.lock = None
        if self.lock is None:
            lock = get_redis(self.app).lock(self.own_key, timeout=self.lock_timeout)
            if not lock.acquire(blocking=False):
                return False
            super().setup_schedule()
            self.lock = lock
            log.info("beat: Acquired lock")
        return True

    def _look_by_itself(self) -> None:
        """Once a minute, as the beat asks the workers."""
        minute = each_minute(clock.now())
        if minute != self.looked:
            self.looked = minute
            look_once()

    def close(self) -> None:
        try:
            super().close()
        except RedisError:
            log.warning("beat: Redis is not to be had; the lock runs out by itself")

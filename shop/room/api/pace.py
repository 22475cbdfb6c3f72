"""How often an instrument, and an address, may ask: so many requests a minute, told with what to wait.

Counted in the cache, so that a flood writes nothing: on one machine that is the one server's own memory, with REDIS_URL
all servers count together. Without either, each server counts for itself. While Redis is away nobody is held up.
"""

from django.core.cache import cache
from redis.exceptions import RedisError

from shop import clock

#: Requests a minute, our own figures: an instrument that reports every ten seconds asks six times.
OF_INSTRUMENT = 60
#: An address may have a whole room of instruments behind it.
OF_ADDRESS = 300
_MINUTE = 60


class TooOften(Exception):
    """wait_s: after so many seconds the next request is taken; most: so many a minute are."""

    def __init__(self, wait_s: int, most: int) -> None:
        super().__init__(wait_s, most)
        self.wait_s, self.most = wait_s, most


def count(whose: str, most: int) -> None:
    """Count one request of `whose`; TooOften beyond `most` in this minute."""
    second = int(clock.now().timestamp())
    key = f"api-pace:{whose}:{second // _MINUTE}"
    try:
        cache.add(key, 0, timeout=2 * _MINUTE)
        asked = cache.incr(key)
    except (ValueError, RedisError):  # dropped in between, or not to be had
        return
    if asked > most:
        raise TooOften(_MINUTE - second % _MINUTE, most)

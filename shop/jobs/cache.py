"""A cache in Redis that is a help and never a need: while Redis is away, nothing is found in it and nothing is kept."""

import logging
from collections.abc import Callable
from functools import wraps
from typing import Any

from django.core.cache.backends.redis import RedisCache, RedisCacheClient
from redis.backoff import NoBackoff
from redis.exceptions import RedisError
from redis.retry import Retry

log = logging.getLogger(__name__)


def _or_else(method: Callable[..., Any], without: Callable[..., Any]) -> Callable[..., Any]:
    """`method`, or what `without` answers to the same words where Redis does not."""

    @wraps(method)
    def ask(client: RedisCacheClient, *given: Any, **named: Any) -> Any:
        try:
            return method(client, *given, **named)
        except RedisError as trouble:
            log.warning("the cache does not answer, and is done without: %s", trouble)
            return without(*given, **named)

    return ask


def _nothing(*given: Any, **named: Any) -> bool:
    return False


class _Client(RedisCacheClient):
    get = _or_else(RedisCacheClient.get, lambda key, default=None: default)
    get_many = _or_else(RedisCacheClient.get_many, lambda keys: {})
    add = _or_else(RedisCacheClient.add, _nothing)
    set = _or_else(RedisCacheClient.set, _nothing)
    set_many = _or_else(RedisCacheClient.set_many, _nothing)
    touch = _or_else(RedisCacheClient.touch, _nothing)
    delete = _or_else(RedisCacheClient.delete, _nothing)
    delete_many = _or_else(RedisCacheClient.delete_many, _nothing)
    has_key = _or_else(RedisCacheClient.has_key, _nothing)
    clear = _or_else(RedisCacheClient.clear, _nothing)


class SpareableRedisCache(RedisCache):
    """Counting in it (`incr`) raises while Redis is away: a count cannot be made up."""

    def __init__(self, server: Any, params: dict[str, Any]) -> None:
        super().__init__(server, params)
        self._class = _Client
        self._options: dict[str, Any] = {"retry": Retry(NoBackoff(), 0)} | params.get("OPTIONS", {})  # no long waits

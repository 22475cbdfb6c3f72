"""The cache in Redis, with nobody at its address: nothing is found, nothing is kept, and nothing fails."""

import pytest
from redis.exceptions import RedisError

from shop.jobs.cache import SpareableRedisCache
from tests.services.servers import free_port


@pytest.fixture
def cache():
    options = {"OPTIONS": {"socket_connect_timeout": 2, "socket_timeout": 5}}
    return SpareableRedisCache(f"redis://127.0.0.1:{free_port()}/0", options)


def test_without_redis_it_is_as_if_nothing_were_kept(cache, caplog):
    cache.set("word", "kept")
    cache.set_many({"word": "kept"})
    assert cache.get("word") is None
    assert cache.get("word", "usual") == "usual"
    assert cache.get_many(["word"]) == {}
    assert cache.get_or_set("word", "worked out", 60) == "worked out"
    assert (cache.add("word", 1), cache.touch("word"), cache.delete("word"), "word" in cache) == (False,) * 4
    cache.delete_many(["word"])
    cache.clear()
    assert "the cache does not answer" in caplog.text


def test_a_count_is_not_made_up(cache):
    with pytest.raises(RedisError):
        cache.incr("count")

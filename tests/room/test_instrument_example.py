"""The program shown for a microcontroller, run as it stands against the interface."""

import builtins
import time
from types import SimpleNamespace

import pytest
from django.core.cache import cache
from django.test import Client

from shop.room.api.example import EXAMPLE
from shop.room.models import Reading
from tests.room.instruments import SECRET, add_instrument


class Enough(Exception):
    pass


def test_the_program_on_the_page_keeps_readings_and_sends_again_what_was_lost(owner):
    cache.clear()
    add_instrument(owner)
    client, rounds, clocks = Client(), [], []
    sent = []

    def answer(got):
        return SimpleNamespace(status_code=got.status_code, json=got.json, close=lambda: None)

    def get(address, headers):
        return answer(client.get(address.removeprefix("http://room"), headers=headers))

    def post(address, json, headers):
        sent.append(len(json["readings"]))
        if len(sent) == 1:
            raise OSError("no network")
        got = client.post(address.removeprefix("http://room"), json, "application/json", headers=headers)
        if len(sent) == 2:
            raise OSError("the answer was lost")
        return answer(got)

    def sleep(seconds):
        assert seconds == 60
        rounds.append(seconds)
        if len(rounds) == 3:
            raise Enough

    board = {
        "machine": SimpleNamespace(RTC=lambda: SimpleNamespace(datetime=clocks.append)),
        "requests": SimpleNamespace(get=get, post=post),
        # each round is a minute later; the last is now
        "time": SimpleNamespace(gmtime=lambda: time.gmtime(time.time() - 60 * (3 - len(rounds))), sleep=sleep),
    }
    program = EXAMPLE.replace("ROOM-ADDRESS", "http://room/api/").replace("the token, as it was shown once", SECRET)
    with pytest.raises(Enough):
        exec(program, {"__builtins__": {**vars(builtins), "__import__": lambda name, *rest: board[name]}})
    assert sent == [2, 4, 6]
    assert Reading.objects.count() == 6
    assert len(clocks[0]) == 8

"""The program shown for a microcontroller, run as it stands against the interface."""

import builtins
import time
from json import dumps
from types import SimpleNamespace

import pytest
from django.core.cache import cache
from django.test import Client

from shop.room.api.example import EXAMPLE
from shop.room.models import Reading
from tests.room.instruments import SECRET, add_instrument


class Enough(Exception):
    pass


class Board:
    """A microcontroller that runs the program of the page against the interface, a round a minute."""

    def __init__(self, rounds, *, sensor=(21.4, 46.0), no_network=lambda asked: False):
        self.rounds, self.sensor, self.no_network = rounds, sensor, no_network
        self.client, self.slept, self.clocks, self.sent, self.asked = Client(), 0, [], [], 0

    def _answer(self, got):
        return SimpleNamespace(status_code=got.status_code, json=got.json, close=lambda: None)

    def _fail(self):
        self.asked += 1
        if self.no_network(self.asked):
            raise OSError("no network")

    def get(self, address, headers):
        self._fail()
        return self._answer(self.client.get(address.removeprefix("http://room"), headers=headers))

    def post(self, address, json, headers):
        self.sent.append(len(json["readings"]))
        self._fail()
        body = dumps(json)  # with NaN, as a microcontroller writes it
        got = self.client.post(address.removeprefix("http://room"), body, "application/json", headers=headers)
        if len(self.sent) == 2:
            raise OSError("the answer was lost")
        return self._answer(got)

    def sleep(self, seconds):
        assert seconds == 60
        self.slept += 1
        if self.slept == self.rounds:
            raise Enough

    def run(self, program=EXAMPLE):
        """The program's own names, once it has run."""
        own = {
            "machine": SimpleNamespace(RTC=lambda: SimpleNamespace(datetime=self.clocks.append)),
            "requests": SimpleNamespace(get=self.get, post=self.post),
            # each round is a minute later; the last is now
            "time": SimpleNamespace(
                gmtime=lambda: time.gmtime(time.time() - 60 * (self.rounds - self.slept)), sleep=self.sleep
            ),
        }
        program = program.replace("ROOM-ADDRESS", "http://room/api/").replace("the token, as it was shown once", SECRET)
        names = {"__builtins__": {**vars(builtins), "__import__": lambda name, *rest: own[name]}}
        program = program.replace("return 21.4, 46.0", f"return {self.sensor[0]}, {self.sensor[1]}")
        with pytest.raises(Enough):
            exec(program, names)
        return names


@pytest.fixture(autouse=True)
def instrument(owner):
    cache.clear()
    return add_instrument(owner)


def test_the_program_on_the_page_keeps_readings_and_sends_again_what_was_lost():
    board = Board(3, no_network=lambda asked: asked == 2)
    board.run()
    assert board.sent == [2, 4, 6]
    assert Reading.objects.count() == 6
    assert len(board.clocks[0]) == 8


@pytest.mark.parametrize("broken", ["float('nan')", "None"])
def test_a_sensor_that_reads_nothing_holds_up_no_other(broken):
    board = Board(3, sensor=(broken, 46.0))
    assert board.run()["waiting"] == []
    assert set(Reading.objects.values_list("kind", flat=True)) == {"room_rh"}
    assert Reading.objects.count() == 3


def test_a_batch_that_is_none_is_not_sent_for_ever():
    board = Board(4)
    left = board.run(EXAMPLE.replace("and value == value", "").replace("21.4, 46.0", "float('nan'), 46.0"))
    assert left["waiting"] == []
    assert board.sent[-1] == 2


def test_without_a_network_it_waits_for_the_time_and_keeps_so_many_and_no_more():
    board = Board(1000, no_network=lambda asked: asked < 3 or asked > 4)
    left = board.run()
    assert len(board.clocks) == 1
    assert len(left["waiting"]) == 600
    assert max(board.sent) == 100
    newest = max(one["at"] for one in left["waiting"])
    assert left["waiting"][-1]["at"] == newest

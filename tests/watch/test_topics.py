"""Whatever worries a room can be left out of one's mail by its topic."""

from shop import concern
from shop.watch.topics import TOPICS

#: Parts that ask apart from their app, and whose concerns bear its name.
OF_AN_APP = {"services": "room", "instruments": "room", "masters": "cutting"}


def test_every_part_that_worries_has_a_topic():
    assert set(TOPICS) == {OF_AN_APP.get(name, name) for name in concern._questions}

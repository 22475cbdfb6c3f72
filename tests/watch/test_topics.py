"""Whatever worries a room can be left out of one's mail by its topic."""

from shop import concern
from shop.watch.topics import TOPICS


def test_every_part_that_worries_has_a_topic():
    assert set(TOPICS) == set(concern._questions)

"""What training worries about, by topic, each a `Topic` named in TOPICS."""

from shop.topic import Topic
from shop.training.concerns.lapses import LAPSES

TOPICS: tuple[Topic, ...] = (LAPSES,)

"""What training worries about, by topic, each a `Topic` named in TOPICS."""

from shop.topic import Topic
from shop.training.concerns.lapses import LAPSES
from shop.training.concerns.learning import BEHIND, REFRESHERS, SELF_SIGNED

TOPICS: tuple[Topic, ...] = (LAPSES, BEHIND, REFRESHERS, SELF_SIGNED)

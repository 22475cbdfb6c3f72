"""How a topic of safety says what worries it: as those of all apps (shop.topic)."""

from shop.topic import Row, Topic, moment

__all__ = ["Row", "Topic", "moment"]

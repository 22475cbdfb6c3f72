"""What the room worries about: `now`, from today's readings and the gas; and by topic, each a `Topic` in TOPICS."""

from shop.room.concerns import chip, forecast, losses, requalification, standing, vacuum
from shop.room.concerns.now import LIMIT_WORDS, concerns
from shop.topic import Topic

TOPICS: tuple[Topic, ...] = (
    standing.TOPIC,
    losses.TOPIC,
    forecast.TOPIC,
    requalification.TOPIC,
    chip.TOPIC,
    vacuum.TOPIC,
)

__all__ = ["LIMIT_WORDS", "TOPICS", "concerns"]

"""What safety worries about, by topic, each a `Topic` named in TOPICS."""

from datetime import datetime

from shop.concern import Concern
from shop.safety.concerns import containers, hazard_sheets, incidents, places, substances, supplier_sheets, wall
from shop.topic import Topic, together

TOPICS: tuple[Topic, ...] = (
    substances.TOPIC,
    supplier_sheets.TOPIC,
    hazard_sheets.TOPIC,
    places.TOPIC,
    containers.TOPIC,
    incidents.TOPIC,
    wall.TOPIC,
)


def concerns(now: datetime) -> list[Concern]:
    """All of them, by one query."""
    return together(TOPICS, now)

"""What safety worries about, by topic, each a `Topic` named in TOPICS.

Today's page has one query for all of them: a topic says which rows it needs, as JSON, and what it makes of them; the
rows of all topics are read together.
"""

from datetime import datetime

from django.db.models import IntegerField, Value

from shop.concern import Concern
from shop.safety.concerns import hazard_sheets, incidents, places, supplier_sheets
from shop.safety.concerns.topic import Row, Topic

TOPICS: tuple[Topic, ...] = (supplier_sheets.TOPIC, hazard_sheets.TOPIC, places.TOPIC, incidents.TOPIC)


def concerns(now: datetime) -> list[Concern]:
    """All of them, by one query."""
    asked = [
        rows.order_by().annotate(topic=Value(place, IntegerField())).values_list("topic", "told")
        for place, topic in enumerate(TOPICS)
        for rows in topic.rows(now)
    ]
    told: list[list[Row]] = [[] for _ in TOPICS]
    for place, row in asked[0].union(*asked[1:], all=True):
        told[place].append(row)
    return [one for topic, rows in zip(TOPICS, told, strict=True) for one in topic.worries(rows, now)]

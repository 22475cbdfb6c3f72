"""What of the care a note in the log can be about."""

from django.db.models import Value

from shop.duties.models import Duty, Entry, Meter
from shop.log.things import Sort, joined

THINGS = (
    Sort("duty", "Duty", Duty, "duties:duty", "name"),
    Sort("meter", "Meter", Meter, "duties:meter", "name"),
    Sort("entry", "Entry", Entry, "duties:entry", "pk", joined("duty__name", Value(", entry "), "pk"), is_found=False),
)

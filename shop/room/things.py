"""What of the room a note in the log can be about."""

from shop.log.things import Sort
from shop.room.models import Cylinder

THINGS = (Sort("cylinder", "Cylinder", Cylinder, "room:cylinder", "mark"),)

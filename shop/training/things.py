"""What of training a note in the log can be about."""

from shop.log.things import Sort
from shop.training.models import Act

THINGS = (Sort("act", "Act", Act, "training:act", "name", key="slug"),)

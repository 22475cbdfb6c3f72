"""What of training a note in the log can be about."""

from shop.log.things import Sort
from shop.training.models import Act, Programme, Step

THINGS = (
    Sort("act", "Act", Act, "training:act", "name", key="slug"),
    Sort("programme", "Programme", Programme, "training:programme", "name"),
    Sort("step", "Step of a programme", Step, "training:step", "title"),
)

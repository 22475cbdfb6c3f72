"""What of cutting a note in the log can be about."""

from django.db.models import Value

from shop.cutting.models import Booking, Side, Stylus
from shop.log.things import Sort, joined

THINGS = (
    Sort("booking", "Booking", Booking, "cutting:booking", "code", joined("code", Value(" "), "title")),
    Sort("stylus", "Stylus", Stylus, "cutting:stylus", "mark"),
    Sort("side", "Side", Side, "cutting:side", "pk", joined(Value("Side "), "pk"), is_found=False),
)

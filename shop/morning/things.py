"""What of the morning a note in the log can be about."""

from django.db.models import Value

from shop.log.things import Sort, joined
from shop.morning.models import Check

THINGS = (Sort("check", "Check", Check, "morning:check", "day", joined(Value("Check of "), "day"), is_found=False),)

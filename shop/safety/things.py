"""What of the hazards a note in the log can be about."""

from django.db.models import Value

from shop.log.things import Sort, joined
from shop.safety.models import Container, HazardSheet, Incident, Place, Substance

THINGS = (
    Sort("substance", "Substance", Substance, "safety:substance", "name", key="slug"),
    Sort("sheet", "Sheet", HazardSheet, "safety:hazard-sheet", "title", key="slug"),
    Sort(
        "container",
        "Container",
        Container,
        "safety:container",
        "pk",
        joined(Value("Container "), "pk", Value(", "), "substance__name"),
    ),
    Sort("place", "Place", Place, "safety:place", "name"),
    Sort("incident", "Incident", Incident, "safety:incident", "pk", joined(Value("Incident "), "pk"), is_found=False),
)

"""What of programmes can be carried away: their steps, without the answers to their questions."""

from collections.abc import Mapping
from typing import Any

from django.db.models import QuerySet, prefetch_related_objects

from shop.carrying.lists import Export, Lines
from shop.training.models import Step


def _lines(batch: list[Step]) -> Lines:
    prefetch_related_objects(batch, "needs")
    return [
        (
            one.programme.name,
            one.order,
            one.title,
            one.get_kind_display(),
            one.times,
            one.day,
            "; ".join(before.title for before in one.needs.all()),
            one.act.name if one.act else "",
            one.sheet,
            one.refresh_months,
            one.why,
            one.how,
            one.goes_wrong,
            one.source,
            one.edition,
            "no" if one.is_active else "yes",
        )
        for one in batch
    ]


def _asked(query: Mapping[str, Any]) -> QuerySet[Step]:
    steps = Step.objects.select_related("programme", "act")
    programme = str(query.get("programme", ""))
    return steps.filter(programme=int(programme)) if programme.isascii() and programme.isdigit() else steps


PROGRAMME_EXPORTS = (
    Export(
        "programme-steps",
        "Steps of programmes",
        (
            "Programme",
            "Place",
            "Step",
            "Kind",
            "Times",
            "Expected by day",
            "After",
            "Leads to",
            "Hazard sheet",
            "Again after months",
            "Why",
            "How",
            "What goes wrong",
            "Source",
            "Edition",
            "Stopped",
        ),
        _asked,
        ("programme_id", "order", "id"),
        _lines,
    ),
)

"""Where things are kept: read as a whole, for it is what stands beside what that matters."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date
from typing import Any

from django.db.models import Case, Exists, Expression, Func, IntegerField, OuterRef, QuerySet, Subquery, When

from shop import clock
from shop.calc import air
from shop.recall import recalled
from shop.safety.layout import Held, Layout
from shop.safety.models import Container, ExposureLimit, FindingAnswer, Hazard, Kept, Place, Substance
from shop.stock.models import Lot, StockUnit


def places() -> QuerySet[Place]:
    """The places that are still there."""
    return Place.objects.filter(is_active=True)


def kept() -> QuerySet[Kept]:
    """What is kept in them, with its substance; open_ml: how much of it stands open there, stock_ml: in stock."""
    opened = Container.objects.filter(place=OuterRef("place"), substance=OuterRef("substance"), ended_at=None)
    shelf = Lot.objects.filter(
        item__in=Substance.items.through.objects.filter(substance=OuterRef(OuterRef("substance"))).values("item"),
        item__unit=StockUnit.ML,
    )
    in_stock = Case(When(holds_stock=True, then=_sum_of(shelf, "on_hand")), default=None, output_field=IntegerField())
    return (
        Kept.objects.filter(place__is_active=True)
        .annotate(open_ml=_sum_of(opened, "left_ml"), stock_ml=in_stock)
        .select_related("substance")
        .order_by("substance__name", "empties")
    )


def _sum_of(rows: QuerySet[Any], field: str) -> Subquery:
    """Their sum, as an annotation; None where there are none."""
    total = Func(field, function="SUM", output_field=IntegerField())
    return Subquery(rows.order_by().annotate(total=total).values("total"))


def codes() -> QuerySet[Hazard]:
    """The classification of what is kept."""
    used = Kept.objects.filter(substance=OuterRef("substance"), place__is_active=True)
    return Hazard.objects.filter(Exists(used))


def answers(day: date | Expression) -> QuerySet[FindingAnswer]:
    """The latest answer to each finding, where it holds on that day."""
    later = FindingAnswer.objects.filter(key=OuterRef("key"), pk__gt=OuterRef("pk"))
    return FindingAnswer.objects.filter(~Exists(later), until__gte=day)


def held_of(rows: Iterable[Kept], classified: Iterable[Hazard]) -> list[Held]:
    told: dict[int, set[str]] = defaultdict(set)
    for hazard in classified:
        told[hazard.substance_id].add(hazard.h_code)
    return [Held(row, frozenset(told[row.substance_id])) for row in rows]


@recalled
def layout() -> Layout:
    """All places, what is kept in them, and which of what stands together is known of today. Four queries."""
    known = answers(clock.today()).select_related("by")
    return Layout(places(), held_of(kept(), codes()), {answer.key: answer for answer in known})


def answers_to(key: str) -> QuerySet[FindingAnswer]:
    """Every answer there was to a finding, the latest first."""
    return FindingAnswer.objects.filter(key=key).select_related("by")


def limits_of(solvent: str) -> QuerySet[ExposureLimit]:
    """The exposure limits written down for a solvent that shop.calc.air knows, by its CAS number."""
    return ExposureLimit.objects.filter(substance__cas=air.solvent(solvent).cas, in_force=True)

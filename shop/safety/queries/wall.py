"""What stands on the wall, and how each substance is put out: each on its own, never merged."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Case, IntegerField, Q, QuerySet, Value, When

from shop.safety.models import CallNumber, Extinguisher, ShutOff, Substance

#: The starter substance that cut chip is, by its slug: what it says of fire comes first.
CHIP = "cut-chip"
_SAYS_NOTHING = Q(fire_use="") & Q(fire_never="")


@dataclass(frozen=True)
class Wall:
    """Numbers, shut-offs and extinguishers in the shop's order; fires: what says how it is put out, chip first.

    unsaid: the names of what is kept here and does not say it. chip: the slug that chip goes by.
    """

    numbers: Sequence[CallNumber]
    shut_offs: Sequence[ShutOff]
    extinguishers: Sequence[Extinguisher]
    fires: Sequence[Substance]
    unsaid: Sequence[str] = ()
    chip: str = CHIP


def call_numbers() -> list[CallNumber]:
    return list(CallNumber.objects.all())


def wall() -> Wall:
    """Five queries."""
    return Wall(
        numbers=call_numbers(),
        shut_offs=list(ShutOff.objects.all()),
        extinguishers=list(Extinguisher.objects.all()),
        fires=list(fire_advice()),
        unsaid=list(_kept().filter(_SAYS_NOTHING).order_by("name").values_list("name", flat=True)),
    )


def fire_advice() -> QuerySet[Substance]:
    """The substances kept here that say what puts them out or must not be used, chip first."""
    first = Case(When(slug=CHIP, then=Value(0)), default=Value(1), output_field=IntegerField())
    return _kept().exclude(_SAYS_NOTHING).order_by(first, "name")


def _kept() -> QuerySet[Substance]:
    return Substance.objects.filter(is_active=True)

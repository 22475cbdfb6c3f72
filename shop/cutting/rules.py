"""What the actions of cutting check before they write. Each gives back the value to use, or raises Refused."""

from datetime import datetime
from typing import TypeVar

from django.db import models
from django.utils import timezone

from shop import clock
from shop.cutting.models import Booking, CuttingLimits, Fitting, Lathe, RejectReason, StylusKind
from shop.refusal import Changed, Refused

Edited = TypeVar("Edited", Booking, CuttingLimits, Lathe, RejectReason, StylusKind)


def happened_at(at: datetime | None) -> datetime:
    """When it happened: now unless said; not in the future, not before 1970."""
    now = clock.now()
    if at is None:
        return now
    if at > now:
        raise Refused("That is in the future. Give the time it happened, or leave it empty for now.", field="at")
    if at.year < 1970:
        raise Refused("That is before 1970: look at the year again.", field="at")
    return at


def between(value: float, low: float, high: float, *, field: str, unit: str = "") -> float:
    """A number from `low` to `high`; also refuses what is no number at all."""
    if not low <= value <= high:
        raise Refused(f"Give a value from {low:g} to {high:g}{' ' + unit if unit else ''}.", field=field)
    return value


def still_as_read(row: Edited, version: int) -> Edited:
    """The row, locked until the transaction ends, if nobody changed it since its form was opened at `version`."""
    fresh = type(row)._default_manager.select_for_update(of=("self",)).get(pk=row.pk)
    if fresh.version != version:
        raise Changed(
            "Somebody changed this while your form was open. What is saved now stands above; what you typed is still "
            "here. Press again to save yours over it."
        )
    return fresh


def not_taken(
    model: type[models.Model], name: str, *, field: str, sentence: str, but: models.Model | None = None
) -> str:
    """The name, unless another row has it in that field, however it is capitalised."""
    others = model._default_manager.filter(**{f"{field}__iexact": name})
    if but is not None:
        others = others.exclude(pk=but.pk)
    if others.exists():
        raise Refused(sentence, field=field)
    return name


def clock_words(moment: datetime) -> str:
    """A moment for a sentence, in the zone now active: "09:12 on 3 March"; with the year if it is not this one."""
    local = timezone.localtime(moment)
    year = "" if local.year == clock.today().year else f" {local.year}"
    return f"{local:%H:%M} on {local.day} {local:%B}{year}"


def in_head(lathe: Lathe, at: datetime) -> Fitting | None:
    """The fitting that was in the lathe's head at `at`, its row held until the transaction ends."""
    return (
        Fitting.objects.select_for_update(of=("self",))
        .select_related("life__stylus__kind", "lathe")
        .filter(lathe=lathe, fitted_at__lte=at)
        .filter(models.Q(off_at__isnull=True) | models.Q(off_at__gte=at))
        .order_by("-fitted_at", "-id")
        .first()
    )

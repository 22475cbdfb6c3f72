"""What the actions of cutting check before they write. Each gives back the value to use, or raises Refused."""

from datetime import datetime

from django.db import models
from django.utils import timezone

from shop import clock
from shop.cutting.models import Fitting, Lathe
from shop.prepared import Given, prepared
from shop.refusal import Refused


def between(value: float, low: float, high: float, *, field: str, unit: str = "") -> float:
    """A number from `low` to `high`; also refuses what is no number at all."""
    if not low <= value <= high:
        raise Refused(f"Give a value from {low:g} to {high:g}{' ' + unit if unit else ''}.", field=field)
    return value


def clock_words(moment: datetime) -> str:
    """A moment for a sentence, in the zone now active: "09:12 on 3 March"; with the year if it is not this one."""
    local = timezone.localtime(moment)
    year = "" if local.year == clock.today().year else f" {local.year}"
    return f"{local:%H:%M} on {local.day} {local:%B}{year}"


def not_cutting(fitting: Fitting) -> None:
    """Refuse while a side runs under the stylus that is fitted there."""
    running = fitting.lathe.runs.filter(stopped_at__isnull=True, dropped_at__isnull=True)
    if run := running.select_related("wanted__booking").first():
        raise Refused(
            f"{fitting.life.stylus} is cutting: {run} runs on {fitting.lathe} since {clock_words(run.started_at)}. "
            "Stop that first."
        )


def in_head(lathe: Lathe, at: datetime) -> Fitting | None:
    """The fitting that was in the lathe's head at `at`, its row held until the transaction ends."""
    return _in_head.first(lathe=lathe.pk, at=at)


@prepared
def _in_head() -> models.QuerySet[Fitting]:
    lathe, at = Given("lathe", models.IntegerField()), Given("at", models.DateTimeField())
    return (
        Fitting.objects.select_for_update(of=("self",))
        .select_related("life__stylus__kind", "lathe")
        .filter(lathe=lathe, fitted_at__lte=at)
        .filter(models.Q(off_at__isnull=True) | models.Q(off_at__gte=at))
        .order_by("-fitted_at", "-id")[:1]
    )

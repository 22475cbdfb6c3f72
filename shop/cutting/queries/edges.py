"""Reading what one stylus, or one kind, is known by: where it was, its photographs, and the shop's own lives."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import QuerySet

from shop.calc.life import LifeStep, WeibullFit, WeibullIntervals, fit_weibull, kaplan_meier
from shop.cutting.models import Life, NoiseLevel, Side, Stylus, StylusKind, TipPhoto
from shop.cutting.queries.styli import Outlook, Record

#: How many of a stylus's latest sides may be chosen for a noise level.
MOST_TO_CHOOSE = 12


@dataclass(frozen=True)
class Whereabout:
    """From when on a stylus was somewhere, and who put it there."""

    at: datetime
    where: str
    by: Any = None
    note: str = ""


def whereabouts(stylus: Stylus) -> list[Whereabout]:
    """Where a stylus has been, latest first; no query for one of `styli_of_any_state`."""
    found: list[Whereabout] = []
    for life in stylus.lives.all():
        for fitting in life.fittings.all():
            found.append(Whereabout(fitting.fitted_at, f"Into the head of {fitting.lathe}", fitting.fitted_by))
            if fitting.off_at is not None:
                found.append(Whereabout(fitting.off_at, "Off, into the drawer", None, fitting.note))
    for away in stylus.times_away.all():
        found.append(Whereabout(away.sent_at, f"Away to {away.sent_to} for re-lapping", away.sent_by, away.note))
        if away.back_at is not None:
            back = away.get_came_back_display()
            found.append(Whereabout(away.back_at, f"Back: {back[0].lower()}{back[1:]}", away.back_by, away.back_note))
    if stylus.retired_at is not None:
        why = stylus.get_retired_why_display().lower()
        found.append(Whereabout(stylus.retired_at, f"Retired: {why}", stylus.retired_by))
    return sorted(found, key=lambda one: one.at, reverse=True)


def photos_of(stylus: Stylus) -> QuerySet[TipPhoto]:
    """Its photographs, latest first."""
    return stylus.photos.select_related("life", "by").order_by("-at", "-id")


def levels_of(life: Life) -> QuerySet[NoiseLevel]:
    """All its noise levels, struck out ones too, latest first."""
    return life.noise_levels.select_related("by", "struck_by", "side__wanted__booking").order_by("-at", "-id")


def sides_without_level(stylus: Stylus, or_this: str = "") -> QuerySet[Side]:
    """The latest sides of a stylus that stand and have no noise level, latest first; and that of the key `or_this`,
    which a repeated press names."""
    latest = (
        Side.objects.filter(life__stylus=stylus, withdrawal__isnull=True)
        .exclude(noise_levels__isnull=False, noise_levels__struck_at__isnull=True)
        .order_by("-at", "-id")
        .values_list("pk", flat=True)[:MOST_TO_CHOOSE]
    )
    keys = [*latest, *([int(or_this)] if or_this.isascii() and or_this.isdigit() and len(or_this) < 18 else [])]
    return Side.objects.filter(pk__in=keys).select_related("wanted__booking").order_by("-at", "-id")


def own_steps(record: Record | Outlook) -> list[LifeStep]:
    """The Kaplan-Meier steps of the shop's own lives of a kind; none where none has worn out."""
    if isinstance(record, Outlook):
        return kaplan_meier(record.posterior.hours, record.posterior.ended)
    return kaplan_meier(record.hours, record.worn)


@dataclass(frozen=True)
class OwnFit:
    """The Weibull most likely to have given the shop's own lives, the guess left out, with its intervals."""

    fit: WeibullFit
    intervals: WeibullIntervals


def own_fit(record: Record) -> OwnFit | None:
    """None where too few lives have worn out for one."""
    if record.ended < 3:
        return None
    try:
        fit = fit_weibull(record.hours, record.worn)
    except ValueError:  # all alike
        return None
    return OwnFit(fit, fit.intervals(0.9))


def lives_of_kind(kind: StylusKind) -> QuerySet[Life]:
    """The lives of a kind that cut anything, latest first."""
    return Life.objects.filter(stylus__kind=kind, cut_s__gt=0).select_related("stylus").order_by("-began_at", "-id")

"""Reading what one stylus, or one kind, is known by: where it was, its photographs, and the shop's own lives."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import QuerySet

from shop.calc.life import LifeStep, WeibullFit, WeibullIntervals, fit_weibull, kaplan_meier
from shop.cutting.models import CameBack, Life, NoiseLevel, Side, Stylus, StylusKind, TipPhoto
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
    """Where a stylus has been, latest first; no query for one of `styli_of_any_state`.

    What happened at one moment stands as one thing follows on the other: off a head, away, back, into a head.
    """
    off: list[Whereabout] = []
    into: list[Whereabout] = []
    away_and_back: list[Whereabout] = []
    gone = {away.sent_at for away in stylus.times_away.all()} | {stylus.retired_at}
    for life in stylus.lives.all():
        for fitting in life.fittings.all():
            into.append(Whereabout(fitting.fitted_at, f"Into the head of {fitting.lathe}", fitting.fitted_by))
            if fitting.off_at is not None:
                where = "Off" if fitting.off_at in gone else "Off, into the drawer"
                off.append(Whereabout(fitting.off_at, where, fitting.off_by, fitting.note))
    for away in stylus.times_away.all():
        away_and_back.append(
            Whereabout(away.sent_at, f"Away to {away.sent_to} for re-lapping", away.sent_by, away.note)
        )
        if away.back_at is not None:
            back = away.get_came_back_display()
            said = "Given up: i" if away.came_back == CameBack.NEVER else f"Back: {back[0].lower()}"
            away_and_back.append(Whereabout(away.back_at, f"{said}{back[1:]}", away.back_by, away.back_note))
    found = [*off, *away_and_back, *into]
    if stylus.retired_at is not None:
        why = stylus.get_retired_why_display().lower()
        found.append(Whereabout(stylus.retired_at, f"Retired: {why}", stylus.retired_by))
    return sorted(found, key=lambda one: one.at)[::-1]


def photos_of(stylus: Stylus) -> QuerySet[TipPhoto]:
    """Its photographs, latest first."""
    return stylus.photos.select_related("life__stylus", "by").order_by("-at", "-id")


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
        lives = record.posterior.hours, record.posterior.ended, record.posterior.entered
    else:
        lives = record.hours, record.worn, record.entered
    hours, worn, entered = lives
    steps = kaplan_meier(hours, worn, entered=entered)
    if steps and steps[-1].survival == 0 and steps[-1].hours < max(hours):
        # So few were seen early that all of them had worn out before the others came: only what was seen whole tells.
        whole = [place for place, came in enumerate(entered) if came == 0]
        return kaplan_meier([hours[place] for place in whole], [worn[place] for place in whole])
    return steps


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
        fit = fit_weibull(record.hours, record.worn, entered=record.entered)
    except ValueError:  # all alike
        return None
    return OwnFit(fit, fit.intervals(0.9))


def lives_of_kind(kind: StylusKind) -> QuerySet[Life]:
    """The lives of a kind that cut anything, latest first."""
    return Life.objects.filter(stylus__kind=kind, cut_s__gt=0).select_related("stylus").order_by("-began_at", "-id")

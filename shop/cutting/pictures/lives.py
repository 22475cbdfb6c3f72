"""Pictures of lives: how many edges are still good after so many hours."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.safestring import SafeString

from shop import picture
from shop.calc.life import LifePosterior, LifeStep
from shop.cutting.models import StylusKind
from shop.cutting.queries import Outlook

#: How many steps the curve is drawn with, and how many its table has.
_STEPS = 120
_ROWS = 10
#: The confidence of the band about the curve.
BAND = 0.8


@dataclass(frozen=True)
class ShareRow:
    """A row of the curve's table: of edges, the share still good after `hours`; low to high is the band, `own` what the
    shop's own lives alone say, None past the last of them."""

    hours: float
    low: float
    middle: float
    high: float
    own: float | None


def _longest(posterior: LifePosterior, steps: Sequence[LifeStep], now: float = 0.0) -> float:
    """Hours up to which the curve is drawn: until about one edge in fifty is left, and a little past now."""
    last = steps[-1].hours if steps else 0.0
    return max(posterior.remaining(0.0, 0.98), 1.15 * now, 1.05 * last, 1.0)


def _own_at(steps: Sequence[LifeStep], hours: float, seen: float) -> float | None:
    """The Kaplan-Meier share at `hours`; None where no life has been seen to run so long."""
    if not steps or hours > seen:
        return None
    share = 1.0
    for step in steps:
        if step.hours > hours:
            break
        share = step.survival
    return share


def share_rows(posterior: LifePosterior, steps: Sequence[LifeStep], now: float = 0.0) -> list[ShareRow]:
    """The curve as its table has it."""
    longest = _longest(posterior, steps, now)
    step = max(round(longest / _ROWS, 0 if longest > 15 else 1), 0.1)
    seen = max(posterior.hours, default=0.0)
    found = []
    for place in range(int(longest / step) + 1):
        at = place * step
        band = posterior.survival_band(at, BAND)
        found.append(ShareRow(at, band.low, band.middle, band.high, _own_at(steps, at, seen)))
    return found


def _curve(axes: Any, posterior: LifePosterior, steps: Sequence[LifeStep], longest: float) -> None:
    """The curve with its band, and the steps of the shop's own lives beside it."""
    hours = [longest * place / _STEPS for place in range(_STEPS + 1)]
    bands = [posterior.survival_band(at, BAND) for at in hours]
    axes.fill_between(
        hours, [100 * band.low for band in bands], [100 * band.high for band in bands], color=picture.WASH
    )
    axes.plot(hours, [100 * band.middle for band in bands], color=picture.INK, linestyle="-", label="expected")
    if steps:
        seen = max(posterior.hours)
        places = [0.0, *(step.hours for step in steps), max(seen, steps[-1].hours)]
        shares = [1.0, *(step.survival for step in steps), steps[-1].survival]
        axes.step(
            places,
            [100 * share for share in shares],
            where="post",
            color=picture.QUIET,
            linestyle=":",
            linewidth=1.6,
            label="own lives alone",
        )
        axes.legend(loc="upper right", fontsize=8.5, labelcolor=picture.QUIET)
    axes.set_xlim(0, longest)
    axes.set_ylim(0, 104)
    axes.set_xlabel("hours of cutting")
    axes.set_ylabel("edges still good, %")


def life_picture(outlook: Outlook, steps: Sequence[LifeStep] = (), change_h: float | None = None) -> SafeString:
    """How many edges of a kind are still good after so many hours, with a band for what is not known, the steps of the
    shop's own lives, and this one. change_h: the age at which changing costs least."""
    longest = _longest(outlook.posterior, steps, outlook.hours)
    figure = picture.new_figure(110, 66)
    axes = figure.add_subplot()
    _curve(axes, outlook.posterior, steps, longest)
    _change_mark(axes, change_h, longest)
    now = 100 * outlook.posterior.survival(outlook.hours)
    axes.plot([outlook.hours, outlook.hours], [0, now], color=picture.RUBY, linestyle="--", linewidth=1.4)
    axes.plot([outlook.hours], [now], marker="o", color=picture.RUBY, markersize=6)
    axes.annotate(
        f"now, {outlook.hours:.1f} h",
        (outlook.hours, now),
        xytext=(7, 5),
        textcoords="offset points",
        color=picture.RUBY,
        fontweight="bold",
    )
    return picture.svg(
        figure, title=f"How long a {outlook.kind} lasts", describes=f"{describe(outlook)} {own_words(steps)}".strip()
    )


def kind_picture(
    kind: StylusKind, posterior: LifePosterior, steps: Sequence[LifeStep], change_h: float | None
) -> SafeString:
    """The same for a kind."""
    longest = _longest(posterior, steps)
    figure = picture.new_figure(110, 66)
    axes = figure.add_subplot()
    _curve(axes, posterior, steps, longest)
    _change_mark(axes, change_h, longest)
    half = posterior.remaining(0.0, 0.5)
    describes = (
        f"About half of fresh edges are still good after {half:.1f} h of cutting. The band holds the curve with "
        f"{100 * BAND:.0f}\u00a0% confidence. {own_words(steps)}"
    )
    return picture.svg(figure, title=f"How long a {kind} lasts", describes=describes.strip())


def _change_mark(axes: Any, change_h: float | None, longest: float) -> None:
    if change_h is None or not change_h < longest:
        return
    axes.axvline(change_h, color=picture.EDGE, linewidth=1.2, linestyle="-.")
    axes.annotate(
        "cheapest change",
        (change_h, 2),
        xytext=(-3, 0),
        textcoords="offset points",
        ha="right",
        color=picture.QUIET,
        fontsize=8.5,
        va="bottom",
    )


def own_words(steps: Sequence[LifeStep]) -> str:
    """What the steps of the shop's own lives show, in words; "" where none has worn out."""
    if not steps:
        return ""
    last = steps[-1]
    return (
        f"Of the shop's own lives alone (Kaplan and Meier), {100 * last.survival:.0f} in 100 were still good after the "
        f"last that wore out, at {last.hours:.1f} h."
    )


def describe(outlook: Outlook) -> str:
    """The curve in words."""
    half = outlook.posterior.remaining(0.0, 0.5)
    if outlook.hours <= 0:
        now = "; this one has not cut yet"
    elif outlook.hours < 0.05:  # would be said as 0.0 h
        now = "; this one has hardly cut yet"
    else:
        at_now = outlook.posterior.survival(outlook.hours)
        now = f", and about {100 * at_now:.0f} in 100 after the {outlook.hours:.1f} h that this one has cut"
    return (
        f"Of fresh edges of this kind about half are still good after {half:.1f} h of cutting{now}. The band holds the "
        f"curve with {100 * BAND:.0f}\u00a0% confidence."
    )

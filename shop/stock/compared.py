"""How the comparison of lots is said and drawn."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.safestring import SafeString

from shop import picture
from shop.calc.share import Share, wilson
from shop.stock.models import ClearlyWorse, Item
from shop.stock.quality import Standing, SupplierStanding
from shop.wording import chance_words, per_cent


def percent(share: float) -> str:
    """A share as it is read: one decimal below ten."""
    return per_cent(share, 1 if 0 < share < 0.0995 else 0)


def interval_words(share: Share) -> str:
    """ "15 % (8 % to 26 %)"."""
    return f"{percent(share.middle)} ({percent(share.low)} to {percent(share.high)})"


def lots_words(count: int) -> str:
    return "1 other lot" if count == 1 else f"{count} other lots"


def worse_words(worse: ClearlyWorse) -> str:
    """What speaks against a lot, in two sentences with the numbers behind them."""
    own, others = wilson(worse.faulty, worse.tried), worse.fellows_faulty / worse.fellows_tried
    times = "1 comparison" if worse.comparisons == 1 else f"{worse.comparisons} comparisons"
    return (
        f"{worse.faulty} of {worse.tried} tried were faulty, {interval_words(own)}; of {lots_words(worse.fellows)} "
        f"{worse.fellows_faulty} of {worse.fellows_tried}, {percent(others)}. The chance that a lot no worse than they "
        f"looks so bad is {chance_words(worse.chance)}, allowed for {times}."
    )


def hold_words(worse: ClearlyWorse) -> str:
    """The reason kept with a lot that is put on hold for it."""
    return (
        f"Clearly worse than its fellows: {worse.faulty} of {worse.tried} tried were faulty, "
        f"{worse.fellows_faulty} of {worse.fellows_tried} of the others."
    )


# Pictures -------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Bar:
    """One interval in the picture: whose, how many of how many, and how it stands out."""

    name: str
    faulty: int
    tried: int
    is_worse: bool = False
    is_compared: bool = True


def lots_picture(item: Item, found: Sequence[Standing]) -> SafeString:
    bars = [
        Bar(one.lot.code, one.known.faulty, one.known.tried, one.is_worse, one.verdict is not None)
        for one in found
        if one.known.tried
    ]
    return _drawn(bars, title=f"{item.name}: faulty share of each lot", describes=described(item, found))


def suppliers_picture(item: Item, found: Sequence[SupplierStanding]) -> SafeString:
    bars = [Bar(str(one.supplier or "not known"), one.faulty, one.tried) for one in found]
    said = "; ".join(f"{bar.name} {interval_words(wilson(bar.faulty, bar.tried))}" for bar in bars)
    return _drawn(bars, title=f"{item.name}: faulty share by supplier", describes=f"{said}.")


def described(item: Item, found: Sequence[Standing]) -> str:
    """The picture of the lots in words."""
    worse = [one.lot.code for one in found if one.is_worse]
    known = [one.known for one in found if one.known.tried]
    together = wilson(sum(one.faulty for one in known), sum(one.tried for one in known))
    count = f"{len(known)} lots" if len(known) != 1 else "1 lot"
    said = f"Of {count} of {item.name} together {interval_words(together)} of what was tried was faulty."
    if worse:
        return f"{said} Clearly worse than the others: {', '.join(worse)}."
    return f"{said} None is clearly worse than the others."


def _drawn(bars: Sequence[Bar], *, title: str, describes: str) -> SafeString:
    """Intervals side by side, first on top; the line across is all of them together."""
    figure = picture.new_figure(116, 20 + 7.5 * len(bars))
    axes: Any = figure.add_subplot()
    shares = [wilson(bar.faulty, bar.tried) for bar in bars]
    together = sum(bar.faulty for bar in bars) / sum(bar.tried for bar in bars)
    axes.axvline(100 * together, color=picture.QUIET, linestyle=":", linewidth=1.2)
    for row, (bar, share) in enumerate(zip(bars, shares, strict=True)):
        colour = picture.RUBY if bar.is_worse else picture.INK if bar.is_compared else picture.EDGE
        axes.plot([100 * share.low, 100 * share.high], [row, row], color=colour, linestyle="-", linewidth=3.0)
        marker = "D" if bar.is_worse else "o"
        face = colour if bar.is_compared else picture.SHEET
        axes.plot([100 * share.middle], [row], marker=marker, markersize=7, color=colour, markerfacecolor=face)
        axes.annotate(
            f"{bar.faulty} of {bar.tried}",
            (100 * share.high, row),
            xytext=(6, 0),
            textcoords="offset points",
            va="center",
            color=colour if bar.is_worse else picture.QUIET,
            fontweight="bold" if bar.is_worse else "normal",
        )
    axes.set_yticks(range(len(bars)), [bar.name for bar in bars])
    axes.set_ylim(len(bars) - 0.4, -0.6)
    # the axis leaves room for the counts beside the bars, but no share beyond the whole is marked
    widest = 100 * max(share.high for share in shares)
    axes.set_xlim(-0.015 * widest, 1.3 * widest)
    axes.set_xticks([tick for tick in axes.get_xticks() if 0 <= tick <= min(100, 1.3 * widest)])
    axes.set_xlabel("faulty of what was tried, in %")
    axes.grid(axis="y", visible=False)
    return picture.svg(figure, title=title, describes=describes)

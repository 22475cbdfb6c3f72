"""Pictures of what lies behind: bars of hours and counts, and shares with how sure they are."""

from collections.abc import Sequence

from django.utils.safestring import SafeString

from shop import picture
from shop.calc.share import wilson
from shop.cutting.queries.looking_back import LEVEL, Rejects, Use

#: How many bars a picture has at most, and how many where they follow in an order of their own; the table has all.
MOST_BARS, MOST_IN_ORDER = 12, 24
#: Shares stand out only by so much that one of all in the picture would in one case of twenty.
_STANDS_OUT = 0.05


def hours_picture(uses: Sequence[Use]) -> SafeString:
    """The hours of each stylus, the most first."""
    shown = uses[:MOST_BARS]
    hours = [use.hours for use in shown]
    return _bars(
        [use.mark for use in shown], hours, "hours of cutting", title="Hours by stylus", describes=hours_words(uses)
    )


def hours_words(uses: Sequence[Use]) -> str:
    """Which stylus cut most, what all cut together, and how many of them are drawn."""
    said = f"{uses[0].mark} cut most, {uses[0].hours:.1f} h"
    said += f"; {len(uses)} styli cut {sum(use.hours for use in uses):.1f} h together." if len(uses) > 1 else "."
    return f"{said} {drawn_words(uses)}".strip()


def reasons_picture(reasons: Sequence[tuple[str, int]]) -> SafeString:
    """How many sides were rejected for each reason."""
    shown = reasons[:MOST_BARS]
    name, most = shown[0]
    return _bars(
        [name for name, _ in shown],
        [float(count) for _, count in shown],
        "sides rejected",
        title="Rejects by reason",
        describes=f"{name} is the reason most often, {most} of {sum(count for _, count in reasons)} rejects.",
    )


def _bars(names: Sequence[str], values: Sequence[float], unit: str, *, title: str, describes: str) -> SafeString:
    figure = picture.new_figure(110, 16 + 6.5 * len(names))
    axes = figure.add_subplot()
    places = list(range(len(names)))
    axes.barh(places, values, height=0.62, color=picture.INK)
    for place, value in zip(places, values, strict=True):
        axes.annotate(
            f"{value:.1f}".removesuffix(".0"),
            (value, place),
            xytext=(3, 0),
            textcoords="offset points",
            va="center",
            fontsize=8.5,
            color=picture.QUIET,
        )
    axes.set_yticks(places, [name if len(name) <= 24 else f"{name[:23]}\u2026" for name in names])
    axes.invert_yaxis()
    axes.set_xlim(0, 1.12 * max([*values, 1e-9]))
    axes.grid(visible=False, axis="y")
    axes.set_xlabel(unit)
    return picture.svg(figure, title=title, describes=describes)


def shares_picture(
    rows: Sequence[Rejects], *, title: str, whole: Rejects, words: str, in_order: bool = False
) -> SafeString:
    """Of the sides of each, the share rejected, with Wilson's interval; a line at the share of all.

    words: what it says. in_order: rows that follow on each other, of which the last are shown; else the first.
    """
    shown = rows[-MOST_IN_ORDER:] if in_order else rows[:MOST_BARS]
    figure = picture.new_figure(110, 18 + 6.5 * len(shown))
    axes = figure.add_subplot()
    for place, row in enumerate(shown):
        share = row.share
        axes.plot([100 * share.low, 100 * share.high], [place, place], color=picture.EDGE, linestyle="-", linewidth=2.2)
        axes.plot([100 * share.middle], [place], color=picture.INK, linestyle="", marker="o", markersize=5.5)
    axes.axvline(100 * whole.share.middle, color=picture.RUBY, linewidth=1.2, linestyle="--")
    axes.set_yticks(list(range(len(shown))), [row.name for row in shown])
    axes.set_ylim(len(shown) - 0.5, -0.5)
    axes.set_xlim(0, min(100.0, 1.05 * max(100 * row.share.high for row in shown)))
    axes.grid(visible=False, axis="y")
    axes.set_xlabel("rejected, %")
    return picture.svg(figure, title=title, describes=words)


def shares_words(rows: Sequence[Rejects], whole: Rejects, rejected: str = "rejected") -> str:
    """Which of them stands out, if any does by more than chance: the more there are, the more it takes.

    Where none does, but the interval of one leaves out the share of all, it says why that is nothing much: at 95 %, of
    several such intervals one that does so is no wonder. rejected: what the shares are of, in words.
    """
    share = whole.share.middle
    said = f"{100 * share:.1f}\u00a0% of all {whole.sides} sides were {rejected}."
    worst = max(rows, key=lambda row: (row.share.low, row.share.middle))
    best = min(rows, key=lambda row: (row.share.high, row.share.middle))
    one_of_all = 1 - _STANDS_OUT / len(rows)
    if wilson(worst.rejected, worst.sides, one_of_all).low > share:
        return f"{said} {worst.name} stands out: {worst.rejected} of {worst.sides}, more than chance would have it."
    if wilson(best.rejected, best.sides, one_of_all).high < share:
        return f"{said} {best.name} stands out: {best.rejected} of {best.sides}, fewer than chance would have it."
    apart = [row.name for row in rows if not row.share.low <= share <= row.share.high]
    if not apart:
        return f"{said} None differs from that by more than chance would have it."
    at_least_one = 100 * (1 - LEVEL ** len(rows))
    return (
        f"{said} Looked at alone {', '.join(apart[:3])} would differ from that; but of {len(rows)} that are looked at "
        f"together at least one does so by chance in {at_least_one:.0f} of 100 cases, so none stands out."
    )


def drawn_words(rows: Sequence[object], *, most: int = MOST_BARS, in_order: bool = False) -> str:
    """That not all of them are drawn, where that is so."""
    if len(rows) <= most:
        return ""
    return f"Drawn are the {'last' if in_order else 'first'} {most} of {len(rows)}; the table has all."

"""Pictures of stock."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from django.utils.safestring import SafeString

from shop import picture
from shop.calc import units
from shop.calc.demand import Outlook
from shop.people.fields import unit_for
from shop.people.models import Units
from shop.stock import wording
from shop.stock.amounts import kind_of
from shop.stock.models import Item
from shop.stock.queries import LeadWords, Took
from shop.stock.queries.outlook import Basis


def outlook_picture(basis: Basis, outlook: Outlook, reader: Units) -> SafeString:
    """Usable stock over the weeks to come as a fan, with the days something is booked for, open orders, and the day to
    order by."""
    last = 7 * outlook.weeks[-1].number
    figure = picture.new_figure(110, 78)
    axes = figure.add_subplot()
    _draw_fan(axes, basis, outlook, reader)
    _mark_booked(axes, basis, last)
    _mark_arrivals(axes, basis, last)
    if outlook.order_by_days is not None and outlook.order_by_days <= last:
        axes.axvline(outlook.order_by_days, color=picture.RUBY, linestyle="--", linewidth=1.4, label="order by")
    axes.set_xlim(0, last)
    axes.set_ylim(bottom=0)
    if kind_of(basis.item) is None:
        axes.yaxis.get_major_locator().set_params(integer=True)  # type: ignore[call-arg]  # it is a MaxNLocator
    ticks = _months(basis.day, last)
    axes.set_xticks([place for place, _ in ticks], [words for _, words in ticks])
    axes.grid(visible=False, axis="x")
    axes.set_title(_unit(basis.item, reader), loc="left", fontsize=9.5, color=picture.QUIET)
    figure.legend(loc="outside lower center", ncols=3, fontsize=8.5, labelcolor=picture.QUIET, handlelength=1.6)
    return picture.svg(
        figure,
        title=f"Usable stock of {basis.item.name}, the next {outlook.weeks[-1].number} weeks",
        describes=wording.fan_words(basis, outlook, reader),
    )


def _draw_fan(axes: Any, basis: Basis, outlook: Outlook, reader: Units) -> None:
    def shown(stock: int) -> float:
        return _in_unit(stock, basis.item, reader)

    days = [0, *(7 * week.number for week in outlook.weeks)]
    edges = {
        name: [shown(basis.usable), *(shown(getattr(week.stock, name)) for week in outlook.weeks)]
        for name in ("p5", "p25", "p50", "p75", "p95")
    }
    axes.fill_between(days, edges["p5"], edges["p95"], color=picture.WASH, label="9 in 10")
    axes.fill_between(days, edges["p25"], edges["p75"], color=picture.RULE, label="every other")
    axes.plot(days, edges["p50"], color=picture.INK, linestyle="-", label="middle")


def _mark_booked(axes: Any, basis: Basis, last: int) -> None:
    """A wedge at the foot for each day that something is booked for; what is overdue stands at today."""
    days = sorted({max(0, (due.claim.day - basis.day).days) for due in basis.due})
    here = [day for day in days if day <= last]
    if here:
        axes.plot(
            here,
            [0.035] * len(here),
            transform=axes.get_xaxis_transform(),
            color=picture.INK,
            linestyle="",
            marker="v",
            markersize=5,
            label="booked",
        )


def _mark_arrivals(axes: Any, basis: Basis, last: int) -> None:
    """A diamond at the head where an open order is likely to come, with a bar over the days that hold 9 in 10."""
    name: str | None = "order comes"
    for arrival in basis.arrivals:
        early, likely, late = ((arrival.likely_on(basis.day, q) - basis.day).days for q in (0.05, 0.5, 0.95))
        if early > last:
            continue
        axes.plot(
            [early, min(late, last)],
            [0.96, 0.96],
            transform=axes.get_xaxis_transform(),
            color=picture.QUIET,
            linestyle="-",
            linewidth=1.2,
        )
        axes.plot(
            [min(likely, last)],
            [0.96],
            transform=axes.get_xaxis_transform(),
            color=picture.INK,
            linestyle="",
            marker="D",
            markersize=5.5,
            label=name,
        )
        name = None


def _months(day: date, last: int) -> list[tuple[int, str]]:
    """Days from today on which a month begins, with its name; every other one where there are many."""
    found: list[tuple[int, str]] = []
    month = date(day.year, day.month, 1)
    while True:
        month = (month + timedelta(days=32)).replace(day=1)
        place = (month - day).days
        if place > last:
            break
        found.append((place, f"{month:%b}\n{month.year}" if month.month == 1 or not found else f"{month:%b}"))
    return found[:: 1 + len(found) // 8]


def _in_unit(stock: int, item: Item, reader: Units) -> float:
    kind = kind_of(item)
    return stock if kind is None else units.from_stored(kind, stock, unit_for(kind, reader))


def _unit(item: Item, reader: Units) -> str:
    kind = kind_of(item)
    return "usable" if kind is None else f"usable, {units.label(kind, unit_for(kind, reader))}"


def lead_picture(took: Sequence[Took], words: LeadWords, promised_days: int | None) -> SafeString:
    """How long a supplier's orders took, the latest on top, against what was promised and what was learned."""
    figure = picture.new_figure(110, 22 + 6 * len(took))
    axes = figure.add_subplot()
    axes.axvspan(words.low, words.high, color=picture.WASH, label="9 in 10")
    axes.axvline(words.middle, color=picture.INK, linestyle=":", linewidth=1.2, label="half")
    if promised_days is not None:
        axes.axvline(promised_days, color=picture.RUBY, linestyle="--", linewidth=1.4, label="promised")
    for row, one in enumerate(took):
        axes.plot([0, one.days], [row, row], color=picture.EDGE, linestyle="-", linewidth=1)
        fill = picture.INK if one.came else picture.SHEET
        axes.plot([one.days], [row], marker="o", markersize=6, color=picture.INK, markerfacecolor=fill)
    axes.set_yticks(range(len(took)), [f"{one.order.sent_on:%b %Y}" if one.order.sent_on else "" for one in took])
    axes.set_ylim(len(took) - 0.4, -0.6)
    axes.set_xlim(left=0)
    axes.grid(visible=False, axis="y")
    axes.set_xlabel("days from sent until all had come")
    figure.legend(loc="outside lower center", ncols=3, fontsize=8.5, labelcolor=picture.QUIET, handlelength=1.6)
    return picture.svg(figure, title="How long its orders took", describes=lead_described(took, words, promised_days))


def lead_described(took: Sequence[Took], words: LeadWords, promised_days: int | None) -> str:
    """That picture in words."""
    took_days = [one.days for one in took if one.came]
    said = f"Of the last {len(took)} orders {len(took_days)} have come"
    if took_days:
        said += f", in {min(took_days)} to {max(took_days)} days"
    promised = f" The promise is {promised_days} days." if promised_days is not None else ""
    return f"{said}.{promised} Nine orders in ten are expected to take {words.low} to {words.high} days."

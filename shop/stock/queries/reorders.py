"""What is to be ordered soon: the kept figures of the outlook held against what there is now."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from shop.stock.models import Item, ReorderFigure
from shop.stock.queries.levels import Level, items_on_shelf
from shop.stock.queries.orders import to_come

#: How long before the day to order by it is said.
NOTICE = timedelta(days=14)
#: Older figures are not relied on, even where nothing seems to have changed: weeks pass.
STALE_AFTER = timedelta(days=1)


@dataclass(frozen=True)
class Reorder:
    """An item that is to be ordered soon. by: the last day for it, today if that has come or gone.

    on_order: still to come, in the item's unit.
    """

    item: Item
    figure: ReorderFigure
    level: Level
    on_order: int
    by: date
    is_due: bool

    @property
    def chance_out(self) -> float | None:
        """Of running out before an order placed today comes; None where stock changed since it was worked out."""
        return self.figure.chance_out if self.level.usable + self.on_order == self.figure.position else None


def figures_on_shelf() -> list[ReorderFigure]:
    """The kept figures of the items on the shelf, with their items; no query beyond `shelf`."""
    found = []
    for item in items_on_shelf():
        figure: ReorderFigure | None = getattr(item, "figure", None)
        if figure is not None and item.is_active:
            found.append(figure)
    return found


def on_order() -> dict[int, int]:
    """What is still to come of open orders, by item id, in the item's unit."""
    found: dict[int, int] = {}
    for line in to_come():
        found[line.item_id] = found.get(line.item_id, 0) + line.open_quantity
    return found


def stale_since(now: datetime) -> datetime | None:
    """When the oldest figure was worked out, if it is too old to be relied on."""
    oldest = min((figure.worked_at for figure in figures_on_shelf()), default=None)
    return oldest if oldest is not None and now - oldest > STALE_AFTER else None


def reorders(day: date, levels: Mapping[int, Level], coming: Mapping[int, int]) -> dict[int, Reorder]:
    """What is to be ordered within NOTICE of `day`, by item id: by the kept figures and what there is now."""
    found = {}
    for figure in figures_on_shelf():
        level = levels.get(figure.item_id, Level())
        by = order_by(figure, level.usable + coming.get(figure.item_id, 0), day)
        if by is not None and is_soon(by, day):
            found[figure.item_id] = Reorder(
                figure.item, figure, level, coming.get(figure.item_id, 0), max(by, day), is_due=by <= day
            )
    return found


def is_soon(by: date | None, day: date) -> bool:
    """Whether the last day to order is near enough to be spoken of."""
    return by is not None and by <= day + NOTICE


def order_by(figure: ReorderFigure, position: int, day: date) -> date | None:
    """The last day to order as far as the kept figure tells, now that so much is usable and on order.

    As worked out, while that has not changed. Else at once where it has fallen to the reorder point since, and
    otherwise later or sooner by as long as the difference lasts; the figure itself is worked out anew within minutes.
    """
    if figure.per_week is None or figure.reorder_point is None or figure.per_week <= 0:
        return figure.order_by
    if position <= figure.reorder_point < figure.position:
        return day
    if figure.order_by is None or position == figure.position:
        return figure.order_by
    return figure.order_by + timedelta(weeks=min(520.0, (position - figure.position) / figure.per_week))


@dataclass(frozen=True)
class OrderDay:
    """When an item is to be ordered, for pages that say so in passing. by: the last day, None if not within the look.

    chance_out: of running out before an order placed today comes.
    """

    by: date | None
    day: date
    chance_out: float | None

    @property
    def is_now(self) -> bool:
        return self.by is not None and self.by <= self.day

    @property
    def is_soon(self) -> bool:
        return is_soon(self.by, self.day)

"""The figures of every item's outlook, worked out by themselves and kept, for lists and for today's page.

A figure is current while what it was worked out from is, and the day is: its `state` is a fingerprint of that. A page
that shows figures works out those that are not current itself; a job does so every ten minutes and keeps them.
"""

import hashlib
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import Case, DateField, Field, FloatField, QuerySet, Value, When
from django.db.models.functions import Coalesce

from shop import clock
from shop.calc.demand import Outlook
from shop.people.queries import the_room
from shop.stock.models import Item, ReorderFigure
from shop.stock.queries.outlook import Basis, Present, bases, outlook_of, present
from shop.stock.queries.reorders import OrderDay


def figure_of(basis: Basis, outlook: Outlook | None, *, state: str, at: datetime) -> ReorderFigure:
    """The figures of an outlook, not saved."""
    figure = ReorderFigure(
        item=basis.item,
        worked_at=at,
        state=state,
        usable=basis.usable,
        on_order=basis.on_order,
        booked=basis.booked,
        weeks=len(basis.counts),
    )
    if outlook is not None:
        figure.per_week = outlook.picked.forecast.per_week
        figure.reorder_point = outlook.reorder_point
        figure.quantity = outlook.suggestion.quantity
        figure.runs_out_on = runs_out_on(outlook, basis.day)
        figure.chance_out = outlook.out_before_it_comes
        if outlook.order_by_days is not None:
            figure.order_by = basis.day + timedelta(days=outlook.order_by_days)
    return figure


def runs_out_on(outlook: Outlook, day: date) -> date | None:
    """The day by which it is as likely as not that some demand could not be met; None if not within the look.

    Chances are known at the ends of weeks; within one they are taken to grow evenly.
    """
    before = 0.0
    for week in outlook.weeks:
        if week.chance_out_by >= 0.5:
            part = (0.5 - before) / (week.chance_out_by - before) if week.chance_out_by > before else 0.0
            return day + timedelta(days=min(6, int(7 * part)) + 7 * (week.number - 1))
        before = week.chance_out_by
    return None


# What they were worked out from ---------------------------------------------------------------------------------------


#: To be raised whenever the same facts make other figures, so that the ones kept are worked out anew.
_RECKONING = 4


def states(here: Present) -> dict[int, str]:
    """The fingerprint of what each item's outlook rests on now, by item id.

    Of past weeks only what was used in all; of a lead time how long the orders took that it is learned from.
    """
    booked: dict[int, list[object]] = defaultdict(list)
    for claim in here.claims:
        booked[claim.blank_in].append((claim.day, claim.quantity))
    own = {item.pk: _facts_of(item, here) for item in here.items}
    of_size: dict[int | None, list[object]] = defaultdict(list)
    for item in here.items:
        of_size[item.blank_in].append(own[item.pk])
    return {
        item.pk: _fingerprint(
            (_RECKONING, here.day),
            own[item.pk],
            # items of one size share what is booked of it
            (booked[item.blank_in], of_size[item.blank_in]) if item.blank_in else None,
        )
        for item in here.items
    }


def _facts_of(item: Item, here: Present) -> object:
    return (
        (item.pk, item.version, item.supplier_id, item.supplier and item.supplier.lead_days),
        (item.used, item.past_used),  # type: ignore[attr-defined]  # annotated by `present`
        [(supplier, here.histories[supplier].facts) for supplier in sorted(here.suppliers_of(item))],
        [(lot.pk, lot.on_hand, lot.last_day, lot.is_held) for lot in here.lots.get(item.pk, ())],
        [
            (line.pk, line.open_quantity, line.order.sent_on, line.order.expected_on)
            for line in here.lines.get(item.pk, ())
            if not line.order.is_draft
        ],
    )


def _fingerprint(*facts: object) -> str:
    return hashlib.sha256(repr(facts).encode()).hexdigest()[:32]


# Working them out -----------------------------------------------------------------------------------------------------


def current_figures(here: Present, now: datetime, only: Collection[int] | None = None) -> list[ReorderFigure]:
    """The figures of every kept item as of now, or of those with these ids: those kept, and what is no longer current
    worked out anew here, not saved. A figure's `item` comes with its supplier."""
    wanted = states(here)
    if only is not None:
        wanted = {pk: state for pk, state in wanted.items() if pk in only}
    own: list[ReorderFigure | None] = [getattr(item, "figure", None) for item in here.items if item.pk in wanted]
    kept = [figure for figure in own if figure is not None and figure.state == wanted[figure.item_id]]
    missing = wanted.keys() - {figure.item_id for figure in kept}
    return [*kept, *_work_out(here, missing, wanted, now)]


def by_outlook(items: QuerySet[Item], figures: Iterable[ReorderFigure]) -> QuerySet[Item]:
    """The items of these figures, the most pressing first: to be ordered sooner, else the likelier to run out.

    Sorted by the database, as `due_on`, `out_on` and `chance`: from the figures it keeps, and for items whose figures
    were worked out just now from those, which go along with the question. What is not known comes last.
    """
    every = list(figures)
    fresh = [figure for figure in every if figure._state.adding]

    def told(name: str, unknown: Any, kind: "Field[Any, Any]") -> Case:
        now = [
            When(pk=one.item_id, then=Value(unknown if getattr(one, name) is None else getattr(one, name), kind))
            for one in fresh
        ]
        return Case(*now, default=Coalesce(f"figure__{name}", Value(unknown, kind)), output_field=kind)

    return (
        items.filter(pk__in=[one.item_id for one in every])
        .annotate(
            due_on=told("order_by", date.max, DateField()),
            out_on=told("runs_out_on", date.max, DateField()),
            chance=told("chance_out", -1.0, FloatField()),
        )
        .order_by("due_on", "-chance", "name")
    )


def order_days(items: Iterable[Item], now: datetime) -> dict[int, OrderDay]:
    """When these items are to be ordered as of now, by item id, for those of which that can be told: the same answer
    that the outlook's own pages give."""
    asked = {item.pk for item in items if item.is_active}
    if not asked:
        return {}
    day = clock.day_of(now)
    here = present(day, next(iter(asked)) if len(asked) == 1 else None)
    return {
        figure.item_id: OrderDay(figure.order_by, day, figure.chance_out)
        for figure in current_figures(here, now, asked)
        if figure.per_week is not None
    }


def _work_out(here: Present, only: Collection[int], state: Mapping[int, str], now: datetime) -> list[ReorderFigure]:
    """The figures of these items, not saved."""
    found = bases(here, only) if only else []
    return [
        figure_of(basis, outlook, state=state[basis.item.pk], at=now)
        for basis, outlook in zip(found, outlook_of(found), strict=True)
    ]


def keep_figures() -> str:
    """Work out and keep what is no longer current; forget items no longer kept."""
    with clock.in_zone(the_room().zone):
        now = clock.now()
        here = present(clock.day_of(now))
        wanted = states(here)
        kept = dict(ReorderFigure.objects.values_list("item_id", "state"))
        stale = {pk for pk, state in wanted.items() if kept.get(pk) != state}
        ReorderFigure.objects.filter(item__in=kept.keys() - wanted.keys()).delete()
        _save(_work_out(here, stale, wanted, now))
    return f"{len(stale)} of {len(wanted)}"


def _save(fresh: Iterable[ReorderFigure]) -> None:
    """Keep figures in place of the ones before."""
    fields = [f.name for f in ReorderFigure._meta.concrete_fields if not f.primary_key]
    ReorderFigure.objects.bulk_create(
        fresh, update_conflicts=True, unique_fields=["item"], update_fields=fields, batch_size=200
    )

"""What lies ahead of each item: when to order and how much, why, and what would be if."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from typing import Any
from urllib.parse import urlencode

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_safe
from django_tables2 import RequestConfig

from shop import clock
from shop.calc.demand import Outlook
from shop.calc.demand import outlook as outlook_on
from shop.people.models import Person
from shop.people.requests import PersonRequest
from shop.press.pages import may
from shop.stock import actions, wording
from shop.stock.amounts import in_words
from shop.stock.figures import by_outlook, current_figures, runs_out_on
from shop.stock.filters import OutlookFilter
from shop.stock.forms import WhatIfForm
from shop.stock.models import Item
from shop.stock.pictures import outlook_picture
from shop.stock.queries.outlook import LOOK_WEEKS, Basis, bases, outlook_of, present
from shop.stock.tables import FigureLine, OutlookTable
from shop.wording import chance_words


@require_safe
def outlook(request: PersonRequest) -> HttpResponse:
    """All items, the most pressing first. What changed since the figures were kept is worked out for this page."""
    here = present(clock.today())
    narrowed = OutlookFilter(request.GET, queryset=Item.objects.filter(is_active=True))
    figures = {figure.item_id: figure for figure in current_figures(here, clock.now())}
    lines = {pk: FigureLine(figure, here.day, here.held(pk)) for pk, figure in figures.items()}
    table = OutlookTable(by_outlook(narrowed.qs, figures.values()), lines=lines, reader=request.user)
    RequestConfig(request, paginate={"per_page": 50}).configure(table)
    shown = set(narrowed.qs.values_list("pk", flat=True)) & lines.keys()
    context = {
        "table": table,
        "filter": narrowed,
        "worked_at": min((figures[pk].worked_at for pk in shown), default=None),
        "due": sum(1 for pk in shown if lines[pk].is_due),
        "look_weeks": LOOK_WEEKS,
    }
    return render(request, "stock/outlook.html", context)


@require_safe
def item_outlook(request: PersonRequest, pk: int) -> HttpResponse:
    """One item: what to do and why, the weeks to come, and figures to try, in the address. Worked out for this page."""
    item = get_object_or_404(Item.objects.select_related("supplier"), pk=pk)
    day = clock.today()
    basis = next(iter(bases(present(day, pk), [pk])), None)
    found = outlook_of([basis])[0] if basis is not None else None
    form = WhatIfForm(request.GET or None, person=request.user, item=item)
    context: dict[str, Any] = {"item": item, "basis": basis, "outlook": found, "form": form}
    if basis is not None and found is not None:
        context |= _in_words(basis, found, request.user)
        context["draft_link"] = _draft_link(item, found) if may(request.user, actions.draft_order) else ""
        if form.is_bound and form.is_valid() and form.says_something:
            # with the same forecast: else another lead time might pick another method, and blur what it alone changes
            same = replace(basis.question(), forecast=found.picked.forecast)
            tried = outlook_on(form.tried(same))
            context["tried"] = _compared(basis, found, tried, request.user)
    return render(request, "stock/item_outlook.html", context, status=422 if form.is_bound and form.errors else 200)


def _draft_link(item: Item, found: Outlook) -> str:
    """Where an order is drafted, with the item, its usual supplier and the suggested quantity filled in."""
    if not found.suggestion.quantity:
        return ""
    asked = {"item": item.pk, "quantity": found.suggestion.quantity}
    if item.supplier_id is not None:
        asked["supplier"] = item.supplier_id
    return f"{reverse('stock:draft-order')}?{urlencode(asked)}"


def _in_words(basis: Basis, found: Outlook, reader: Person) -> dict[str, Any]:
    """What the page of an outlook shows besides the outlook itself."""
    return {
        "advice": wording.advice_words(basis, found, reader),
        "per_week": wording.rate_words(found.picked.forecast.per_week, basis.item, reader),
        "order_by": _day(basis.day, found.order_by_days),
        "runs_out": runs_out_on(found, basis.day),
        "chance_out": found.out_before_it_comes,
        "quantity_words": wording.quantity_words(basis, found, reader),
        "reasons": wording.reasons(basis, found, reader),
        "picture": outlook_picture(basis, found, reader),
        "described": wording.fan_words(basis, found, reader),
        "weeks": [(basis.day + timedelta(days=7 * week.number - 1), week) for week in found.weeks],
        "losses": [(basis.lots[loss.lot], loss) for loss in found.losses if loss.expected >= 0.05],
        "scores": [(wording.method_words(score.method), score) for score in found.picked.scores],
        "picked": wording.method_words(found.picked.forecast.method),
        "service": wording.level_words(basis.item.service_level),
    }


def _day(today: date, days: int | None) -> date | None:
    return None if days is None else today + timedelta(days=days)


def _compared(basis: Basis, before: Outlook, after: Outlook, reader: Person) -> list[tuple[str, str, str]]:
    """Each figure as it is and as it would be, with its name."""
    none = f"not within {after.weeks[-1].number} weeks"

    def said(value: int) -> str:
        return in_words(value, basis.item, reader)

    def days(found: date | None, none: str = none) -> str:
        return wording.day_words(found, basis.day) if found is not None else none

    figures: list[tuple[str, Callable[[Outlook], str]]] = [
        ("Used until an order comes", lambda o: wording.rate_words(o.lead_demand.mean, basis.item, reader)),
        ("Time to order at or below", lambda o: said(o.reorder_point)),
        ("Order by", lambda o: days(_day(basis.day, o.order_by_days))),
        ("Suggested", lambda o: said(o.suggestion.quantity)),
        ("Lasting until about", lambda o: days(_day(basis.day, o.suggestion.lasts_days), "beyond three years")),
        (
            "Chance of running out before an order placed today comes",
            lambda o: chance_words(o.out_before_it_comes),
        ),
        ("Runs out around", lambda o: days(runs_out_on(o, basis.day))),
    ]
    return [(name, told(before), told(after)) for name, told in figures]

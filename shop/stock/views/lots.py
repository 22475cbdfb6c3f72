"""The lots, one lot, and what can be done with it."""

from collections.abc import Callable, Iterable
from datetime import timedelta
from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe
from django_tables2 import RequestConfig

from shop import clock
from shop.paging import leaf
from shop.people.models import Person
from shop.people.requests import PersonRequest
from shop.press.forms import PressForm
from shop.press.pages import press_page, writes
from shop.stock import actions, queries, wording
from shop.stock.amounts import change_in_words, in_words
from shop.stock.filters import LotFilter
from shop.stock.forms import (
    CorrectLotForm,
    CountLotForm,
    HoldLotForm,
    InspectLotForm,
    ReleaseLotForm,
    ReturnStockForm,
    ReverseMovementForm,
    SpoilStockForm,
    TestStockForm,
    UseStockForm,
)
from shop.stock.ledger import owners
from shop.stock.models import Inspection, Lot, Movement, MovementKind, Outcome
from shop.stock.tables import LotTable, MovementTable, can_be_undone

#: How long after it was written a movement's undo stands at the top of its lot's page.
UNDO_AT_HAND = timedelta(minutes=10)


def _lot(pk: int) -> Lot:
    return get_object_or_404(Lot.objects.select_related("item", "supplier", "held_by", "order_line__order"), pk=pk)


def _told(movement: Movement, person: Person) -> str:
    """What was saved, in one sentence."""
    item = movement.item
    change, left = change_in_words(movement.change, item, person), in_words(movement.balance, item, person)
    return f"{movement.get_kind_display()} {change}: {item.name}, lot {movement.lot.code}. {left} left in it."


@require_safe
def lots(request: PersonRequest) -> HttpResponse:
    """Every lot, narrowed and sorted in the database, to tick for labels."""
    narrowed = LotFilter(request.GET, queryset=queries.lots())
    table = LotTable(narrowed.qs, reader=request.user, day=clock.today())
    RequestConfig(request, paginate={"per_page": 50}).configure(table)
    return render(request, "stock/lots.html", {"filter": narrowed, "table": table})


@require_safe
def lot(request: PersonRequest, pk: int) -> HttpResponse:
    """What is known of a lot, its ledger with running balances, and an undo at hand for what was just written."""
    kept = _lot(pk)
    page = leaf(queries.lot_movements(kept), request.GET, by=("id",), size=15)
    belongs = owners([movement.pk for movement in page.rows])
    table = MovementTable(page.rows, reader=request.user, owners=belongs, of_one_lot=True)
    recent = [
        movement
        for movement in page.rows[:1]
        if page.is_first
        and clock.now() - movement.recorded_at < UNDO_AT_HAND
        and can_be_undone(movement, request.user)
        and movement.pk not in belongs
    ]
    inspections = list(queries.inspections(kept)[:10])
    context = {
        "lot": kept,
        "item": kept.item,
        "line": queries.LotLine(kept, clock.today()),
        "leaf": page,
        "table": table,
        "inspections": inspections,
        "sample": queries.sample_of(inspections[0]) if inspections else None,
        "look_next": not inspections and kept.on_hand and page.is_first and _only_came(page.rows),
        "remarks": kept.remarks.select_related("by")[:20],
        "recent": recent[0] if recent else None,
        "recent_when": wording.happened_words(recent[0], clock.today()) if recent else "",
        "undo": ReverseMovementForm(person=request.user),
    }
    return render(request, "stock/lot.html", context)


def _only_came(lines: Iterable[Movement]) -> bool:
    """Whether nothing was done with a lot since it was received."""
    return all(line.kind == MovementKind.RECEIVED for line in lines)


@writes(actions.use_stock)
def use_stock(request: PersonRequest, pk: int) -> HttpResponse:
    kept = _lot(pk)
    form = UseStockForm(request.POST or None, person=request.user, lot=kept)
    return _page(request, form, actions.use_stock, kept, said=lambda movement: _told(movement, request.user))


@writes(actions.test_stock)
def test_stock(request: PersonRequest, pk: int) -> HttpResponse:
    kept = _lot(pk)
    form = TestStockForm(request.POST or None, person=request.user, lot=kept)
    return _page(request, form, actions.test_stock, kept, said=lambda movement: _told(movement, request.user))


@writes(actions.spoil_stock)
def spoil_stock(request: PersonRequest, pk: int) -> HttpResponse:
    kept = _lot(pk)
    form = SpoilStockForm(request.POST or None, person=request.user, lot=kept)
    return _page(request, form, actions.spoil_stock, kept, said=lambda movement: _told(movement, request.user))


@writes(actions.return_stock)
def return_stock(request: PersonRequest, pk: int) -> HttpResponse:
    kept = _lot(pk)
    form = ReturnStockForm(request.POST or None, person=request.user, lot=kept)
    return _page(request, form, actions.return_stock, kept, said=lambda movement: _told(movement, request.user))


@writes(actions.count_lot)
def count_lot(request: PersonRequest, pk: int) -> HttpResponse:
    kept = _lot(pk)
    form = CountLotForm(request.POST or None, person=request.user, lot=kept)

    def said(counted: Movement) -> str:
        agrees = "The count agrees with the ledger; that is kept too."
        return _told(counted, request.user) if counted.change else agrees

    return _page(request, form, actions.count_lot, kept, said=said)


@writes(actions.inspect_lot)
def inspect_lot(request: PersonRequest, pk: int) -> HttpResponse:
    kept = _lot(pk)
    form = InspectLotForm(request.POST or None, person=request.user, lot=kept)

    def said(done: Inspection) -> str:
        faulty = in_words(done.faulty, kept.item, request.user) if done.faulty else "none"
        looked = in_words(done.looked_at, kept.item, request.user)
        return f"{looked} looked at, {faulty} faulty. {_CAME_OF_IT[done.outcome].format(code=kept.code)}"

    return _page(request, form, actions.inspect_lot, kept, said=said)


_CAME_OF_IT: dict[str, str] = {
    Outcome.ACCEPT: "Lot {code} may be used.",
    Outcome.HOLD: "Lot {code} is on hold.",
    Outcome.RETURN: "All of lot {code} goes back. If it is to be replaced, order it again.",
}


@writes(actions.hold_lot)
def hold_lot(request: PersonRequest, pk: int) -> HttpResponse:
    kept = _lot(pk)
    form = HoldLotForm(request.POST or None, person=request.user, lot=kept)
    return _page(request, form, actions.hold_lot, kept, said=f"Lot {kept.code} is on hold.")


@writes(actions.release_lot)
def release_lot(request: PersonRequest, pk: int) -> HttpResponse:
    kept = _lot(pk)
    form = ReleaseLotForm(request.POST or None, person=request.user, lot=kept)
    return _page(request, form, actions.release_lot, kept, said=f"Lot {kept.code} may be used again.")


@writes(actions.correct_lot)
def correct_lot(request: PersonRequest, pk: int) -> HttpResponse:
    kept = _lot(pk)
    form = CorrectLotForm(request.POST or None, person=request.user, row=kept)
    return _page(request, form, actions.correct_lot, kept, said="Put right. What it was before is kept below.")


def _page(
    request: PersonRequest, form: PressForm, act: Callable[..., Any], kept: Lot, *, said: str | Callable[[Any], str]
) -> HttpResponse:
    """The page of something done to a lot, which it leads back to."""
    more = {"item": kept.item, "line": queries.LotLine(kept, clock.today())}
    return press_page(request, form, act, said=said, to=kept, more=more, lot=kept)

"""One lot, and what can be done with it."""

from datetime import timedelta

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_safe

from shop import clock
from shop.paging import leaf
from shop.people.models import Person
from shop.people.requests import PersonRequest
from shop.press.pages import writes
from shop.stock import actions, queries
from shop.stock.amounts import change_in_words, in_words
from shop.stock.forms import (
    CorrectLotForm,
    CountLotForm,
    HoldLotForm,
    ReleaseLotForm,
    ReturnStockForm,
    ReverseMovementForm,
    SpoilStockForm,
    TestStockForm,
    UseStockForm,
)
from shop.stock.ledger import owners
from shop.stock.models import Lot, Movement
from shop.stock.tables import MovementTable, can_be_undone

#: How long after it was written a movement's undo stands at the top of its lot's page.
UNDO_AT_HAND = timedelta(minutes=10)


def _lot(pk: int) -> Lot:
    return get_object_or_404(Lot.objects.select_related("item", "supplier", "held_by"), pk=pk)


def _told(movement: Movement, person: Person) -> str:
    """What was saved, in one sentence."""
    item = movement.item
    change, left = change_in_words(movement.change, item, person), in_words(movement.balance, item, person)
    return f"{movement.get_kind_display()} {change}: {item.name}, lot {movement.lot.code}. {left} left in it."


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
    context = {
        "lot": kept,
        "item": kept.item,
        "line": queries.LotLine(kept, clock.today()),
        "leaf": page,
        "table": table,
        "remarks": kept.remarks.select_related("by")[:20],
        "recent": recent[0] if recent else None,
        "undo": ReverseMovementForm(person=request.user),
    }
    return render(request, "stock/lot.html", context)


@writes(actions.use_stock)
def use_stock(request: PersonRequest, pk: int) -> HttpResponse:
    kept = _lot(pk)
    form = UseStockForm(request.POST or None, person=request.user, lot=kept)
    if request.method == "POST" and (movement := form.press(actions.use_stock, by=request.user, lot=kept)):
        messages.success(request, _told(movement, request.user))
        return redirect(kept)
    return _form_page(request, "stock/use_stock.html", form, kept)


@writes(actions.test_stock)
def test_stock(request: PersonRequest, pk: int) -> HttpResponse:
    kept = _lot(pk)
    form = TestStockForm(request.POST or None, person=request.user, lot=kept)
    if request.method == "POST" and (movement := form.press(actions.test_stock, by=request.user, lot=kept)):
        messages.success(request, _told(movement, request.user))
        return redirect(kept)
    return _form_page(request, "stock/test_stock.html", form, kept)


@writes(actions.spoil_stock)
def spoil_stock(request: PersonRequest, pk: int) -> HttpResponse:
    kept = _lot(pk)
    form = SpoilStockForm(request.POST or None, person=request.user, lot=kept)
    if request.method == "POST" and (movement := form.press(actions.spoil_stock, by=request.user, lot=kept)):
        messages.success(request, _told(movement, request.user))
        return redirect(kept)
    return _form_page(request, "stock/spoil_stock.html", form, kept)


@writes(actions.return_stock)
def return_stock(request: PersonRequest, pk: int) -> HttpResponse:
    kept = _lot(pk)
    form = ReturnStockForm(request.POST or None, person=request.user, lot=kept)
    if request.method == "POST" and (movement := form.press(actions.return_stock, by=request.user, lot=kept)):
        messages.success(request, _told(movement, request.user))
        return redirect(kept)
    return _form_page(request, "stock/return_stock.html", form, kept)


@writes(actions.count_lot)
def count_lot(request: PersonRequest, pk: int) -> HttpResponse:
    kept = _lot(pk)
    form = CountLotForm(request.POST or None, person=request.user, lot=kept)
    if request.method == "POST" and (movement := form.press(actions.count_lot, by=request.user, lot=kept)):
        agrees = "The count agrees with the ledger; that is kept too."
        messages.success(request, _told(movement, request.user) if movement.change else agrees)
        return redirect(kept)
    return _form_page(request, "stock/count_lot.html", form, kept)


@writes(actions.hold_lot)
def hold_lot(request: PersonRequest, pk: int) -> HttpResponse:
    kept = _lot(pk)
    form = HoldLotForm(request.POST or None, person=request.user, lot=kept)
    if request.method == "POST" and form.press(actions.hold_lot, by=request.user, lot=kept) is not None:
        messages.success(request, f"Lot {kept.code} is on hold.")
        return redirect(kept)
    return _form_page(request, "stock/hold_lot.html", form, kept)


@writes(actions.release_lot)
def release_lot(request: PersonRequest, pk: int) -> HttpResponse:
    kept = _lot(pk)
    form = ReleaseLotForm(request.POST or None, person=request.user, lot=kept)
    if request.method == "POST" and form.press(actions.release_lot, by=request.user, lot=kept) is not None:
        messages.success(request, f"Lot {kept.code} may be used again.")
        return redirect(kept)
    return _form_page(request, "stock/release_lot.html", form, kept)


@writes(actions.correct_lot)
def correct_lot(request: PersonRequest, pk: int) -> HttpResponse:
    kept = _lot(pk)
    form = CorrectLotForm(request.POST or None, person=request.user, row=kept)
    if request.method == "POST" and form.press(actions.correct_lot, by=request.user, lot=kept) is not None:
        messages.success(request, "Put right. What it was before is kept below.")
        return redirect(kept)
    return _form_page(request, "stock/correct_lot.html", form, kept)


def _form_page(request: PersonRequest, template: str, form: object, kept: Lot) -> HttpResponse:
    context = {"form": form, "lot": kept, "item": kept.item, "line": queries.LotLine(kept, clock.today())}
    return render(request, template, context, status=form.http_status)  # type: ignore[attr-defined]

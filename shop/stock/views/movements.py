"""The ledger, and undoing a line of it."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_safe

from shop.paging import leaf
from shop.people.requests import PersonRequest
from shop.press.pages import writes
from shop.stock import actions, queries
from shop.stock.amounts import change_in_words, in_words
from shop.stock.filters import LedgerFilter
from shop.stock.forms import ReverseMovementForm
from shop.stock.ledger import owners
from shop.stock.tables import MovementTable


@require_safe
def ledger(request: PersonRequest) -> HttpResponse:
    """Every movement, latest first, narrowed and leafed through in the database."""
    narrowed = LedgerFilter(request.GET, queryset=queries.movements())
    page = leaf(narrowed.qs, request.GET)
    table = MovementTable(page.rows, reader=request.user, owners=owners([line.pk for line in page.rows]))
    return render(request, "stock/ledger.html", {"filter": narrowed, "leaf": page, "table": table})


@writes(actions.reverse_movement)
def reverse_movement(request: PersonRequest, pk: int) -> HttpResponse:
    movement = get_object_or_404(queries.movements(), pk=pk)
    form = ReverseMovementForm(request.POST or None, person=request.user)
    if request.method == "POST" and (
        undone := form.press(actions.reverse_movement, by=request.user, movement=movement)
    ):
        left = in_words(undone.balance, movement.item, request.user)
        messages.success(request, f"Undone. {left} on hand in lot {movement.lot.code}.")
        return redirect(movement.lot)
    context = {
        "form": form,
        "movement": movement,
        "change": change_in_words(movement.change, movement.item, request.user),
        "owner": owners([movement.pk]).get(movement.pk),
    }
    return render(request, "stock/reverse_movement.html", context, status=form.http_status)

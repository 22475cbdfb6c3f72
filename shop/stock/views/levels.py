"""What there is: the shelf as a whole, one item, and a delivery of it."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_safe

from shop import clock
from shop.paging import leaf
from shop.people.requests import PersonRequest
from shop.press.pages import writes
from shop.stock import actions, queries
from shop.stock.amounts import in_words
from shop.stock.figures import order_days
from shop.stock.filters import ItemFilter
from shop.stock.forms import ReceiveDeliveryForm
from shop.stock.models import Item
from shop.stock.tables import EmptyLotTable


@require_safe
def items(request: PersonRequest) -> HttpResponse:
    """Levels of all items, blanks by size first."""
    day = clock.today()
    shelf = ItemFilter(request.GET, queryset=queries.items())
    page = Paginator(shelf.qs, 50).get_page(request.GET.get("page"))
    levels = queries.levels(day, page.object_list)
    when = order_days(page.object_list, clock.now())
    context = {
        "blanks": [stock for stock in queries.blank_stock(day).values() if stock.is_kept],
        "lines": [
            queries.ItemLine(item, levels.get(item.pk, queries.Level()), day, when.get(item.pk))
            for item in page.object_list
        ],
        "page": page,
        "filter": shelf,
    }
    return render(request, "stock/items.html", context)


@require_safe
def item(request: PersonRequest, pk: int) -> HttpResponse:
    """One item: its level, its lots in the order to take them, and the lots that are used up."""
    day = clock.today()
    kept = get_object_or_404(Item.objects.select_related("supplier"), pk=pk)
    lines, levels = queries.lot_lines(kept, day), queries.levels(day, [kept])
    when = order_days([kept], clock.now()).get(kept.pk)
    empty = leaf(queries.empty_lots(kept), request.GET, by=("received_on", "id"), size=20)
    context = {
        "item": kept,
        "coming": queries.to_come_of(kept),
        "line": queries.ItemLine(kept, levels.get(kept.pk, queries.Level()), day, when),
        "lots": lines,
        "next": next((line.lot for line in lines if line.is_next), None),
        "empty": EmptyLotTable(empty.rows),
        "leaf": empty,
    }
    return render(request, "stock/item.html", context)


@writes(actions.receive_delivery)
def receive_delivery(request: PersonRequest, pk: int) -> HttpResponse:
    kept = get_object_or_404(Item, pk=pk)
    form = ReceiveDeliveryForm(request.POST or None, person=request.user, item=kept)
    if request.method == "POST" and (lot := form.press(actions.receive_delivery, by=request.user, item=kept)):
        lot.refresh_from_db()
        messages.success(
            request, f"Received {in_words(lot.on_hand, kept, request.user)} of {kept.name} as lot {lot.code}."
        )
        return redirect(lot)
    context = {"form": form, "item": kept, "coming": queries.to_come_of(kept)}
    return render(request, "stock/receive_delivery.html", context, status=form.http_status)

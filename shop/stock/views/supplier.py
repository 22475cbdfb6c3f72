"""One supplier: how to reach it, how long it takes, what comes from it, and its orders."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe
from django_tables2 import RequestConfig

from shop import clock
from shop.people.requests import PersonRequest
from shop.press.pages import may
from shop.stock import actions, queries
from shop.stock.models import Item, Supplier
from shop.stock.pictures import lead_picture
from shop.stock.tables import OrderTable


@require_safe
def supplier(request: PersonRequest, pk: int) -> HttpResponse:
    kept = get_object_or_404(Supplier, pk=pk)
    day = clock.today()
    table = OrderTable(queries.orders().filter(supplier=kept), reader=request.user, exclude=("supplier",))
    RequestConfig(request, paginate={"per_page": 15}).configure(table)
    history = queries.lead_histories([kept.pk], day)[kept.pk]
    lead = queries.lead_words(queries.learned(history, kept.lead_days))
    took = history.took[:12]
    context = {
        "supplier": kept,
        "lead": lead,
        "took": took,
        "picture": lead_picture(took, lead, kept.lead_days) if took else "",
        "items": Item.objects.filter(supplier=kept, is_active=True),
        "table": table,
        "may_change": may(request.user, actions.change_supplier),
        "may_draft": kept.is_active and may(request.user, actions.draft_order),
    }
    return render(request, "stock/supplier.html", context)

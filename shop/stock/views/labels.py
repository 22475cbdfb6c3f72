"""Labels with codes that open the page of a lot or an item, on sheets."""

from typing import Any

from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from shop import paper
from shop.codes import where_codes_open
from shop.people.requests import PersonRequest
from shop.stock import labels, queries
from shop.stock.filters import LotFilter
from shop.stock.forms import LotLabelsForm, ShelfLabelsForm
from shop.stock.forms.labels import LabelsForm
from shop.stock.models import Lot

#: The most lots that are offered at once.
_MOST_OFFERED = 200


@require_safe
def lot_labels(request: PersonRequest) -> HttpResponse:
    """Which lots, how many of each, on which paper: the lots ticked, or those that the address's filter leaves."""
    form = LotLabelsForm(room=request.room, offered=_lots(request))
    return _choose(request, form, "stock/lot_labels.html")


@require_safe
def lot_labels_pdf(request: PersonRequest) -> HttpResponse:
    if not request.GET.getlist("lot"):
        return redirect("stock:lot-labels")
    form = LotLabelsForm(request.GET, room=request.room, offered=_lots(request))
    if not form.is_valid():
        return _choose(request, form, "stock/lot_labels.html")
    made = [
        labels.lot_label(lot, _opens(request, lot)) for lot in form.cleaned_data["lot"].order_by("item__name", "code")
    ]
    return _paper(request, form, made, name="lot labels")


@require_safe
def shelf_labels(request: PersonRequest) -> HttpResponse:
    form = ShelfLabelsForm(room=request.room, ticked=request.GET.getlist("item"))
    return _choose(request, form, "stock/shelf_labels.html")


@require_safe
def shelf_labels_pdf(request: PersonRequest) -> HttpResponse:
    if not request.GET:
        return redirect("stock:shelf-labels")
    form = ShelfLabelsForm(request.GET, room=request.room)
    if not form.is_valid():
        return _choose(request, form, "stock/shelf_labels.html")
    made = [labels.shelf_label(item, _opens(request, item)) for item in form.cleaned_data["item"]]
    return _paper(request, form, made, name="shelf labels")


def _lots(request: HttpRequest) -> QuerySet[Lot]:
    """The lots that may get a label here: those named one by one, else those that came with one, else the filter's."""
    named = [pk for pk in request.GET.getlist("lot") if _is_key(pk)]
    if named:
        return queries.lots().filter(pk__in=named[:_MOST_OFFERED])
    together = request.GET.get("with", "")
    if _is_key(together):
        lot = Lot.objects.filter(pk=together).first()
        return queries.came_with(lot) if lot else queries.lots().none()
    if not request.GET:
        return queries.lots().none()
    found = LotFilter(request.GET, queryset=queries.lots()).qs.values("pk")[:_MOST_OFFERED]
    return queries.lots().filter(pk__in=[row["pk"] for row in found])


def _is_key(text: str) -> bool:
    return text.isascii() and text.isdigit() and len(text) < 19


def _opens(request: HttpRequest, row: Any) -> str:
    """The whole address of the row's page, by the name this request came under."""
    return request.build_absolute_uri(row.get_absolute_url())


def _choose(request: PersonRequest, form: LabelsForm, template: str) -> HttpResponse:
    context = {"form": form, "most": _MOST_OFFERED, **where_codes_open(request)}
    return render(request, template, context, status=form.http_status)


def _paper(request: PersonRequest, form: LabelsForm, made: list[labels.Label], *, name: str) -> HttpResponse:
    size = form.cleaned_data["paper"]
    parted = labels.sheets(made, copies=form.cleaned_data["copies"], start=form.cleaned_data["start"], grid=form.grid)
    context = {"sheets": parted, "paper": size, "title": f"{name.capitalize()}, {request.room}"}
    return paper.hand_out(request, lambda: paper.pdf("print/labels.html", context, size), name=name)

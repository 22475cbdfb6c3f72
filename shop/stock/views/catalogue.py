"""What is kept, from whom, and what can be wrong with it."""

from django.db.models import Count, Q
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe
from django_tables2 import RequestConfig

from shop.people.requests import PersonRequest
from shop.press.pages import press_page, writes
from shop.stock import actions
from shop.stock.forms import (
    AddDefectForm,
    AddItemForm,
    AddSupplierForm,
    ChangeDefectForm,
    ChangeItemForm,
    ChangeSupplierForm,
    PlanItemForm,
)
from shop.stock.models import Defect, Item, Supplier
from shop.stock.tables import DefectTable, SupplierTable


@writes(actions.add_item)
def add_item(request: PersonRequest) -> HttpResponse:
    form = AddItemForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.add_item,
        said=lambda item: f"{item.name} is kept from now on. Enter what you have of it as a delivery.",
    )


@writes(actions.change_item)
def change_item(request: PersonRequest, pk: int) -> HttpResponse:
    item = get_object_or_404(Item, pk=pk)
    form = ChangeItemForm(request.POST or None, person=request.user, row=item)
    return press_page(request, form, actions.change_item, said="Saved.", to=item, item=item)


@writes(actions.plan_item)
def plan_item(request: PersonRequest, pk: int) -> HttpResponse:
    item = get_object_or_404(Item, pk=pk)
    form = PlanItemForm(request.POST or None, person=request.user, row=item)
    return press_page(request, form, actions.plan_item, said="Saved.", to=item, item=item)


@require_safe
def suppliers(request: PersonRequest) -> HttpResponse:
    rows = Supplier.objects.annotate(items=Count("item", filter=Q(item__is_active=True)))
    table = SupplierTable(rows, reader=request.user)
    RequestConfig(request, paginate={"per_page": 50}).configure(table)
    return render(request, "stock/suppliers.html", {"table": table})


@writes(actions.add_supplier)
def add_supplier(request: PersonRequest) -> HttpResponse:
    form = AddSupplierForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.add_supplier,
        said=lambda supplier: f"{supplier.name} is on the list.",
        to="stock:suppliers",
    )


@writes(actions.change_supplier)
def change_supplier(request: PersonRequest, pk: int) -> HttpResponse:
    supplier = get_object_or_404(Supplier, pk=pk)
    form = ChangeSupplierForm(request.POST or None, person=request.user, row=supplier)
    return press_page(request, form, actions.change_supplier, said="Saved.", to="stock:suppliers", supplier=supplier)


@require_safe
def defects(request: PersonRequest) -> HttpResponse:
    table = DefectTable(Defect.objects.all(), reader=request.user)
    RequestConfig(request, paginate={"per_page": 50}).configure(table)
    return render(request, "stock/defects.html", {"table": table})


@writes(actions.add_defect)
def add_defect(request: PersonRequest) -> HttpResponse:
    form = AddDefectForm(request.POST or None, person=request.user)
    return press_page(
        request, form, actions.add_defect, said=lambda defect: f"“{defect.name}” is on the list.", to="stock:defects"
    )


@writes(actions.change_defect)
def change_defect(request: PersonRequest, pk: int) -> HttpResponse:
    defect = get_object_or_404(Defect, pk=pk)
    form = ChangeDefectForm(request.POST or None, person=request.user, row=defect)
    return press_page(request, form, actions.change_defect, said="Saved.", to="stock:defects", defect=defect)

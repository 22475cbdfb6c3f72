"""What is kept, from whom, and what can be wrong with it."""

from django.contrib import messages
from django.db.models import Count, Q
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_safe
from django_tables2 import RequestConfig

from shop.people.requests import PersonRequest
from shop.press.pages import writes
from shop.stock import actions
from shop.stock.forms import (
    AddDefectForm,
    AddItemForm,
    AddSupplierForm,
    ChangeDefectForm,
    ChangeItemForm,
    ChangeSupplierForm,
)
from shop.stock.models import Defect, Item, Supplier
from shop.stock.tables import DefectTable, SupplierTable


@writes(actions.add_item)
def add_item(request: PersonRequest) -> HttpResponse:
    form = AddItemForm(request.POST or None, person=request.user)
    if request.method == "POST" and (item := form.press(actions.add_item, by=request.user)):
        messages.success(request, f"{item.name} is kept from now on. Enter what you have of it as a delivery.")
        return redirect(item)
    return render(request, "stock/add_item.html", {"form": form}, status=form.http_status)


@writes(actions.change_item)
def change_item(request: PersonRequest, pk: int) -> HttpResponse:
    item = get_object_or_404(Item, pk=pk)
    form = ChangeItemForm(request.POST or None, person=request.user, row=item)
    if request.method == "POST" and form.press(actions.change_item, by=request.user, item=item) is not None:
        messages.success(request, "Saved.")
        return redirect(item)
    return render(request, "stock/change_item.html", {"form": form, "item": item}, status=form.http_status)


@require_safe
def suppliers(request: PersonRequest) -> HttpResponse:
    rows = Supplier.objects.annotate(items=Count("item", filter=Q(item__is_active=True)))
    table = SupplierTable(rows, reader=request.user)
    RequestConfig(request, paginate={"per_page": 50}).configure(table)
    return render(request, "stock/suppliers.html", {"table": table})


@writes(actions.add_supplier)
def add_supplier(request: PersonRequest) -> HttpResponse:
    form = AddSupplierForm(request.POST or None, person=request.user)
    if request.method == "POST" and (supplier := form.press(actions.add_supplier, by=request.user)):
        messages.success(request, f"{supplier.name} is on the list.")
        return redirect("stock:suppliers")
    return render(request, "stock/add_supplier.html", {"form": form}, status=form.http_status)


@writes(actions.change_supplier)
def change_supplier(request: PersonRequest, pk: int) -> HttpResponse:
    supplier = get_object_or_404(Supplier, pk=pk)
    form = ChangeSupplierForm(request.POST or None, person=request.user, row=supplier)
    if request.method == "POST" and form.press(actions.change_supplier, by=request.user, supplier=supplier) is not None:
        messages.success(request, "Saved.")
        return redirect("stock:suppliers")
    return render(request, "stock/change_supplier.html", {"form": form, "supplier": supplier}, status=form.http_status)


@require_safe
def defects(request: PersonRequest) -> HttpResponse:
    table = DefectTable(Defect.objects.all(), reader=request.user)
    RequestConfig(request, paginate={"per_page": 50}).configure(table)
    return render(request, "stock/defects.html", {"table": table})


@writes(actions.add_defect)
def add_defect(request: PersonRequest) -> HttpResponse:
    form = AddDefectForm(request.POST or None, person=request.user)
    if request.method == "POST" and (defect := form.press(actions.add_defect, by=request.user)):
        messages.success(request, f"“{defect.name}” is on the list.")
        return redirect("stock:defects")
    return render(request, "stock/add_defect.html", {"form": form}, status=form.http_status)


@writes(actions.change_defect)
def change_defect(request: PersonRequest, pk: int) -> HttpResponse:
    defect = get_object_or_404(Defect, pk=pk)
    form = ChangeDefectForm(request.POST or None, person=request.user, row=defect)
    if request.method == "POST" and form.press(actions.change_defect, by=request.user, defect=defect) is not None:
        messages.success(request, "Saved.")
        return redirect("stock:defects")
    return render(request, "stock/change_defect.html", {"form": form, "defect": defect}, status=form.http_status)

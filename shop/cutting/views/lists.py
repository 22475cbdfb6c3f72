"""Pages of the shop's own lists and limits."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_safe

from shop.cutting import actions, queries
from shop.cutting.forms import (
    AddLatheForm,
    AddRejectReasonForm,
    AddStylusKindForm,
    ChangeLatheForm,
    ChangeLimitsForm,
    ChangeRejectReasonForm,
    ChangeStylusKindForm,
)
from shop.cutting.models import Lathe, RejectReason, StylusKind
from shop.people.requests import PersonRequest
from shop.press.pages import may, writes


@require_safe
def lathes(request: PersonRequest) -> HttpResponse:
    context = {
        "lathes": Lathe.objects.order_by("-is_active", "name"),
        "fitted": {fitting.lathe_id: fitting for fitting in queries.fitted_lives()},
        "limits": queries.limits(),
        "may_change": may(request.user, actions.change_lathe),
    }
    return render(request, "cutting/lathes.html", context)


@writes(actions.add_lathe)
def add_lathe(request: PersonRequest) -> HttpResponse:
    form = AddLatheForm(request.POST or None, person=request.user)
    if request.method == "POST" and (made := form.press(actions.add_lathe, by=request.user)):
        messages.success(request, f"{made} is entered.")
        return redirect("cutting:lathes")
    return render(request, "cutting/add_lathe.html", {"form": form}, status=form.http_status)


@writes(actions.change_lathe)
def change_lathe(request: PersonRequest, pk: int) -> HttpResponse:
    row = get_object_or_404(Lathe, pk=pk)
    form = ChangeLatheForm(request.POST or None, person=request.user, row=row)
    if request.method == "POST" and form.press(actions.change_lathe, by=request.user, lathe=row) is not None:
        messages.success(request, "The lathe is saved.")
        return redirect("cutting:lathes")
    return render(request, "cutting/change_lathe.html", {"form": form, "row": row}, status=form.http_status)


@writes(actions.change_limits)
def change_limits(request: PersonRequest) -> HttpResponse:
    form = ChangeLimitsForm(request.POST or None, person=request.user, row=queries.limits())
    if request.method == "POST" and form.press(actions.change_limits, by=request.user) is not None:
        messages.success(request, "The shop's own limits are saved.")
        return redirect("cutting:lathes")
    return render(request, "cutting/change_limits.html", {"form": form}, status=form.http_status)


@require_safe
def stylus_kinds(request: PersonRequest) -> HttpResponse:
    kinds = [
        {"kind": kind, "record": record, "usual": queries.usual_hours(kind, record)} for kind, record in queries.kinds()
    ]
    context = {"kinds": kinds, "may_change": may(request.user, actions.change_stylus_kind)}
    return render(request, "cutting/stylus_kinds.html", context)


@writes(actions.add_stylus_kind)
def add_stylus_kind(request: PersonRequest) -> HttpResponse:
    form = AddStylusKindForm(request.POST or None, person=request.user)
    if request.method == "POST" and (made := form.press(actions.add_stylus_kind, by=request.user)):
        messages.success(request, f"{made} is entered.")
        return redirect("cutting:stylus-kinds")
    return render(request, "cutting/add_stylus_kind.html", {"form": form}, status=form.http_status)


@writes(actions.change_stylus_kind)
def change_stylus_kind(request: PersonRequest, pk: int) -> HttpResponse:
    row = get_object_or_404(StylusKind, pk=pk)
    form = ChangeStylusKindForm(request.POST or None, person=request.user, row=row)
    if request.method == "POST" and form.press(actions.change_stylus_kind, by=request.user, kind=row) is not None:
        messages.success(request, "The kind is saved. What its styli are judged by has changed with it.")
        return redirect("cutting:stylus-kinds")
    return render(request, "cutting/change_stylus_kind.html", {"form": form, "row": row}, status=form.http_status)


@require_safe
def reject_reasons(request: PersonRequest) -> HttpResponse:
    context = {
        "reasons": RejectReason.objects.order_by("-is_active", "name"),
        "may_change": may(request.user, actions.change_reject_reason),
    }
    return render(request, "cutting/reject_reasons.html", context)


@writes(actions.add_reject_reason)
def add_reject_reason(request: PersonRequest) -> HttpResponse:
    form = AddRejectReasonForm(request.POST or None, person=request.user)
    if request.method == "POST" and (made := form.press(actions.add_reject_reason, by=request.user)):
        messages.success(request, f"“{made}” is in the list.")
        return redirect("cutting:reject-reasons")
    return render(request, "cutting/add_reject_reason.html", {"form": form}, status=form.http_status)


@writes(actions.change_reject_reason)
def change_reject_reason(request: PersonRequest, pk: int) -> HttpResponse:
    row = get_object_or_404(RejectReason, pk=pk)
    form = ChangeRejectReasonForm(request.POST or None, person=request.user, row=row)
    if request.method == "POST" and form.press(actions.change_reject_reason, by=request.user, reason=row) is not None:
        messages.success(request, "The reason is saved.")
        return redirect("cutting:reject-reasons")
    return render(request, "cutting/change_reject_reason.html", {"form": form, "row": row}, status=form.http_status)

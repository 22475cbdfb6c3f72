"""Pages of the shop's own lists and limits."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
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
    TryGuessForm,
)
from shop.cutting.models import Lathe, RejectReason, StylusKind
from shop.cutting.pictures import kind_picture, own_words, share_rows
from shop.paging import leaf
from shop.people.requests import PersonRequest
from shop.press.pages import may, press_page, writes


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
    return press_page(request, form, actions.add_lathe, said=lambda made: f"{made} is entered.", to="cutting:lathes")


@writes(actions.change_lathe)
def change_lathe(request: PersonRequest, pk: int) -> HttpResponse:
    lathe = get_object_or_404(Lathe, pk=pk)
    form = ChangeLatheForm(request.POST or None, person=request.user, row=lathe)
    return press_page(request, form, actions.change_lathe, said="The lathe is saved.", to="cutting:lathes", lathe=lathe)


@writes(actions.change_limits)
def change_limits(request: PersonRequest) -> HttpResponse:
    form = ChangeLimitsForm(request.POST or None, person=request.user, row=queries.limits())
    return press_page(
        request, form, actions.change_limits, said="The shop's own limits are saved.", to="cutting:lathes"
    )


@require_safe
def stylus_kinds(request: PersonRequest) -> HttpResponse:
    kinds = [
        {"kind": kind, "record": record, "usual": queries.usual_hours(kind, record)} for kind, record in queries.kinds()
    ]
    context = {"kinds": kinds, "may_change": may(request.user, actions.change_stylus_kind)}
    return render(request, "cutting/stylus_kinds.html", context)


@require_safe
def stylus_kind(request: PersonRequest, pk: int) -> HttpResponse:
    """What a fresh edge of a kind is expected to do, and the shop's own lives behind it; with ?expected_h= and
    ?sureness= what another guess would make of them, which is kept nowhere."""
    kind = get_object_or_404(StylusKind, pk=pk)
    guess = TryGuessForm(request.GET if "expected_h" in request.GET else None, kind=kind)
    is_tried = guess.is_bound and guess.is_valid()
    tried = guess.tried() if is_tried else kind
    record = queries.records(frozenset([kind.pk]))[kind.pk]
    posterior = queries.posterior_of(tried, record)
    steps = queries.own_steps(record)
    change_costs = queries.change_costs(kind)
    change = queries.replacement(posterior, change_costs)
    context = {
        "kind": kind,
        "guess": guess,
        "tried": tried if is_tried else None,
        "record": record,
        "usual": queries.usual_hours(tried, record),
        "posterior": posterior,
        "typical": posterior.typical(),
        "wear": posterior.wear(),
        "picture": kind_picture(kind, posterior, steps, change.hours if change else None),
        "described": own_words(steps),
        "points": share_rows(posterior, steps),
        "steps": steps,
        "own": queries.own_fit(record),
        "change": change,
        "change_costs": change_costs,
        "leaf": leaf(queries.lives_of_kind(kind), request.GET, by=("began_at", "id"), size=20),
        "may_change": may(request.user, actions.change_stylus_kind),
    }
    return render(request, "cutting/stylus_kind.html", context)


@writes(actions.add_stylus_kind)
def add_stylus_kind(request: PersonRequest) -> HttpResponse:
    form = AddStylusKindForm(request.POST or None, person=request.user)
    return press_page(
        request, form, actions.add_stylus_kind, said=lambda made: f"{made} is entered.", to="cutting:stylus-kinds"
    )


@writes(actions.change_stylus_kind)
def change_stylus_kind(request: PersonRequest, pk: int) -> HttpResponse:
    kind = get_object_or_404(StylusKind, pk=pk)
    form = ChangeStylusKindForm(request.POST or None, person=request.user, row=kind)
    return press_page(
        request,
        form,
        actions.change_stylus_kind,
        said="The kind is saved. What its styli are judged by has changed with it.",
        to="cutting:stylus-kinds",
        kind=kind,
    )


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
    return press_page(
        request,
        form,
        actions.add_reject_reason,
        said=lambda made: f"“{made}” is in the list.",
        to="cutting:reject-reasons",
    )


@writes(actions.change_reject_reason)
def change_reject_reason(request: PersonRequest, pk: int) -> HttpResponse:
    reason = get_object_or_404(RejectReason, pk=pk)
    form = ChangeRejectReasonForm(request.POST or None, person=request.user, row=reason)
    return press_page(
        request,
        form,
        actions.change_reject_reason,
        said="The reason is saved.",
        to="cutting:reject-reasons",
        reason=reason,
    )

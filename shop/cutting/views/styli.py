"""Pages of styli."""

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from shop import clock
from shop.cutting import actions, queries
from shop.cutting.forms import (
    AddStylusForm,
    FitStylusForm,
    LookOverStylusForm,
    ReinstateStylusForm,
    RetireStylusForm,
    TakeOffStylusForm,
)
from shop.cutting.models import Lathe, Side
from shop.cutting.pictures import curve_points, describe, life_picture
from shop.people.requests import PersonRequest
from shop.press.pages import may, press_page, writes


@require_safe
def styli(request: PersonRequest) -> HttpResponse:
    retired = request.GET.get("state") == "retired"
    page = Paginator(queries.styli(retired=retired), 30).get_page(request.GET.get("page"))
    states = [queries.state_of(stylus) for stylus in page]
    fitted = [state.life for state in states if state.fitting is not None and state.life is not None]
    for life, stylus in ((life, state.stylus) for life in fitted for state in states if state.life is life):
        life.stylus = stylus
    context = {
        "states": states,
        "page": page,
        "retired": retired,
        "outlooks": queries.outlooks(fitted),
        "doubted": queries.doubted_edges(state.life.pk for state in states if state.life is not None),
        "empty_heads": Lathe.objects.filter(is_active=True).exclude(fittings__off_at=None, fittings__isnull=False),
        "may_add": may(request.user, actions.add_stylus),
        "may_change": may(request.user, actions.change_stylus_kind),
    }
    return render(request, "cutting/styli.html", context)


@require_safe
def stylus(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(queries.styli_of_any_state(), pk=pk)
    state = queries.state_of(shown)
    lives = list(shown.lives.all())
    outlook = queries.stylus_outlook(shown, state.life)
    waiting = queries.uncut_sides()
    today = clock.today()
    context = {
        "stylus": shown,
        "state": state,
        "lives": lives,
        "outlook": outlook,
        "against": _against(state),
        "chances": queries.chances(outlook, waiting, today) if outlook else [],
        "picture": life_picture(outlook) if outlook else "",
        "described": describe(outlook) if outlook else "",
        "points": curve_points(outlook) if outlook else [],
        "sides": list(queries.sides_of(state.life).order_by("-at", "-id")[:20]) if state.life else [],
        "may_fit": may(request.user, actions.fit_stylus),
        "may_reinstate": may(request.user, actions.reinstate_stylus),
    }
    return render(request, "cutting/stylus.html", context)


def _against(state: queries.StylusState) -> list[Side]:
    """The sides that put the edge of the stylus's present life in doubt."""
    return queries.doubted_edges([state.life.pk]).get(state.life.pk, []) if state.life is not None else []


@writes(actions.add_stylus)
def add_stylus(request: PersonRequest) -> HttpResponse:
    form = AddStylusForm(request.POST or None, person=request.user)
    return press_page(
        request, form, actions.add_stylus, said=lambda made: f"{made} is entered. Fit it when its turn comes."
    )


@writes(actions.fit_stylus)
def fit_stylus(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(queries.styli_of_any_state(), pk=pk)
    state = queries.state_of(shown)
    form = FitStylusForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.fit_stylus,
        said=lambda fitting: f"{shown} is in the head of {fitting.lathe}.",
        to=shown,
        more={"fitted": queries.fitted_lives(), "state": state, "against": _against(state)},
        stylus=shown,
    )


@writes(actions.take_off_stylus)
def take_off_stylus(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(queries.styli_of_any_state(), pk=pk)
    form = TakeOffStylusForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.take_off_stylus,
        said=lambda fitting: f"{shown} is out of the head of {fitting.lathe}. Its life goes on.",
        to=shown,
        more={"state": queries.state_of(shown)},
        stylus=shown,
    )


@writes(actions.look_over_stylus)
def look_over_stylus(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(queries.styli_of_any_state(), pk=pk)
    state = queries.state_of(shown)
    form = LookOverStylusForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.look_over_stylus,
        said=f"It is kept that the edge of {shown} is whole.",
        to=shown,
        more={"state": state, "against": _against(state)},
        stylus=shown,
    )


@writes(actions.retire_stylus)
def retire_stylus(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(queries.styli_of_any_state(), pk=pk)
    form = RetireStylusForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.retire_stylus,
        said=f"{shown} is retired, and its life is ended.",
        to=shown,
        more={"state": queries.state_of(shown)},
        stylus=shown,
    )


@writes(actions.reinstate_stylus)
def reinstate_stylus(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(queries.styli_of_any_state(), pk=pk)
    form = ReinstateStylusForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.reinstate_stylus,
        said=f"{shown} is back in the drawer, and its life goes on.",
        to=shown,
        more={"state": queries.state_of(shown)},
        stylus=shown,
    )

"""Pages of styli."""

from typing import Any

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from shop import clock
from shop.cutting import actions, noise, queries
from shop.cutting.forms import (
    AddStylusForm,
    ChangeStylusForm,
    FitStylusForm,
    LookOverStylusForm,
    ReinstateStylusForm,
    RetireStylusForm,
    TakeOffStylusForm,
)
from shop.cutting.models import Side
from shop.cutting.pictures import (
    chart_picture,
    chart_words,
    describe,
    life_picture,
    own_words,
    share_rows,
    trend_picture,
    trend_words,
)
from shop.people.requests import PersonRequest
from shop.press.pages import may, press_page, writes
from shop.recall import looking


@require_safe
def styli(request: PersonRequest) -> HttpResponse:
    retired = request.GET.get("state") == "retired"
    page = Paginator(queries.styli(retired=retired), 30).get_page(request.GET.get("page"))
    states = [queries.state_of(stylus) for stylus in page]
    fitted = [state.life for state in states if state.fitting is not None and state.life is not None]
    for life, stylus in ((life, state.stylus) for life in fitted for state in states if state.life is life):
        life.stylus = stylus
    with looking():
        told = [] if retired else queries.told_of_heads(queries.uncut_sides())
        context = {
            "states": states,
            "page": page,
            "retired": retired,
            "told": {one.fitting.life_id: one for one in told},
            "outlooks": queries.outlooks(fitted),
            "doubted": queries.doubted_edges(state.life.pk for state in states if state.life is not None),
            "empty_heads": queries.empty_heads(),
            "to_fit": any(state.is_in_drawer for state in states),
            "may_add": may(request.user, actions.add_stylus),
            "may_change": may(request.user, actions.change_stylus_kind),
        }
    return render(request, "cutting/styli.html", context)


@require_safe
def stylus(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(queries.styli_of_any_state(), pk=pk)
    state = queries.state_of(shown)
    context = {
        "stylus": shown,
        "state": state,
        "lives": list(shown.lives.all()),
        "sides": list(queries.sides_of(state.life).order_by("-at", "-id")[:20]) if state.life else [],
        "photos": list(queries.photos_of(shown)[:12]),
        "whereabouts": queries.whereabouts(shown),
        "reports": queries.reports_on(shown),
        **_left(state),
        **_noise(state),
        "may_fit": may(request.user, actions.fit_stylus),
        "may_reinstate": may(request.user, actions.reinstate_stylus),
        "may_overrule": may(request.user, actions.overrule_advice),
    }
    return render(request, "cutting/stylus.html", context)


def _left(state: queries.StylusState) -> dict[str, Any]:
    """What the page says of what is left in an edge, and what to do about it."""
    against = _against(state)
    outlook = queries.stylus_outlook(state.stylus, state.life)
    if outlook is None:
        return {"against": against}
    waiting, today = queries.uncut_sides(), clock.today()
    change_costs = queries.change_costs(state.stylus.kind)
    change = queries.replacement(outlook.posterior, change_costs)
    steps = queries.own_steps(outlook)
    advice = queries.advice(
        state.life,
        outlook,
        waiting,
        queries.limits(),
        today=today,
        change=change,
        doubt=queries.doubt_grade(against),
    )
    overrulings = list(state.life.overrulings.select_related("by")[:5]) if state.life is not None else []
    said_today = [one for one in overrulings if one.day == today]
    covered = queries.Covered.of(said_today[0].covers if said_today else None)
    return {
        "against": against,
        "outlook": outlook,
        "advice": advice,
        "overrulings": overrulings,
        "stands_again": bool(said_today)
        and any(covered.word_on(one.matter, one.grade) is None for one in advice.against),
        "today": today,
        "chances": queries.chances(outlook, waiting, today),
        "change": change,
        "change_costs": change_costs,
        "picture": life_picture(outlook, steps, change.hours if change else None),
        "described": f"{describe(outlook)} {own_words(steps)}".strip(),
        "points": share_rows(outlook.posterior, steps, outlook.hours),
        "steps": steps,
    }


def _noise(state: queries.StylusState) -> dict[str, Any]:
    """What the page says of its silent grooves."""
    if state.life is None:
        return {}
    found = noise.of_life(state.life, queries.limits().noise_db)
    if not found.levels:
        return {"noise": found}
    mark = state.stylus.mark
    return {
        "noise": found,
        "trend": trend_picture(found, mark),
        "trend_words": trend_words(found),
        "chart": chart_picture(found, mark) if found.chart else "",
        "chart_words": chart_words(found) if found.chart else "",
        "levels": list(queries.levels_of(state.life)[:40]),
    }


def _against(state: queries.StylusState) -> list[Side]:
    """The sides that put the edge of the stylus's present life in doubt."""
    return queries.doubted_edges([state.life.pk]).get(state.life.pk, []) if state.life is not None else []


@writes(actions.add_stylus)
def add_stylus(request: PersonRequest) -> HttpResponse:
    form = AddStylusForm(request.POST or None, person=request.user)
    return press_page(
        request, form, actions.add_stylus, said=lambda made: f"{made} is entered. Fit it when its turn comes."
    )


@writes(actions.change_stylus)
def change_stylus(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(queries.styli_of_any_state(), pk=pk)
    form = ChangeStylusForm(request.POST or None, person=request.user, row=shown)
    return press_page(
        request, form, actions.change_stylus, said=f"What is known of {shown} is saved.", to=shown, stylus=shown
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

"""Pages of styli."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_safe

from shop import clock
from shop.cutting import actions, queries
from shop.cutting.forms import AddStylusForm, FitStylusForm, ReinstateStylusForm, RetireStylusForm, TakeOffStylusForm
from shop.cutting.models import Lathe, Stylus
from shop.cutting.pictures import curve_points, describe, life_picture
from shop.people.requests import PersonRequest
from shop.press.pages import may, writes


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
        "chances": queries.chances(outlook, waiting, today) if outlook else [],
        "picture": life_picture(outlook) if outlook else "",
        "described": describe(outlook) if outlook else "",
        "points": curve_points(outlook) if outlook else [],
        "sides": list(queries.sides_of(state.life).order_by("-at", "-id")[:20]) if state.life else [],
        "may_fit": may(request.user, actions.fit_stylus),
        "may_reinstate": may(request.user, actions.reinstate_stylus),
    }
    return render(request, "cutting/stylus.html", context)


@writes(actions.add_stylus)
def add_stylus(request: PersonRequest) -> HttpResponse:
    form = AddStylusForm(request.POST or None, person=request.user)
    if request.method == "POST" and (made := form.press(actions.add_stylus, by=request.user)):
        messages.success(request, f"{made} is entered. Fit it when its turn comes.")
        return redirect(made)
    return render(request, "cutting/add_stylus.html", {"form": form}, status=form.http_status)


@writes(actions.fit_stylus)
def fit_stylus(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(Stylus.objects.select_related("kind"), pk=pk)
    form = FitStylusForm(request.POST or None, person=request.user)
    if request.method == "POST" and (fitting := form.press(actions.fit_stylus, by=request.user, stylus=shown)):
        messages.success(request, f"{shown} is in the head of {fitting.lathe}.")
        return redirect(shown)
    context = {"form": form, "stylus": shown, "fitted": queries.fitted_lives()}
    return render(request, "cutting/fit_stylus.html", context, status=form.http_status)


@writes(actions.take_off_stylus)
def take_off_stylus(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(Stylus.objects.select_related("kind"), pk=pk)
    form = TakeOffStylusForm(request.POST or None, person=request.user)
    if request.method == "POST" and (fitting := form.press(actions.take_off_stylus, by=request.user, stylus=shown)):
        messages.success(request, f"{shown} is out of the head of {fitting.lathe}. Its life goes on.")
        return redirect(shown)
    return render(request, "cutting/take_off_stylus.html", {"form": form, "stylus": shown}, status=form.http_status)


@writes(actions.retire_stylus)
def retire_stylus(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(Stylus.objects.select_related("kind"), pk=pk)
    form = RetireStylusForm(request.POST or None, person=request.user)
    if request.method == "POST" and form.press(actions.retire_stylus, by=request.user, stylus=shown) is not None:
        messages.success(request, f"{shown} is retired, and its life is ended.")
        return redirect(shown)
    return render(request, "cutting/retire_stylus.html", {"form": form, "stylus": shown}, status=form.http_status)


@writes(actions.reinstate_stylus)
def reinstate_stylus(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(Stylus.objects.select_related("kind"), pk=pk)
    form = ReinstateStylusForm(request.POST or None, person=request.user)
    if request.method == "POST" and form.press(actions.reinstate_stylus, by=request.user, stylus=shown) is not None:
        messages.success(request, f"{shown} is back in the drawer, and its life goes on.")
        return redirect(shown)
    return render(request, "cutting/reinstate_stylus.html", {"form": form, "stylus": shown}, status=form.http_status)

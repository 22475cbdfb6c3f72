"""Pages about an edge: away for re-lapping, photographs of the tip, noise, and a word against the advice."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_safe

from shop.cutting import actions, queries
from shop.cutting.forms import (
    AddNoiseLevelForm,
    AddTipPhotoForm,
    OverruleAdviceForm,
    SendStylusAwayForm,
    StrikeNoiseLevelForm,
    TakeStylusBackForm,
)
from shop.cutting.models import NoiseLevel, TipPhoto
from shop.cutting.wording import level_words
from shop.duties import photos
from shop.people.requests import PersonRequest
from shop.press.pages import press_page, writes


@writes(actions.send_stylus_away)
def send_stylus_away(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(queries.styli_of_any_state(), pk=pk)
    state = queries.state_of(shown)
    has_life = state.life is not None and state.life.ended_at is None
    form = SendStylusAwayForm(request.POST or None, person=request.user, has_life=has_life)
    return press_page(
        request,
        form,
        actions.send_stylus_away,
        said=lambda away: f"{shown} is away with {away.sent_to}.",
        to=shown,
        more={"state": state},
        stylus=shown,
    )


@writes(actions.take_stylus_back)
def take_stylus_back(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(queries.styli_of_any_state(), pk=pk)
    form = TakeStylusBackForm(request.POST or None, person=request.user)
    said = {
        "fresh": f"{shown} is back with a fresh edge. Its next life begins when it is fitted.",
        "as_sent": f"{shown} is back as it went, and its life goes on.",
        "never": f"{shown} is retired: it will not come back.",
    }
    return press_page(
        request,
        form,
        actions.take_stylus_back,
        said=lambda away: said[away.came_back],
        to=shown,
        more={"state": queries.state_of(shown)},
        stylus=shown,
    )


@writes(actions.add_tip_photo)
def add_tip_photo(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(queries.styli_of_any_state(), pk=pk)
    form = AddTipPhotoForm(request.POST or None, request.FILES or None, person=request.user)
    return press_page(
        request,
        form,
        actions.add_tip_photo,
        said=f"The photograph is kept with {shown}.",
        to=shown,
        more={"state": queries.state_of(shown)},
        stylus=shown,
    )


@require_safe
def tip_photo(request: PersonRequest, name: str) -> HttpResponse:
    """A photograph of a tip, to whoever has signed in."""
    shown = get_object_or_404(TipPhoto, name=name)
    return photos.shown(shown.name, f"tip-{shown.pk}")


@writes(actions.add_noise_level)
def add_noise_level(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(queries.styli_of_any_state(), pk=pk)
    last = NoiseLevel.objects.filter(life__stylus=shown, struck_at__isnull=True).order_by("-at", "-id").first()
    form = AddNoiseLevelForm(
        request.POST or None,
        person=request.user,
        sides=queries.sides_without_level(shown, or_this=request.POST.get("side", "")),
        last=last,
        initial={"side": request.GET.get("side")},
    )
    return press_page(
        request,
        form,
        actions.add_noise_level,
        said=lambda level: f"{level_words(level.level_db)} is written down for {shown}.",
        to=shown,
        more={"state": queries.state_of(shown), "limits": queries.limits()},
        stylus=shown,
    )


@writes(actions.strike_noise_level)
def strike_noise_level(request: PersonRequest, pk: int) -> HttpResponse:
    level = get_object_or_404(NoiseLevel.objects.select_related("life__stylus", "by", "side__wanted__booking"), pk=pk)
    form = StrikeNoiseLevelForm(request.POST or None, person=request.user)
    return press_page(
        request, form, actions.strike_noise_level, said="The level is struck out.", to=level.life.stylus, level=level
    )


@writes(actions.overrule_advice)
def overrule_advice(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(queries.styli_of_any_state(), pk=pk)
    state = queries.state_of(shown)
    life = state.life if state.life is not None and state.life.ended_at is None else None
    form = OverruleAdviceForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.overrule_advice,
        said=f"It is kept that {shown} goes on today, and why.",
        to=shown,
        more={"state": state, "advice": queries.advice_on(shown, life) if life is not None else None},
        stylus=shown,
    )

"""Pages of opened containers."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from shop import clock
from shop.paging import leaf
from shop.people.requests import PersonRequest
from shop.press.pages import may, press_page, writes
from shop.safety import actions, queries
from shop.safety.forms import (
    FinishContainerForm,
    MoveContainerForm,
    OpenContainerForm,
    ReadLevelForm,
    SetOpenDaysForm,
)
from shop.safety.models import Container, Substance
from shop.safety.queries.containers import MOST_LEVELS, is_over, room_of
from shop.wording import per_cent


@require_safe
def containers(request: PersonRequest) -> HttpResponse:
    """What stands open, the oldest first, and what is finished."""
    day = clock.today()
    context = {
        "states": [
            {"container": one, "is_over": is_over(one, day), "share": per_cent(one.share)}
            for one in queries.open_containers()[:200]
        ],
        "leaf": leaf(queries.ended_containers(), request.GET, by=("ended_at", "id"), size=30),
        "may_open": may(request.user, actions.open_container),
    }
    return render(request, "safety/containers.html", context)


def _container(pk: int) -> Container:
    return get_object_or_404(queries.containers(), pk=pk)


@require_safe
def container(request: PersonRequest, pk: int) -> HttpResponse:
    shown = _container(pk)
    levels = list(queries.levels_of(shown)[:MOST_LEVELS])
    context = {
        "container": shown,
        "share": per_cent(shown.share),
        "is_over": shown.is_open and is_over(shown, clock.today()),
        "levels": levels,
        "room_of_it": room_of(shown),
        "use": queries.use_of(shown, levels, clock.now()),
        "may_read": may(request.user, actions.read_level),
        "may_set": may(request.user, actions.set_open_days),
    }
    return render(request, "safety/container.html", context)


@writes(actions.open_container)
def open_container(request: PersonRequest) -> HttpResponse:
    form = OpenContainerForm(request.POST or None, person=request.user, substance=request.GET.get("substance", ""))
    return press_page(
        request,
        form,
        actions.open_container,
        said=lambda made: f"Container {made.pk} of {made.substance} is open. Write its number on it.",
    )


@writes(actions.read_level)
def read_level(request: PersonRequest, pk: int) -> HttpResponse:
    shown = _container(pk)
    form = ReadLevelForm(request.POST or None, person=request.user, container=shown)
    return press_page(request, form, actions.read_level, said="The level is kept.", to=shown, container=shown)


@writes(actions.move_container)
def move_container(request: PersonRequest, pk: int) -> HttpResponse:
    shown = _container(pk)
    form = MoveContainerForm(request.POST or None, person=request.user, container=shown)
    return press_page(
        request,
        form,
        actions.move_container,
        said=lambda moved: f"It stands in {moved.place} now.",
        to=shown,
        container=shown,
    )


@writes(actions.finish_container)
def finish_container(request: PersonRequest, pk: int) -> HttpResponse:
    shown = _container(pk)
    form = FinishContainerForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.finish_container,
        said=lambda done: f"{done}: {done.get_ended_how_display().lower()}.",
        container=shown,
    )


@writes(actions.set_open_days)
def set_open_days(request: PersonRequest, slug: str) -> HttpResponse:
    substance = get_object_or_404(Substance, slug=slug)
    form = SetOpenDaysForm(request.POST or None, person=request.user, limit=queries.open_limit_of(substance))
    return press_page(
        request,
        form,
        actions.set_open_days,
        said="It is kept.",
        to="safety:containers",
        substance=substance,
    )

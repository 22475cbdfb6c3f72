"""Pages of programmes: the list, one with its steps, its paper; beginning, copying, changing and stopping one."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from shop import clock
from shop.paging import leaf
from shop.paper import hand_out, pdf
from shop.people.models import ENGINEERS
from shop.people.requests import PersonRequest
from shop.press.pages import may, press_page, writes
from shop.training import actions, ladder, queries
from shop.training.forms import (
    AddProgrammeForm,
    ChangeProgrammeForm,
    CopyProgrammeForm,
    ResumeProgrammeForm,
    StopProgrammeForm,
)
from shop.training.models import Programme


@require_safe
def programmes(request: PersonRequest) -> HttpResponse:
    """All programmes, those that were stopped last."""
    acts = queries.acts_by_programme()
    listed = [(one, acts.get(one.pk, [])) for one in queries.programmes().order_by("-is_active", "name")]
    context = {"listed": listed, "may_add": may(request.user, actions.add_programme)}
    return render(request, "training/programmes.html", context)


def _shown(pk: int) -> Programme:
    return get_object_or_404(queries.programmes(), pk=pk)


@require_safe
def programme(request: PersonRequest, pk: int) -> HttpResponse:
    """One programme: its steps by week, what leads to what, who is under way, and what was changed."""
    shown = _shown(pk)
    outline = queries.outline(shown)
    context = {
        "programme": shown,
        "outline": outline,
        "ladder": ladder.ladder(shown, outline) if outline.lines else None,
        "told": ladder.told(outline) if outline.lines else "",
        "going": queries.under_way_in(shown) if request.user.role in ENGINEERS else [],
        "leaf": leaf(queries.changes_of(shown), request.GET, size=10),
        "may_change": may(request.user, actions.change_programme),
        "may_enrol": may(request.user, actions.enrol),
    }
    return render(request, "training/programme.html", context)


@require_safe
def programme_pdf(request: PersonRequest, pk: int) -> HttpResponse:
    """The programme on paper, a block for each step."""
    shown = _shown(pk)
    context: dict[str, Any] = {
        "room": request.room,
        "reader": request.user,
        "programme": shown,
        "outline": queries.outline(shown),
        "day": clock.today(),
    }
    return hand_out(
        request, lambda: pdf("print/programme.html", context, request.room.paper, accessible=True), name=shown.name
    )


@writes(actions.add_programme)
def add_programme(request: PersonRequest) -> HttpResponse:
    form = AddProgrammeForm(request.POST or None, person=request.user)
    return press_page(request, form, actions.add_programme, said="It is begun. Add its first step.")


@writes(actions.copy_programme)
def copy_programme(request: PersonRequest, pk: int) -> HttpResponse:
    shown = _shown(pk)
    form = CopyProgrammeForm(request.POST or None, person=request.user)
    return press_page(
        request, form, actions.copy_programme, said=f"A copy of {shown.name}, to be changed.", programme=shown
    )


@writes(actions.change_programme)
def change_programme(request: PersonRequest, pk: int) -> HttpResponse:
    shown = _shown(pk)
    form = ChangeProgrammeForm(request.POST or None, person=request.user, row=shown)
    return press_page(request, form, actions.change_programme, said="It is saved.", programme=shown)


@writes(actions.stop_programme)
def stop_programme(request: PersonRequest, pk: int) -> HttpResponse:
    shown = _shown(pk)
    form = StopProgrammeForm(request.POST or None, person=request.user, row=shown)
    return press_page(
        request,
        form,
        actions.stop_programme,
        said="It is stopped. Nobody else begins it, and its records stay.",
        more={"going": queries.under_way_in(shown)},
        programme=shown,
    )


@writes(actions.resume_programme)
def resume_programme(request: PersonRequest, pk: int) -> HttpResponse:
    shown = _shown(pk)
    form = ResumeProgrammeForm(request.POST or None, person=request.user, row=shown)
    return press_page(request, form, actions.resume_programme, said="It can be begun again.", programme=shown)

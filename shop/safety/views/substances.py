"""Pages of substances: the list, one, and the forms of what is known of it."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_safe

from shop.people.requests import PersonRequest
from shop.press.pages import may, press_page, writes
from shop.safety import actions, queries
from shop.safety.forms import (
    AddSubstanceForm,
    ChangeExposureLimitsForm,
    ChangePropertiesForm,
    ChangeStatementsForm,
    ChangeSubstanceForm,
    ClassifySubstanceForm,
    ResumeSubstanceForm,
    StopSubstanceForm,
)
from shop.safety.models import Substance


@require_safe
def substances(request: PersonRequest) -> HttpResponse:
    lines = queries.substance_lines(list(queries.substances_in_full().order_by("-is_active", "name")))
    context = {
        "lines": [line for line in lines if line.substance.is_active],
        "gone": [line.substance for line in lines if not line.substance.is_active],
        "may_add": may(request.user, actions.add_substance),
    }
    return render(request, "safety/substances.html", context)


@require_safe
def substance(request: PersonRequest, slug: str) -> HttpResponse:
    shown = _get(slug)
    label = queries.label_of(shown)
    precautions = [*label.supplementary, *label.p]
    context = {
        "substance": shown,
        "label": label,
        "precautions": precautions,
        "precaution_sources": queries.sources_of(precautions),
        "figures": queries.figures_of(shown),
        "limits": queries.exposure_limits_of(shown),
        "category": queries.flammable_category(shown),
        "hazards": queries.classification(shown),
        "sheets": queries.hazard_sheets_on(shown),
        "items": shown.items.order_by("name"),
        "places": queries.places_of(shown),
        "may_change": may(request.user, actions.change_substance),
    }
    return render(request, "safety/substance.html", context)


def _get(slug: str) -> Substance:
    return get_object_or_404(queries.substances_in_full(), slug=slug)


@writes(actions.add_substance)
def add_substance(request: PersonRequest) -> HttpResponse:
    form = AddSubstanceForm(request.POST or None, person=request.user)
    said = "It is on the list. Give its hazard classes next."
    return press_page(request, form, actions.add_substance, said=said)


@writes(actions.change_substance)
def change_substance(request: PersonRequest, slug: str) -> HttpResponse:
    shown = _get(slug)
    form = ChangeSubstanceForm(request.POST or None, person=request.user, row=shown)
    said = f"{shown.name} is saved."
    return press_page(request, form, actions.change_substance, said=said, to=shown, substance=shown)


def _lines_page(request: PersonRequest, slug: str, kind: Any, act: Any, said: str) -> HttpResponse:
    """The page of a form in rows: `more` sends it back with two more of them."""
    shown = _get(slug)
    more = request.POST if "more" in request.POST else None
    data = None if more else request.POST or None
    form = kind(data, person=request.user, row=shown, more=more, query=request.GET)
    if request.method == "POST" and not more and form.press(act, by=request.user, substance=shown):
        messages.success(request, said)
        return redirect(shown)
    context = {"form": form, "substance": shown}
    return render(request, f"safety/{act.__name__}.html", context, status=form.http_status)


@writes(actions.classify_substance)
def classify_substance(request: PersonRequest, slug: str) -> HttpResponse:
    said = "Its hazard classes are saved."
    return _lines_page(request, slug, ClassifySubstanceForm, actions.classify_substance, said)


@writes(actions.change_statements)
def change_statements(request: PersonRequest, slug: str) -> HttpResponse:
    return _lines_page(request, slug, ChangeStatementsForm, actions.change_statements, "Its statements are saved.")


@writes(actions.change_properties)
def change_properties(request: PersonRequest, slug: str) -> HttpResponse:
    said = "Its physical data are saved."
    return _lines_page(request, slug, ChangePropertiesForm, actions.change_properties, said)


@writes(actions.change_exposure_limits)
def change_exposure_limits(request: PersonRequest, slug: str) -> HttpResponse:
    said = "Its exposure limits are saved."
    return _lines_page(request, slug, ChangeExposureLimitsForm, actions.change_exposure_limits, said)


@writes(actions.stop_substance)
def stop_substance(request: PersonRequest, slug: str) -> HttpResponse:
    shown = _get(slug)
    form = StopSubstanceForm(request.POST or None, person=request.user)
    said = f"{shown.name} is no longer kept here. Its page and its sheets stay."
    return press_page(request, form, actions.stop_substance, said=said, to=shown, substance=shown)


@writes(actions.resume_substance)
def resume_substance(request: PersonRequest, slug: str) -> HttpResponse:
    shown = _get(slug)
    form = ResumeSubstanceForm(request.POST or None, person=request.user)
    said = f"{shown.name} is kept here again."
    return press_page(request, form, actions.resume_substance, said=said, to=shown, substance=shown)

"""Pages of places: all of them, one, what is kept there, and what stands together."""

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_safe

from shop.calc import flammables
from shop.people.requests import PersonRequest
from shop.press.pages import may, press_page, writes
from shop.recall import looking
from shop.safety import actions, in_short, queries
from shop.safety.forms import (
    AddPlaceForm,
    AnswerFindingForm,
    ChangeKeptForm,
    ChangePlaceForm,
    ResumePlaceForm,
    StopPlaceForm,
)
from shop.safety.models import Place
from shop.safety.wording import held_words, volume_words
from shop.wording import in_full, per_cent


@require_safe
def places(request: PersonRequest) -> HttpResponse:
    with looking():
        layout = queries.layout()
        states = [
            {
                "place": place,
                "depth": min(depth, 4),
                "kept": layout.kept_in(place),
                "total": layout.total(place),
                "open": sum(one.answer is None for one in layout.together_in(place)),
            }
            for depth, place in layout.tree()
        ]
        context = {
            "states": states,
            "together": layout.together,
            "stopped": list(Place.objects.filter(is_active=False)),
            "may_add": may(request.user, actions.add_place),
            "may_answer": may(request.user, actions.answer_finding),
        }
    return render(request, "safety/places.html", context)


@require_safe
def place(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(Place, pk=pk)
    with looking():
        layout = queries.layout()
        there = layout.places.get(shown.pk)
        context = {
            "place": shown,
            "may_change": may(request.user, actions.change_place),
            "may_answer": may(request.user, actions.answer_finding),
        }
        if there is not None:
            total = layout.total(there)
            share = flammables.share_of_limit(total.ml, there.limit_ml) if there.limit_ml else None
            context |= {
                "around": layout.around(there),
                "inside": layout.inside(there),
                "kept": [(one, held_words(one, request.user)) for one in layout.kept_in(there)],
                "elsewhere": [
                    (one, held_words(one, request.user), layout.places[one.kept.place_id])
                    for one in layout.kept_within(there)
                    if one.kept.place_id != there.pk
                ],
                "total": total,
                "share": share,
                "share_words": None if share is None else per_cent(share),
                "is_near": share is not None and share >= flammables.NEAR,
                "is_over": share is not None and share > 1,
                "published": [(one, total.ml_of(one.categories)) for one in flammables.PUBLISHED],
                "together": layout.together_in(there),
                "containers": queries.open_containers().filter(place=there),
                "volume": volume_words(there, request.user),
                "estimates": in_short.of_place(
                    there, layout.kept_within(there), request.user, nitrogen_ml=layout.nitrogen_ml
                ),
            }
    return render(request, "safety/place.html", context)


@writes(actions.add_place)
def add_place(request: PersonRequest) -> HttpResponse:
    form = AddPlaceForm(request.POST or None, person=request.user)
    return press_page(
        request, form, actions.add_place, said=lambda made: f"{made.name} is on the list. Say now what is kept there."
    )


@writes(actions.change_place)
def change_place(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(Place, pk=pk)
    form = ChangePlaceForm(request.POST or None, person=request.user, row=shown)
    return press_page(
        request, form, actions.change_place, said=lambda made: f"{made.name} is saved.", to=shown, place=shown
    )


@writes(actions.change_kept)
def change_kept(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(Place, pk=pk)
    more = request.POST if "more" in request.POST else None
    form = ChangeKeptForm(
        None if more else request.POST or None, person=request.user, row=shown, more=more, query=request.GET
    )
    if request.method == "POST" and not more and form.press(actions.change_kept, by=request.user, place=shown):
        messages.success(request, f"What is kept in {shown.name} is saved.")
        return redirect(shown)
    return render(request, "safety/change_kept.html", {"form": form, "place": shown}, status=form.http_status)


@writes(actions.stop_place)
def stop_place(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(Place, pk=pk)
    form = StopPlaceForm(request.POST or None, person=request.user)
    said = f"{shown.name} is off the list. What happened there stays on record."
    return press_page(request, form, actions.stop_place, said=said, to=shown, place=shown)


@writes(actions.resume_place)
def resume_place(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(Place, pk=pk)
    form = ResumePlaceForm(request.POST or None, person=request.user)
    return press_page(
        request, form, actions.resume_place, said=f"{shown.name} is back on the list.", to=shown, place=shown
    )


@writes(actions.answer_finding)
def answer_finding(request: PersonRequest, key: str) -> HttpResponse:
    found = next((one for one in queries.layout().together if one.key == key), None)
    told = list(queries.answers_to(key))
    if found is None and not told:
        raise Http404
    form = AnswerFindingForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.answer_finding,
        said=lambda made: f"Kept with your name. The concern rests through {in_full(made.until)}.",
        to="safety:places",
        more={"found": found, "told": told},
        key=key,
    )

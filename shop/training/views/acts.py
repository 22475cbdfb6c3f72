"""Pages of acts: the list and the matrix, one, its card; giving an authority and taking it back."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from shop import clock
from shop.duties import sheets
from shop.paper import pdf_response
from shop.people import authority
from shop.people.requests import PersonRequest
from shop.press.pages import may, press_page, writes
from shop.training import actions, queries
from shop.training.forms import (
    AddActForm,
    ChangeActForm,
    GiveAuthorityForm,
    ResumeActForm,
    StopActForm,
    WithdrawAuthorityForm,
)
from shop.training.models import Act, Authority
from shop.wording import in_full


@require_safe
def acts(request: PersonRequest) -> HttpResponse:
    """Who may do what alone: acts by people, and the acts that were stopped."""
    context = {
        "matrix": queries.matrix(),
        "stopped": Act.objects.filter(is_active=False),
        "may_add": may(request.user, actions.add_act),
    }
    return render(request, "training/acts.html", context)


@require_safe
def acts_pdf(request: PersonRequest) -> HttpResponse:
    context = {"matrix": queries.matrix(), "day": clock.today()}
    return pdf_response(request, "print/acts.html", context, name="Who may do what alone")


@require_safe
def act(request: PersonRequest, slug: str) -> HttpResponse:
    """One act: its card, who may do it alone, and all that was ever given for it."""
    shown = get_object_or_404(Act, slug=slug)
    today = clock.today()
    given = list(queries.authorities().filter(act=shown))
    live = {
        one.pk
        for one in queries.authorities().filter(queries.on_day(today), act=shown)
        if authority.is_open_to(one.person, shown.slug) and one.person.is_active
    }
    context = {
        "act": shown,
        "sheet": sheets.sheet(shown.sheet),
        "duties": queries.duties_that_need(shown),
        "programmes": queries.programmes_to(shown),
        "holding": [one for one in given if one.pk in live],
        "past": [one for one in given if one.pk not in live],
        "mine": any(one.person_id == request.user.pk for one in given if one.pk in live),
        "is_kept": bool(given),
        "only": authority.only_words(shown.slug),
        "is_open": authority.is_open_to(request.user, shown.slug),
        "may_give": may(request.user, actions.give_authority),
        "may_withdraw": may(request.user, actions.withdraw_authority),
        "may_change": may(request.user, actions.change_act),
        "may_stop": may(request.user, actions.stop_act),
    }
    return render(request, "training/act.html", context)


@writes(actions.add_act)
def add_act(request: PersonRequest) -> HttpResponse:
    form = AddActForm(request.POST or None, person=request.user)
    return press_page(request, form, actions.add_act, said=lambda made: f"{made.name}: it is on the list.")


@writes(actions.change_act)
def change_act(request: PersonRequest, slug: str) -> HttpResponse:
    shown = get_object_or_404(Act, slug=slug)
    form = ChangeActForm(request.POST or None, person=request.user, row=shown)
    return press_page(request, form, actions.change_act, said="Its card is saved.", act=shown)


@writes(actions.stop_act)
def stop_act(request: PersonRequest, slug: str) -> HttpResponse:
    shown = get_object_or_404(Act, slug=slug)
    form = StopActForm(request.POST or None, person=request.user, row=shown)
    return press_page(request, form, actions.stop_act, said="Nobody is asked for it any more.", act=shown)


@writes(actions.resume_act)
def resume_act(request: PersonRequest, slug: str) -> HttpResponse:
    shown = get_object_or_404(Act, slug=slug)
    form = ResumeActForm(request.POST or None, person=request.user, row=shown)
    return press_page(request, form, actions.resume_act, said="It is asked for again.", act=shown)


@writes(actions.give_authority)
def give_authority(request: PersonRequest, slug: str) -> HttpResponse:
    shown = get_object_or_404(Act, slug=slug)
    form = GiveAuthorityForm(request.POST or None, person=request.user, act=shown)
    return press_page(request, form, actions.give_authority, said=_given, to=shown, act=shown)


def _given(made: Authority) -> str:
    until = f" until {in_full(made.until)}" if made.until else ""
    return f"{made.person.name} may do it alone{until}."


@writes(actions.withdraw_authority)
def withdraw_authority(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(queries.authorities(), pk=pk)
    form = WithdrawAuthorityForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.withdraw_authority,
        said=f"{shown.person.name} does it alone no more.",
        to=shown.act,
        authority=shown,
    )

"""A person's training record, on the page and on paper; and for how long the shop keeps it."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from shop import paper
from shop.people.models import ENGINEERS, HANDS, Person
from shop.people.requests import PersonRequest
from shop.press.pages import may, press_page, shown_to, writes
from shop.training import actions, queries
from shop.training.forms import ChangeTrainingRulesForm


def _page(request: PersonRequest, person: Person, pdf: str) -> HttpResponse:
    context = {
        "record": queries.training_record(person),
        "pdf": pdf,
        "mine": person.pk == request.user.pk,
        "may_withdraw": may(request.user, actions.withdraw_sign_off),
        "may_rule": may(request.user, actions.change_training_rules),
    }
    return render(request, "training/training_record.html", context)


def _pdf(request: PersonRequest, person: Person) -> HttpResponse:
    given: dict[str, Any] = {
        "record": queries.training_record(person),
        "room": request.room,
        "reader": request.user,
    }
    size = request.room.paper
    return paper.hand_out(
        request,
        lambda: paper.pdf("print/training_record.html", given, size, accessible=True),
        name=f"Training record {person.name}",
    )


@shown_to(HANDS)
def my_training_record(request: PersonRequest) -> HttpResponse:
    return _page(request, request.user, reverse("training:my-training-record-pdf"))


@shown_to(HANDS)
def my_training_record_pdf(request: PersonRequest) -> HttpResponse:
    return _pdf(request, request.user)


@shown_to(ENGINEERS)
def training_record(request: PersonRequest, pk: int) -> HttpResponse:
    """Anybody's, for owner and engineers; those who have left among them."""
    person = get_object_or_404(Person, pk=pk)
    return _page(request, person, reverse("training:training-record-pdf", args=[person.pk]))


@shown_to(ENGINEERS)
def training_record_pdf(request: PersonRequest, pk: int) -> HttpResponse:
    return _pdf(request, get_object_or_404(Person, pk=pk))


@writes(actions.change_training_rules)
def change_training_rules(request: PersonRequest) -> HttpResponse:
    form = ChangeTrainingRulesForm(request.POST or None, person=request.user, row=queries.training_rules())
    said = "Kept. Nothing is removed by it."
    return press_page(request, form, actions.change_training_rules, said=said, to="training:board")

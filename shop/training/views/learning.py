"""Pages of going through a programme: what is next, the board, one person's programme, a step's card, questions."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from shop import clock
from shop.duties import sheets
from shop.people.models import HANDS
from shop.people.requests import PersonRequest
from shop.press.pages import may, press_page, shown_to, writes
from shop.press.views import refusal_page
from shop.refusal import NotAllowed
from shop.training import actions, queries
from shop.training.forms import (
    AnswerQuestionForm,
    ChangeEnrolmentForm,
    EndEnrolmentForm,
    EnrolForm,
    ReadAgainForm,
    SeeChangesForm,
)
from shop.training.models import Enrolment, Question, Step, StepKind


def _with_signers(course: queries.Course) -> list[dict[str, Any]]:
    """What is next, each with who may sign it."""
    people = queries.hands()
    return [
        {
            "line": line,
            "signers": queries.who_may_sign(line.step, course.enrolment.person, people) if line.is_signed else [],
        }
        for line in course.next
    ]


def _shown(course: queries.Course) -> dict[str, Any]:
    """A course as parts/course.html draws it."""
    return {
        "course": course,
        "next": _with_signers(course),
        "day": (clock.today() - course.enrolment.starts_on).days + 1,
        "changes": queries.changes_since(course.enrolment),
    }


@shown_to(HANDS)
def next_steps(request: PersonRequest) -> HttpResponse:
    """What's next for whoever looks: their programmes, and what they may do alone."""
    queries.recall_holders(clock.today())
    courses = queries.courses(queries.under_way(request.user))
    context = {
        "courses": [_shown(course) for course in courses],
        "alone": queries.alone(request.user),
        "press": SeeChangesForm(person=request.user),
        "mine": True,
    }
    return render(request, "training/next.html", context)


@shown_to(HANDS)
def board(request: PersonRequest) -> HttpResponse:
    """Who is where, and who is behind."""
    context = {
        "courses": queries.courses(queries.under_way()),
        "today": clock.today(),
        "may_enrol": may(request.user, actions.enrol),
        "may_rule": may(request.user, actions.change_training_rules),
    }
    return render(request, "training/board.html", context)


@shown_to(HANDS)
def enrolment(request: PersonRequest, pk: int) -> HttpResponse:
    """One person's way through one programme."""
    shown = get_object_or_404(queries.enrolments(), pk=pk)
    queries.recall_holders(clock.today())
    context = {
        **_shown(queries.course_of(shown)),
        "mine": shown.person_id == request.user.pk,
        "press": SeeChangesForm(person=request.user),
        "may_change": may(request.user, actions.change_enrolment) and shown.ended_at is None,
        "may_read": request.user.is_engineer,
    }
    return render(request, "training/enrolment.html", context)


@shown_to(HANDS)
def card(request: PersonRequest, pk: int, step: int) -> HttpResponse:
    """A step as it stands for one person: why, how, what goes wrong, its sheet, and what was signed."""
    shown = get_object_or_404(queries.enrolments(), pk=pk)
    asked = get_object_or_404(Step.objects.select_related("act", "programme"), pk=step, programme=shown.programme)
    queries.recall_holders(clock.today())
    line = queries.course_of(shown).line_of(asked)
    is_open = shown.ended_at is None and shown.programme.is_active and line is not None
    context = {
        "enrolment": shown,
        "step": asked,
        "line": line,
        "is_open": is_open,
        "mine": shown.person_id == request.user.pk,
        "sheet": sheets.sheet(asked.sheet),
        "signed": queries.signed_of(asked, shown.person),
        "signers": queries.who_may_sign(asked, shown.person, queries.hands()),
        "may_withdraw": may(request.user, actions.withdraw_sign_off),
        "sees_reasons": request.user.is_engineer or shown.person_id == request.user.pk,
        "press": ReadAgainForm(person=request.user),
    }
    return render(request, "training/card.html", context)


@writes(actions.enrol)
def enrol(request: PersonRequest) -> HttpResponse:
    form = EnrolForm(request.POST or None, person=request.user)
    return press_page(request, form, actions.enrol, said=lambda made: f"{made.person.name} is on it.")


@writes(actions.change_enrolment)
def change_enrolment(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(queries.enrolments(), pk=pk)
    form = ChangeEnrolmentForm(request.POST or None, person=request.user, row=shown)
    return press_page(request, form, actions.change_enrolment, said="It is changed.", enrolment=shown)


@writes(actions.end_enrolment)
def end_enrolment(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(queries.enrolments(), pk=pk)
    form = EndEnrolmentForm(request.POST or None, person=request.user, row=shown)
    said = f"{shown.person.name} goes through it no more. What was signed stays."
    return press_page(request, form, actions.end_enrolment, said=said, to="training:board", enrolment=shown)


@require_POST
def see_changes(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(Enrolment, pk=pk)
    return _only_press(request, SeeChangesForm(request.POST, person=request.user), actions.see_changes, enrolment=shown)


@require_POST
def read_again(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(Step, pk=pk)
    return _only_press(request, ReadAgainForm(request.POST, person=request.user), actions.read_again, step=shown)


def _only_press(request: PersonRequest, form: Any, act: Any, **about: Any) -> HttpResponse:
    """A press from another page: what refuses it is a page of its own, what goes through leads to what is next."""
    if not may(request.user, act):
        raise NotAllowed
    if form.press(act, by=request.user, **about) is None:
        return refusal_page(request, form.why_not, form.http_status, headline=form.refused, again=False)
    messages.success(request, "Noted.")
    return redirect("training:next")


@writes(actions.answer_question)
def answer_question(request: PersonRequest, pk: int) -> HttpResponse:
    """The questions of a step, one by one; after each, whether it was right and why, and the next."""
    step = get_object_or_404(Step.objects.select_related("programme"), pk=pk, kind=StepKind.ANSWER)
    course = next((one for one in queries.courses(queries.under_way(request.user)) if one.line_of(step)), None)
    line = course.line_of(step) if course is not None else None
    asked = line.asked if line is not None else None
    sent = request.POST.get("question", "")
    key = int(sent) if sent.isascii() and sent.isdigit() and len(sent) < 12 else asked.key if asked else 0
    question = Question.objects.filter(pk=key, step=step).first()
    form = None
    if question is not None:
        count = asked.asked if asked is not None and asked.key == question.pk else 0
        form = AnswerQuestionForm(request.POST or None, person=request.user, question=question, asked=count)
        if request.method == "POST":
            made = form.press(actions.answer_question, by=request.user, question=question)
            if made is not None:
                return redirect(f"{reverse('training:answer-question', args=[step.pk])}?after={made.pk}")
    after = request.GET.get("after", "")
    given = queries.answer_of(request.user, step, after)
    context = {
        "step": step,
        "line": line,
        "course": course,
        "question": question,
        "form": form,
        "given": given,
        "told": queries.told_of(given) if given else None,
    }
    status = form.http_status if form is not None else 422 if request.method == "POST" else 200
    return render(request, "training/answer_question.html", context, status=status)

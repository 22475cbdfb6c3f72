"""Pages of a programme's steps: one, with how it was worded before; adding, changing, moving and stopping one."""

from django.contrib import messages
from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_safe

from shop.duties import sheets
from shop.people.models import ENGINEERS
from shop.people.requests import PersonRequest
from shop.press.pages import may, press_page, writes
from shop.training import actions, queries
from shop.training.forms import (
    AddStepForm,
    ChangeQuestionsForm,
    ChangeStepForm,
    MoveStepForm,
    ResumeStepForm,
    StopStepForm,
)
from shop.training.models import Programme, Step, StepKind


def _steps() -> QuerySet[Step]:
    return Step.objects.select_related("programme", "act")


@require_safe
def step(request: PersonRequest, pk: int) -> HttpResponse:
    """One step as it is asked for now, and as it was worded before. Answers are shown to engineers only."""
    shown = get_object_or_404(_steps(), pk=pk)
    reads_answers = request.user.role in ENGINEERS
    context = {
        "step": shown,
        "sheet": sheets.sheet(shown.sheet),
        "needs": list(shown.needs.order_by("order", "pk")),
        "needed_by": queries.needed_by(shown),
        "question_count": shown.questions.filter(is_active=True).count(),
        "questions": list(shown.questions.filter(is_active=True)) if reads_answers else [],
        "before": list(shown.editions.select_related("by").order_by("-pk"))[1:],
        "asks": shown.kind == StepKind.ANSWER,
        "may_change": may(request.user, actions.change_step),
    }
    return render(request, "training/step.html", context)


@writes(actions.add_step)
def add_step(request: PersonRequest, pk: int) -> HttpResponse:
    programme = get_object_or_404(Programme, pk=pk)
    form = AddStepForm(request.POST or None, person=request.user, programme=programme)
    if request.method == "POST" and (made := form.press(actions.add_step, by=request.user, programme=programme)):
        messages.success(request, f"{made.title}: it is in the programme.")
        return redirect("training:change-questions", made.pk) if made.kind == StepKind.ANSWER else redirect(made)
    context = {"form": form, "programme": programme}
    return render(request, "training/add_step.html", context, status=form.http_status)


@writes(actions.change_step)
def change_step(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(_steps(), pk=pk)
    form = ChangeStepForm(request.POST or None, person=request.user, row=shown)
    return press_page(request, form, actions.change_step, said="The step is saved.", step=shown)


@writes(actions.move_step)
def move_step(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(_steps(), pk=pk)
    form = MoveStepForm(request.POST or None, person=request.user, row=shown)
    return press_page(request, form, actions.move_step, said=f"{shown.title} is moved.", to=shown.programme, step=shown)


@writes(actions.stop_step)
def stop_step(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(_steps(), pk=pk)
    form = StopStepForm(request.POST or None, person=request.user, row=shown)
    return press_page(
        request, form, actions.stop_step, said="It is asked for no more. Its records stay.", to=shown, step=shown
    )


@writes(actions.resume_step)
def resume_step(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(_steps(), pk=pk)
    form = ResumeStepForm(request.POST or None, person=request.user, row=shown)
    return press_page(request, form, actions.resume_step, said="It is asked for again.", to=shown, step=shown)


@writes(actions.change_questions)
def change_questions(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(_steps(), pk=pk)
    more = request.POST if "more" in request.POST else None
    form = ChangeQuestionsForm(
        None if more else request.POST or None, person=request.user, row=shown, more=more, query=request.GET
    )
    if request.method == "POST" and not more and form.press(actions.change_questions, by=request.user, step=shown):
        messages.success(request, "The questions are saved.")
        return redirect(shown)
    context = {"form": form, "step": shown}
    return render(request, "training/change_questions.html", context, status=form.http_status)

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from shop import clock
from shop.concern import Grade
from shop.log.forms import ReadNoteForm
from shop.morning import actions, paper, queries
from shop.morning.forms import (
    AddQuestionForm,
    ChangeQuestionForm,
    CorrectCheckForm,
    MakeCheckForm,
    MoveQuestionForm,
    OverruleCheckForm,
    SwitchQuestionForm,
)
from shop.morning.models import Question, Verdict
from shop.morning.tables import CheckFilter, CheckTable
from shop.morning.today import by_booking, todays_page
from shop.morning.verdict import MEANING
from shop.paging import leaf
from shop.paper import hand_out
from shop.people.queries import the_room
from shop.people.requests import PersonRequest
from shop.press.forms import PressForm
from shop.press.pages import may, press_page, writes
from shop.room.queries import latest_all


@require_safe
def today(request: PersonRequest) -> HttpResponse:
    return _today(request, PressForm(person=request.user))


@require_POST
@writes(actions.put_away_first_things)
def put_away_first_things(request: PersonRequest) -> HttpResponse:
    form = PressForm(request.POST, person=request.user)
    if form.press(actions.put_away_first_things, by=request.user) is not None:
        messages.success(request, "The list of first things is put away.")
        return redirect("morning:today")
    return _today(request, form)


def _today(request: PersonRequest, press: PressForm) -> HttpResponse:
    page = todays_page(clock.now(), request.user)
    context = {
        "today": page,
        "check": page.check,
        "may_check": may(request.user, actions.make_check),
        "may_overrule": may(request.user, actions.overrule_check),
        "read": ReadNoteForm(person=request.user),
        "press": press,
    }
    return render(request, "morning/today.html", context, status=press.http_status)


# Checks ---------------------------------------------------------------------------------------------------------------


@writes(actions.make_check)
def make_check(request: PersonRequest) -> HttpResponse:
    form = MakeCheckForm(
        request.POST or None, person=request.user, questions=queries.questions(), previous=latest_all()
    )
    return press_page(
        request,
        form,
        actions.make_check,
        said=lambda check: f"The check is signed: {check.get_verdict_display()}.",
        to="morning:today",
        more={"earlier": queries.standing_check(clock.today())},
    )


@writes(actions.correct_check)
def correct_check(request: PersonRequest, pk: int) -> HttpResponse:
    check = get_object_or_404(queries.check_in_full(), pk=pk)
    form = CorrectCheckForm(
        request.POST or None,
        person=request.user,
        questions=queries.questions(),
        previous=latest_all(),
        given=queries.given_answers(check),
    )
    return press_page(
        request,
        form,
        actions.correct_check,
        said=lambda fresh: f"The check is signed anew: {fresh.get_verdict_display()}.",
        more={"is_over": check.day != clock.today()},
        check=check,
    )


@require_safe
def correct_latest_check(request: PersonRequest) -> HttpResponse:
    """Where concerns about the check point to, which are written before the check has an address of its own."""
    check = queries.standing_check(clock.today())
    if not may(request.user, actions.correct_check):
        return redirect(check or "morning:today")
    return redirect("morning:correct-check", check.pk) if check else redirect("morning:make-check")


@writes(actions.overrule_check)
def overrule_check(request: PersonRequest, pk: int) -> HttpResponse:
    check = get_object_or_404(queries.checks(), pk=pk)
    form = OverruleCheckForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.overrule_check,
        said="Your word and your reason are kept with the check.",
        to=check,
        more={"is_over": check.day != clock.today()},
        check=check,
    )


@require_safe
def checks(request: PersonRequest) -> HttpResponse:
    narrowed = CheckFilter(request.GET, queryset=queries.checks())
    page = leaf(narrowed.qs, request.GET, by=("id",), size=30)
    return render(request, "morning/checks.html", {"filter": narrowed, "leaf": page, "table": CheckTable(page.rows)})


@require_safe
def check(request: PersonRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(queries.check_in_full(), pk=pk)
    is_open = found.day == clock.today() and not found.is_corrected
    context = {
        "check": found,
        "meaning": MEANING[Verdict(found.verdict)],
        "reasons": [one for one in found.concerns if one["grade"] > Grade.NOTE],
        "notes": [one for one in found.concerns if one["grade"] <= Grade.NOTE],
        "places": queries.by_place(found),
        "bookings": by_booking(found.plan.get("sides", [])),
        "may_correct": is_open and may(request.user, actions.correct_check),
        "may_overrule": is_open
        and found.verdict != Verdict.CLEAR
        and not found.is_overruled
        and may(request.user, actions.overrule_check),
    }
    return render(request, "morning/check.html", context)


@require_safe
def check_paper(request: PersonRequest, pk: int) -> HttpResponse:
    """The paper as a page, for those without a PDF."""
    found = get_object_or_404(queries.check_in_full(), pk=pk)
    context = paper.context(found, reader=request.user)
    context["room"] = the_room()
    return render(request, "morning/check_paper.html", context)


@require_safe
def check_pdf(request: PersonRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(queries.checks(), pk=pk)
    return hand_out(
        request,
        lambda: paper.check_pdf(found, reader=request.user, page_size=the_room().paper),
        name=f"check-{found.day}-{found.pk}",
    )


# The room's own list --------------------------------------------------------------------------------------------------


@writes(actions.change_question)
def change_questions(request: PersonRequest) -> HttpResponse:
    return _questions_page(request, PressForm(person=request.user))


def _questions_page(request: PersonRequest, form: PressForm) -> HttpResponse:
    listed = Question.objects.all()
    context = {
        "form": form,
        "press": PressForm(person=request.user),
        "asked": [question for question in listed if question.is_active],
        "left_out": [question for question in listed if not question.is_active],
    }
    return render(request, "morning/change_questions.html", context, status=form.http_status)


@writes(actions.add_question)
def add_question(request: PersonRequest) -> HttpResponse:
    form = AddQuestionForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.add_question,
        said="The question is at the end of the list, and asked from the next check on.",
        to="morning:change-questions",
    )


@writes(actions.change_question)
def change_question(request: PersonRequest, pk: int) -> HttpResponse:
    question = get_object_or_404(Question, pk=pk)
    form = ChangeQuestionForm(request.POST or None, person=request.user, row=question)
    return press_page(
        request,
        form,
        actions.change_question,
        said="Saved. Checks already signed keep their wording.",
        to="morning:change-questions",
        question=question,
    )


@require_POST
@writes(actions.move_question)
def move_question(request: PersonRequest, pk: int) -> HttpResponse:
    question = get_object_or_404(Question, pk=pk)
    form = MoveQuestionForm(request.POST, person=request.user)
    if form.press(actions.move_question, by=request.user, question=question) is not None:
        messages.success(request, f"Moved: {question.text}")
        return redirect("morning:change-questions")
    return _questions_page(request, form)


@require_POST
@writes(actions.switch_question)
def switch_question(request: PersonRequest, pk: int) -> HttpResponse:
    question = get_object_or_404(Question, pk=pk)
    form = SwitchQuestionForm(request.POST, person=request.user)
    if changed := form.press(actions.switch_question, by=request.user, question=question):
        messages.success(
            request, "Asked from the next check on." if changed.is_active else "Left out from the next check on."
        )
        return redirect("morning:change-questions")
    return _questions_page(request, form)

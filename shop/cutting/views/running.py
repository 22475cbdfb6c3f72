"""Pages of a side that is being cut: start, stop, what became of it."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_safe

from shop import clock
from shop.cutting import actions, plans, queries, wording
from shop.cutting.forms import DropSideForm, JudgeAsLoggedForm, JudgeSideForm, StartSideForm, StopSideForm
from shop.cutting.models import RunningSide
from shop.cutting.rules import clock_words
from shop.cutting.views.sides import logged, wanted_of, which_side
from shop.people.requests import PersonRequest
from shop.press.pages import may, press_page, writes
from shop.recall import looking


@writes(actions.start_side)
def start_side(request: PersonRequest) -> HttpResponse:
    """Before the head goes down, for ?wanted=<its id>; without, the next that is to be cut; ?wanted=none for a test."""
    waiting = queries.uncut(clock.today())
    wanted = wanted_of(request, waiting)
    form = StartSideForm(request.POST or None, person=request.user, wanted=wanted)
    if request.method == "POST" and (run := form.press(actions.start_side, by=request.user)):
        return redirect(run)
    with looking():
        told = queries.told_of_heads([wanted] if wanted else [])
        context = {
            **which_side(request, wanted, waiting),
            "form": form,
            "runs": list(queries.open_runs()),
            "told": told,
            "basis": queries.bases(one.outlook for one in told),
            "laid": plans.layout_of(wanted) if wanted else None,
            "pitch_um": plans.estimate(wanted).pitch_um if wanted else None,
            "steps": queries.head_steps(),
            "now": clock.now(),
            "may_change": may(request.user, actions.change_head_step),
        }
    return render(request, "cutting/start_side.html", context, status=form.http_status)


@require_safe
def running_side(request: PersonRequest, pk: int) -> HttpResponse:
    """A started side, as it stands: running, stopped, logged or not cut."""
    run = get_object_or_404(queries.runs(), pk=pk)
    if run.side_id is not None:
        return redirect("cutting:side", run.side_id)
    form = StopSideForm(None, person=request.user)
    return render(request, "cutting/running_side.html", _standing(run, form, request))


@writes(actions.stop_side)
def stop_side(request: PersonRequest, pk: int) -> HttpResponse:
    run = get_object_or_404(queries.runs(), pk=pk)
    form = StopSideForm(request.POST or None, person=request.user)
    if request.method == "POST" and (done := form.press(actions.stop_side, by=request.user, run=run)):
        if done.side_id is not None:
            return redirect("cutting:side", done.side_id)
        assert done.stopped_at is not None
        messages.success(request, f"Stopped at {clock_words(done.stopped_at)}.")
        return redirect("cutting:judge-side", done.pk)
    return render(request, "cutting/running_side.html", _standing(run, form, request), status=form.http_status)


def _standing(run: RunningSide, form: StopSideForm, request: PersonRequest) -> dict[str, Any]:
    with looking():
        run_plan = queries.plan_of_run(run, clock.today(), queries.limits().care_below) if run.is_running else None
    return {
        "run": run,
        "form": form,
        "run_plan": run_plan,
        "now": clock.now(),
        "seconds": actions.seconds_of(run) if run.stopped_at is not None else None,
        "may_stop": may(request.user, actions.stop_side),
        "may_be_logged": run.stopped_at is not None and queries.may_be_of(run).exists(),
    }


@writes(actions.judge_side)
def judge_side(request: PersonRequest, pk: int) -> HttpResponse:
    run = get_object_or_404(queries.runs(), pk=pk)
    if request.method != "POST" and (run.is_running or not run.is_open):
        return redirect(run)
    if run.stopped_at is None:
        return redirect(run)
    form = JudgeSideForm(request.POST or None, person=request.user, run=run)
    if request.method == "POST" and (side := form.press(actions.judge_side, by=request.user, run=run)):
        messages.success(request, logged(side, request.user))
        return redirect(side)
    context = {
        "form": form,
        "run": run,
        "seconds": actions.seconds_of(run),
        "may_be_logged": queries.may_be_of(run).exists(),
    }
    return render(request, "cutting/judge_side.html", context, status=form.http_status)


@writes(actions.judge_as_logged)
def judge_as_logged(request: PersonRequest, pk: int) -> HttpResponse:
    run = get_object_or_404(queries.runs(), pk=pk)
    if request.method != "POST" and (run.is_running or not run.is_open):
        return redirect(run)
    form = JudgeAsLoggedForm(request.POST or None, person=request.user, run=run)
    return press_page(
        request,
        form,
        actions.judge_as_logged,
        said=f"{run.name}, begun at {clock_words(run.started_at)}, is this one: it stays logged once.",
        run=run,
    )


@writes(actions.drop_side)
def drop_side(request: PersonRequest, pk: int) -> HttpResponse:
    run = get_object_or_404(queries.runs(), pk=pk)
    form = DropSideForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.drop_side,
        said=f"It is kept that {run} was not cut. No blank was used and no hours count.",
        to="cutting:start-side",
        more={"words": wording.minutes_words((clock.now() - run.started_at).total_seconds())},
        run=run,
    )

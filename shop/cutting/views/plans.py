"""Pages of what is planned: a day, the sheet for the lathe, the steps before the head goes down, and the figures."""

from datetime import date
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from shop import clock, paper
from shop.alongside import one_row
from shop.calc.layout import Kind
from shop.cutting import actions, plans, queries, wording
from shop.cutting.disc import Row, describe, disc_picture, names_of, rows
from shop.cutting.forms import AddHeadStepForm, ChangeHeadStepForm, ChangePlanFiguresForm
from shop.cutting.models import BookingSide, HeadStep, PlanFigures
from shop.cutting.stores import stores
from shop.people.requests import PersonRequest
from shop.press.pages import may, press_page, writes
from shop.recall import looking

#: More parts of a side than this leave the sheet no room for its bands.
_MANY = 16


@require_safe
def day_plan(request: PersonRequest) -> HttpResponse:
    """What a day of cutting takes; today, or ?day=."""
    today = clock.today()
    day = max(_day(request.GET.get("day", "")) or today, today)
    with looking():
        plan = queries.day_plan(day, today)
        context = {
            "plan": plan,
            "told": queries.told_of_heads(side.wanted for side in plan.sides) if plan.sides else [],
            "days": queries.planned_days(today),
            "stores": stores(day),
            "day": day,
            "is_today": day == today,
            "may_add": may(request.user, actions.add_booking),
            "may_change": may(request.user, actions.change_plan_figures),
        }
    return render(request, "cutting/day_plan.html", context)


def _day(said: str) -> date | None:
    try:
        return date.fromisoformat(said)
    except ValueError:
        return None


@require_safe
def cut_sheet_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """One side on one page, to stand by the lathe."""
    found = BookingSide.objects.select_related("booking").annotate(figures=one_row(PlanFigures))
    wanted: Any = get_object_or_404(found, pk=pk)
    room: Any = request.room  # type: ignore[attr-defined]
    with looking():
        context = {"room": room, "reader": request.user, **cut_sheet(wanted, request.user)}
    return paper.hand_out(
        request,
        lambda: paper.pdf("print/cut_sheet.html", context, room.paper, on_one=True, accessible=True),
        name=f"{wanted.booking.code} side {wanted.label} cut sheet",
    )


def cut_sheet(wanted: BookingSide, person: Any) -> dict[str, Any]:
    """What stands on the sheet of a booked side. person: whose units it speaks."""
    plan, laid, disc = plans.plan_of(wanted), plans.layout_of(wanted), plans.disc(wanted.disc_in)
    day = max(wanted.booking.cut_on, clock.today())
    return {
        "wanted": wanted,
        "plan": plan,
        "layout": laid,
        "disc": disc,
        "words": wording.fit_words(plan, play_s=wanted.play_s, disc_in=wanted.disc_in, person=person),
        "pitch_um": plans.estimate(wanted).pitch_um,
        "rows": _rows_on_paper(rows(laid, names_of(wanted.titles))),
        "picture": disc_picture(
            laid, disc, blank_in=wanted.blank_in, title=f"Side {wanted.label} on its disc", person=person
        ),
        "described": describe(laid, disc, person=person),
        "told": queries.told_of_heads([wanted]),
        "blanks": queries.blanks_for([wanted], day, plans.figures_with(wanted)),
        "steps": queries.head_steps(),
    }


def _rows_on_paper(found: list[Row]) -> list[Row]:
    """Where there are many, the bands are left out: each begins where its title ends."""
    return found if len(found) <= _MANY else [row for row in found if row.stretch.kind != Kind.BAND]


@writes(actions.change_plan_figures)
def change_plan_figures(request: PersonRequest) -> HttpResponse:
    form = ChangePlanFiguresForm(request.POST or None, person=request.user, row=plans.figures())
    return press_page(
        request,
        form,
        actions.change_plan_figures,
        said="The figures are saved. What is planned changes with them.",
        to="cutting:day-plan",
    )


# The steps before the head goes down ----------------------------------------------------------------------------------


@require_safe
def head_steps(request: PersonRequest) -> HttpResponse:
    context = {
        "steps": HeadStep.objects.order_by("-is_active", "place", "id"),
        "may_change": may(request.user, actions.change_head_step),
    }
    return render(request, "cutting/head_steps.html", context)


@writes(actions.add_head_step)
def add_head_step(request: PersonRequest) -> HttpResponse:
    form = AddHeadStepForm(request.POST or None, person=request.user)
    return press_page(request, form, actions.add_head_step, said="The step is in the list.", to="cutting:head-steps")


@writes(actions.change_head_step)
def change_head_step(request: PersonRequest, pk: int) -> HttpResponse:
    step = get_object_or_404(HeadStep, pk=pk)
    form = ChangeHeadStepForm(request.POST or None, person=request.user, row=step)
    return press_page(
        request, form, actions.change_head_step, said="The step is saved.", to="cutting:head-steps", step=step
    )

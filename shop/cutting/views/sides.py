"""Pages of sides: logging one, the list, one side, withdrawing one."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_safe

from shop import clock
from shop.calc.groove import SidePlan
from shop.cutting import actions, plans, queries, wording
from shop.cutting.filters import SideFilter
from shop.cutting.forms import LogSideForm, WithdrawSideForm
from shop.cutting.models import AGAINST_STYLUS, BookingSide, Outcome, Side
from shop.cutting.tables import SideTable
from shop.cutting.verdict import spoken
from shop.paging import leaf
from shop.people.requests import PersonRequest
from shop.press.pages import may, writes
from shop.refusal import NotAllowed


@writes(actions.log_side)
def log_side(request: PersonRequest) -> HttpResponse:
    """One side, for ?wanted=<its id>; without, the next that is to be cut; ?wanted=none for one without a booking."""
    waiting = queries.uncut(clock.today())
    wanted = wanted_of(request, waiting)
    form = LogSideForm(request.POST or None, person=request.user, wanted=wanted)
    if request.method == "POST" and (side := form.press(actions.log_side, by=request.user)):
        messages.success(request, logged(side, request.user))
        return redirect(side)
    context = {
        **which_side(request, wanted, waiting),
        "form": form,
        "runs": list(queries.open_runs()),
        "draft": f"{request.path}?wanted={wanted.pk if wanted else 'none'}",
    }
    return render(request, "cutting/log_side.html", context, status=form.http_status)


def wanted_of(request: PersonRequest, waiting: list[BookingSide]) -> BookingSide | None:
    """The booked side that the page is about: the one posted or asked for, else the next."""
    asked = request.POST.get("wanted", "none") if request.method == "POST" else request.GET.get("wanted", "")
    if asked == "none" or (request.method == "POST" and not asked):
        return None
    if asked.isascii() and asked.isdigit() and len(asked) < 19:
        return BookingSide.objects.select_related("booking").filter(pk=int(asked)).first()
    return _next(waiting)


def _next(waiting: list[BookingSide]) -> BookingSide | None:
    """The side to cut next: today's come before those left over from earlier days."""
    today = [side for side in waiting if side.booking.cut_on == clock.today()]
    return next(iter(today or waiting), None)


def which_side(request: PersonRequest, wanted: BookingSide | None, waiting: list[BookingSide]) -> dict[str, Any]:
    """What the pages of starting and of logging say of the side they are about, and of the day."""
    plan = plans.plan_of(wanted) if wanted else None
    return {
        "wanted": wanted,
        "waiting": waiting,
        "verdict": spoken(clock.today()),
        "plan": plan,
        "words": _plan_words(wanted, plan, request.user),
        "cut_before": queries.good_cut(wanted) if wanted else None,
    }


def _plan_words(wanted: BookingSide | None, plan: SidePlan | None, person: Any) -> str:
    if wanted is None or plan is None:
        return ""
    return wording.fit_words(plan, play_s=wanted.play_s, disc_in=wanted.disc_in, person=person)


def logged(side: Side, person: Any) -> str:
    """What the press did, in one breath."""
    stylus = side.life.stylus
    side.life.refresh_from_db(fields=["cut_s"])
    fate = {"good": "used", "rejected": "spoiled", "test": "tested"}[side.outcome]
    said = [
        f"{side.wanted or 'Side'} is logged: {side.get_outcome_display().lower()}.",
        f"One blank of lot {side.lot.code} {fate}, {side.movement.balance} left;",
        f"{wording.minutes_words(side.cut_s)} on {stylus}, now at {wording.age_words(side.life)} h;",
        f"about {side.chip_mg / 1000:.2f} g of chip to the trap.",
    ]
    if side.reject_reason is not None and side.reject_reason.blame in AGAINST_STYLUS:
        said.append(f"That speaks against {stylus}: look its edge over before the next side, or take it off.")
    if side.wanted is not None:
        side.wanted.booking.refresh_from_db()
        if side.outcome == Outcome.GOOD and side.wanted.booking.finished_at is not None:
            said.append(f"That was the last side: booking {side.wanted.booking.code} is finished.")
    return " ".join(said)


@require_safe
def sides(request: PersonRequest) -> HttpResponse:
    chosen = SideFilter(request.GET, queryset=queries.sides())
    page = leaf(chosen.qs, request.GET)
    context = {
        "filter": chosen,
        "table": SideTable(page.rows),
        "leaf": page,
        "runs": list(queries.open_runs()),
        "may_log": may(request.user, actions.log_side),
    }
    return render(request, "cutting/sides.html", context)


@require_safe
def side(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(queries.sides().select_related("movement", "withdrawal__by"), pk=pk)
    context = {
        "side": shown,
        "trail": queries.trail(shown),
        "in_doubt": _puts_in_doubt(shown),
        "withdrawn": queries.is_withdrawn(shown),
        "may_withdraw": not queries.is_withdrawn(shown) and actions.may_withdraw(shown, request.user),
        "may_log": may(request.user, actions.log_side),
        "may_look": may(request.user, actions.look_over_stylus),
        "next": _next(queries.uncut(clock.today())),
        "master": queries.master_of(shown),
        "levels": shown.noise_levels.filter(struck_at__isnull=True),
    }
    return render(request, "cutting/side.html", context)


def _puts_in_doubt(side: Side) -> bool:
    """Whether the side speaks against its stylus, and nobody looked the edge over since."""
    if side.reject_reason is None or side.reject_reason.blame not in AGAINST_STYLUS:
        return False
    return side in queries.doubted_edges([side.life_id]).get(side.life_id, [])


@writes(actions.withdraw_side)
def withdraw_side(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(queries.sides(), pk=pk)
    form = WithdrawSideForm(request.POST or None, person=request.user)
    if request.method == "POST" and form.press(actions.withdraw_side, by=request.user, side=shown) is not None:
        messages.success(
            request,
            f"{shown} is withdrawn. Its blank is back in lot {shown.lot.code}, its hours are off {shown.life.stylus}, "
            "its chip and hours off their meters.",
        )
        return redirect(shown)
    if request.method != "POST" and not actions.may_withdraw(shown, request.user):
        raise NotAllowed("Only an engineer may withdraw that side, or whoever logged it within ten minutes.")
    master = queries.master_of(shown)
    context = {"form": form, "side": shown, "parcel": master.parcel if master else None}
    return render(request, "cutting/withdraw_side.html", context, status=form.http_status)

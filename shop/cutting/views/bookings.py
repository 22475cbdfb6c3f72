"""Pages of bookings, and the free plan of a side."""

from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_safe

from shop import clock
from shop.calc.groove import SidePlan
from shop.cutting import actions, plans, queries, wording
from shop.cutting.filters import BOOKING_STATES, booking_state
from shop.cutting.forms import (
    AddBookingForm,
    CancelBookingForm,
    ChangeBookingForm,
    FinishBookingForm,
    PlanSideForm,
    ReopenBookingForm,
)
from shop.cutting.models import Booking, DiscSize, Speed
from shop.cutting.tables import BookingTable
from shop.people.requests import PersonRequest
from shop.press.pages import may, press_page, writes
from shop.wording import weekday_in_full


@require_safe
def bookings(request: PersonRequest) -> HttpResponse:
    state = booking_state(request.GET)
    page = Paginator(queries.bookings(state), 30).get_page(request.GET.get("page"))
    context = {
        "table": BookingTable(page.object_list, exclude=() if state == "all" else ("state",)),
        "page": page,
        "state": state,
        "states": BOOKING_STATES,
        "needs": queries.day_needs(clock.today()),
        "may_add": may(request.user, actions.add_booking),
        "may_log": may(request.user, actions.log_side),
    }
    return render(request, "cutting/bookings.html", context)


@require_safe
def booking(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(Booking, pk=pk)
    person: Any = request.user
    states = queries.side_states(shown)
    context = {
        "booking": shown,
        "sides": [
            {
                "state": state,
                "words": wording.fit_words(
                    state.plan, play_s=state.wanted.play_s, disc_in=state.wanted.disc_in, person=person
                ),
            }
            for state in states
        ],
        "uncut": sum(1 for state in states if state.good is None),
        "gone_by": shown.is_open and shown.cut_on < clock.today(),
        "may_change": may(person, actions.change_booking),
        "may_cancel": may(person, actions.cancel_booking),
        "may_log": may(person, actions.log_side),
    }
    return render(request, "cutting/booking.html", context)


@writes(actions.add_booking)
def add_booking(request: PersonRequest) -> HttpResponse:
    more = request.POST if "more" in request.POST else None
    form = AddBookingForm(None if more else request.POST or None, person=request.user, more=more, query=request.GET)
    if request.method == "POST" and not more and (made := form.press(actions.add_booking, by=request.user)):
        messages.success(request, f"Booking {made.code} is entered, for {weekday_in_full(made.cut_on)}.")
        return redirect(made)
    return render(request, "cutting/add_booking.html", {"form": form}, status=form.http_status)


@writes(actions.change_booking)
def change_booking(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(Booking, pk=pk)
    more = request.POST if "more" in request.POST else None
    form = ChangeBookingForm(
        None if more else request.POST or None, person=request.user, row=shown, more=more, query=request.GET
    )
    if request.method == "POST" and not more and (form.press(actions.change_booking, by=request.user, booking=shown)):
        messages.success(request, f"Booking {shown.code} is saved.")
        return redirect(shown)
    return render(
        request,
        "cutting/change_booking.html",
        {"form": form, "booking": shown},
        status=form.http_status,
    )


@writes(actions.finish_booking)
def finish_booking(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(Booking, pk=pk)
    form = FinishBookingForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.finish_booking,
        said=f"Booking {shown.code} is finished. It takes no more blanks.",
        to=shown,
        more={"uncut": queries.uncut_of(shown)},
        booking=shown,
    )


@writes(actions.cancel_booking)
def cancel_booking(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(Booking, pk=pk)
    form = CancelBookingForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.cancel_booking,
        said=f"Booking {shown.code} is cancelled. What was cut of it stays on record.",
        to=shown,
        booking=shown,
    )


@writes(actions.reopen_booking)
def reopen_booking(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(Booking, pk=pk)
    form = ReopenBookingForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.reopen_booking,
        said=f"Booking {shown.code} is open again.",
        to=shown,
        more={"uncut": queries.uncut_of(shown)},
        booking=shown,
    )


#: What the page starts with: an invented side that just fits.
EXAMPLE = {
    "minutes": "21:30",
    "disc_in": DiscSize.TWELVE.value,
    "speed": Speed.LP.value,
    "width_um": 56.0,
    "land_um": 40.0,
}


@require_safe
def plan_side(request: PersonRequest) -> HttpResponse:
    """Figures to try, in the address: says whether the side fits, and what it would take."""
    form = PlanSideForm(request.GET or None, person=request.user, initial=EXAMPLE)
    found: SidePlan | None = None
    words = ""
    chip = 0
    if form.is_bound and form.is_valid():
        said = form.cleaned_data
        found = plans.plan(play_s=said["minutes"], **{k: v for k, v in said.items() if k != "minutes"})
        words = wording.fit_words(found, play_s=said["minutes"], disc_in=said["disc_in"], person=request.user)
        pitch = said["pitch_um"] or plans.usual_pitch_um(found, width_um=said["width_um"], land_um=said["land_um"])
        usual = plans.plan(
            play_s=said["minutes"],
            **{k: v for k, v in said.items() if k not in ("minutes", "pitch_um")},
            pitch_um=pitch,
        )
        chip = plans.chip_mg(width_um=said["width_um"], length_m=usual.length_m)
    disc = plans.disc(form.cleaned_data["disc_in"]) if found is not None else None
    context = {
        "form": form,
        "plan": found,
        "words": words,
        "disc": disc,
        "source": wording.source_words(disc) if disc is not None else "",
        "chip_mg": chip,
    }
    return render(request, "cutting/plan_side.html", context, status=422 if form.is_bound and form.errors else 200)

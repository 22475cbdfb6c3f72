"""Pages of bookings, and the free plan of a side."""

from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_safe

from shop import clock
from shop.cutting import actions, plans, queries, wording
from shop.cutting.disc import describe, disc_picture, names_of, rows
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
        "runs": list(queries.open_runs()),
        "may_add": may(request.user, actions.add_booking),
        "may_log": may(request.user, actions.log_side),
    }
    return render(request, "cutting/bookings.html", context)


def planned(state: queries.SideState, person: Any) -> dict[str, Any]:
    """A booked side with its plan in words, as a picture and as a table."""
    wanted, laid, room = state.wanted, state.layout, plans.disc(state.wanted.disc_in)
    return {
        "state": state,
        "runs": state.runs,
        "words": wording.fit_words(state.plan, play_s=wanted.play_s, disc_in=wanted.disc_in, person=person),
        "picture": disc_picture(
            laid, room, blank_in=wanted.blank_in, title=f"Side {wanted.label} on its disc", person=person
        ),
        "described": describe(laid, room, person=person),
        "rows": rows(laid, names_of(wanted.titles)),
    }


@require_safe
def booking(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(Booking, pk=pk)
    person: Any = request.user
    states = queries.side_states(shown)
    waiting = [state.wanted for state in states if state.good is None] if shown.is_open else []
    context = {
        "booking": shown,
        "sides": [planned(state, person) for state in states],
        "blanks": queries.blanks_for(waiting, max(shown.cut_on, clock.today()), plans.figures()),
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
    """Figures to try, in the address: says whether the side fits, how it would lie, and what it would take."""
    form = PlanSideForm(request.GET or None, person=request.user, initial=EXAMPLE)
    context: dict[str, Any] = {"form": form}
    if form.is_bound and form.is_valid():
        context |= _tried(form.cleaned_data, request.user)
    return render(request, "cutting/plan_side.html", context, status=422 if form.is_bound and form.errors else 200)


def _tried(said: dict[str, Any], person: Any) -> dict[str, Any]:
    """What becomes of figures that were tried."""
    kept, play_s, bands = plans.figures(), said["minutes"], (said["titles"] or 1) - 1
    pause = kept.pause_s
    given = {name: said[name] for name in ("disc_in", "speed", "width_um", "land_um")}
    found = plans.plan(play_s=play_s, **given, pitch_um=said["pitch_um"], pauses_s=[pause] * bands, kept=kept)
    pitch = said["pitch_um"] or plans.usual_pitch_um(found, width_um=said["width_um"], land_um=said["land_um"])
    titles = [(play_s - pause * bands) / (bands + 1)] * (bands + 1)
    laid = plans.lay_out(titles_s=titles, pauses_s=[pause] * bands, **given, pitch_um=pitch, kept=kept)
    disc = plans.disc(said["disc_in"])
    return {
        "plan": found,
        "layout": laid,
        "words": wording.fit_words(found, play_s=play_s, disc_in=said["disc_in"], person=person),
        "disc": disc,
        "source": wording.source_words(disc),
        "chip_mg": plans.chip_mg(width_um=said["width_um"], length_m=laid.length_m),
        "picture": disc_picture(
            laid, disc, blank_in=plans.blank_for(said["disc_in"]), title="The side on its disc", person=person
        ),
        "described": describe(laid, disc, person=person),
        "rows": rows(laid, []) if not bands else rows(laid, [""] * (bands + 1)),
    }

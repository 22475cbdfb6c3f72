"""Pages of instruments that report by themselves: all of them, one, taking one on, its token shown once."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from shop import clock
from shop.calc import units
from shop.codes import shown_address
from shop.people.models import Units
from shop.people.requests import PersonRequest
from shop.people.secrets import digest_of, new_secret
from shop.press.pages import may, press_page, writes
from shop.room import actions, queries
from shop.room.api.body import MOST_READINGS
from shop.room.api.example import EXAMPLE
from shop.room.api.pace import OF_INSTRUMENT
from shop.room.forms import AddInstrumentForm, ChangeInstrumentForm, RevokeInstrumentForm
from shop.room.kinds import KINDS
from shop.room.models import Instrument, ReadingKind, RefusedReading
from shop.room.wording import minutes_words, retold_reason, said

#: Revoked ones shown beneath those in use.
_REVOKED_SHOWN = 20


def _about(instrument: Instrument) -> dict[str, object]:
    """What a page tells of one: in which state it is, what it reads, how often."""
    now = clock.now()
    return {
        "row": instrument,
        "kinds": [KINDS[kind].name for kind in instrument.reads],
        "every": minutes_words(instrument.every_min) if instrument.every_min else "",
        "is_missed": queries.is_missed(instrument, now),
    }


def _not_kept(row: RefusedReading, reader: Units) -> dict[str, object]:
    """What was refused: by what it is called, and as sent, in the reader's unit."""
    about = KINDS[ReadingKind(row.kind)] if row.kind else None
    shown = said(about.quantity, row.value, reader) if about and row.value is not None else ""
    return {
        "row": row,
        "name": about.name if about else "Not told",
        "value": shown,
        "reason": retold_reason(row.reason, reader),
    }


@require_safe
def instruments(request: PersonRequest) -> HttpResponse:
    """Those in use, each with what it reads and when it was last heard; beneath, those that were revoked."""
    context = {
        "instruments": [_about(one) for one in queries.instruments()],
        "revoked": list(queries.revoked_instruments()[:_REVOKED_SHOWN]),
        "may_add": may(request.user, actions.add_instrument),
    }
    return render(request, "room/instruments.html", context)


@require_safe
def instrument(request: PersonRequest, pk: int) -> HttpResponse:
    """One instrument: what it read last, and what it sent that was not kept, with the reasons."""
    one = get_object_or_404(Instrument.objects.select_related("added_by", "revoked_by"), pk=pk)
    last = queries.last_read(one)
    context = {
        "instrument": one,
        "about": _about(one),
        "last": [
            {"kind": kind, "about": KINDS[kind], "reading": last.get(kind)}
            for kind in KINDS
            if kind in one.reads or kind in last
        ],
        "refusals": [_not_kept(row, request.user) for row in queries.refusals(one)],
        "may_bring": may(request.user, actions.take_in_file) and one.revoked_at is None,
        "may_change": may(request.user, actions.change_instrument) and one.revoked_at is None,
    }
    return render(request, "room/instrument.html", context)


@writes(actions.add_instrument)
def add_instrument(request: PersonRequest) -> HttpResponse:
    """Takes one on and shows its token, this once."""
    form = AddInstrumentForm(request.POST or None, person=request.user)
    secret = new_secret()
    if request.method == "POST" and (added := form.press(actions.add_instrument, by=request.user, secret=secret)):
        if added.digest != digest_of(secret):  # pressed again: it has the token of the first press
            messages.info(
                request,
                f"{added.name} was added already, and its token was shown once. If you do not have it, revoke it and "
                "add the instrument again.",
            )
            return redirect(added)
        context = {
            "instrument": added,
            "secret": secret,
            "address": shown_address(request, reverse("api:send-readings")),
        }
        return render(request, "room/add_instrument.html", context)
    return render(request, "room/add_instrument.html", {"form": form}, status=form.http_status)


@writes(actions.change_instrument)
def change_instrument(request: PersonRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(Instrument, pk=pk)
    form = ChangeInstrumentForm(request.POST or None, person=request.user, row=one)
    return press_page(request, form, actions.change_instrument, said="Kept.", instrument=one)


@writes(actions.revoke_instrument)
def revoke_instrument(request: PersonRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(Instrument, pk=pk)
    form = RevokeInstrumentForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.revoke_instrument,
        said=f"The token of {one.name} counts no more. What it wrote stays.",
        instrument=one,
    )


@require_safe
def instruments_how(request: PersonRequest) -> HttpResponse:
    """How an instrument reports: the addresses, the limits, a short program for a microcontroller."""
    room = shown_address(request, reverse("api:send-readings")).removesuffix("readings/")
    context = {
        "address": shown_address(request, reverse("api:send-readings")),
        "description": shown_address(request, reverse("api:description")),
        "example": EXAMPLE.replace("ROOM-ADDRESS", room),
        "may_add": may(request.user, actions.add_instrument),
        "most": MOST_READINGS,
        "pace": OF_INSTRUMENT,
        "kinds": [
            {"key": key, "about": about, "units": list(units.UNITS[about.quantity])} for key, about in KINDS.items()
        ],
    }
    return render(request, "room/instruments_how.html", context)

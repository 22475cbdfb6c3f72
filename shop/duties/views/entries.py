"""Pages of what is recorded: doing a duty, putting it off, an entry, putting one right."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from shop.duties import actions, effects, photos, queries, sheets
from shop.duties.actions.corrections import chain_of, touched_of
from shop.duties.forms import CorrectEntryForm, DoDutyForm, NotNeededForm, PutOffDutyForm, StrikeEntryForm
from shop.duties.models import Duty, EntryKind, Photo
from shop.people import authority
from shop.people.requests import PersonRequest
from shop.press.pages import may, press_page, writes


def _duty(pk: int) -> Duty:
    return get_object_or_404(queries.in_full(), pk=pk)


def _next(duty: Duty) -> str:
    """When it is due next, as it stands now."""
    duty.refresh_from_db(fields=["due_on", "expected_on"])
    if duty.due_on is not None:
        return f"Next due on {duty.due_on:%A} {duty.due_on.day} {duty.due_on:%B}."
    if duty.expected_on is not None:
        return f"Next expected by its meter about {duty.expected_on.day} {duty.expected_on:%B}."
    return ""


@writes(actions.do_duty)
def do_duty(request: PersonRequest, pk: int) -> HttpResponse:
    shown = _duty(pk)
    form = DoDutyForm(
        request.POST or None,
        request.FILES or None,
        person=request.user,
        duty=shown,
        steps=queries.steps(shown),
        touches=shown.touches.all(),
        last=queries.last_readings(shown),
    )
    return press_page(
        request,
        form,
        actions.do_duty,
        said=lambda made: f"{shown.name}: {made.what.lower()}, and recorded. {_next(shown)}".strip(),
        to="duties:due",
        more=_about(shown, request),
        duty=shown,
    )


def _about(duty: Duty, request: PersonRequest) -> dict[str, Any]:
    return {
        "sheet": sheets.sheet(duty.sheet),
        "touches": effects.words_of(list(duty.touches.all()), request.user),
        "stands_in": bool(duty.authority) and not authority.is_kept(duty.authority),
    }


@writes(actions.put_off_duty)
def put_off_duty(request: PersonRequest, pk: int) -> HttpResponse:
    shown = _duty(pk)
    form = PutOffDutyForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.put_off_duty,
        said=lambda made: f"{shown.name} is put off. {_next(shown)}",
        to=shown,
        more={"put_offs": queries.put_offs_of(shown)},
        duty=shown,
    )


@writes(actions.not_needed)
def not_needed(request: PersonRequest, pk: int) -> HttpResponse:
    shown = _duty(pk)
    form = NotNeededForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.not_needed,
        said=lambda made: f"{shown.name}: not needed this time. {_next(shown)}".strip(),
        to=shown,
        duty=shown,
    )


# Entries --------------------------------------------------------------------------------------------------------------


@require_safe
def entry(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(queries.entry_in_full(), pk=pk)
    chain = chain_of(shown)
    stands = not shown.is_corrected
    context = {
        "entry": shown,
        "earlier": chain[1:],
        "lines": queries.entry_lines(shown, request.user),
        "photos": Photo.objects.filter(entry__in=chain).select_related("step"),
        "touched": queries.touched_lines(chain, request.user),
        "may_correct": stands and shown.kind == EntryKind.DONE and may(request.user, actions.correct_entry),
        "may_strike": stands and shown.kind != EntryKind.STRUCK and may(request.user, actions.strike_entry),
    }
    return render(request, "duties/entry.html", context)


@writes(actions.correct_entry)
def correct_entry(request: PersonRequest, pk: int) -> HttpResponse:
    old = get_object_or_404(queries.entry_in_full(), pk=pk)
    touches = list(old.duty.touches.all())
    really = touched_of(old)
    amounts = {
        touch.pk: sum(row.amount or 0 for row in really.get((touch.kind, touch.target), [])) for touch in touches
    }
    form = CorrectEntryForm(
        request.POST or None,
        request.FILES or None,
        person=request.user,
        entry=old,
        amounts=amounts,
        steps=queries.steps(old.duty),
        touches=touches,
    )
    return press_page(
        request,
        form,
        actions.correct_entry,
        said=f"{old.duty.name}: the entry of {timezone.localtime(old.at):%-d %B} is put right.",
        entry=old,
    )


@writes(actions.strike_entry)
def strike_entry(request: PersonRequest, pk: int) -> HttpResponse:
    old = get_object_or_404(queries.entry_in_full(), pk=pk)
    form = StrikeEntryForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.strike_entry,
        said=f"{old.duty.name}: the entry of {timezone.localtime(old.at):%-d %B} is struck out.",
        to=old.duty,
        entry=old,
    )


@require_safe
def photo(request: PersonRequest, name: str) -> HttpResponse:
    """A photograph, to whoever has signed in; named as something to keep, so that it is never run as a page."""
    shown = get_object_or_404(Photo, name=name)
    return photos.shown(shown.name, f"care-{shown.pk}")

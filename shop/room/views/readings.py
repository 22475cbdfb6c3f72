"""Pages of readings: all of them, one kind over time, taking some, correcting one."""

from datetime import timedelta

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_safe

from shop import clock, paging
from shop.people.models import Units
from shop.people.requests import PersonRequest
from shop.press.pages import may, writes
from shop.room import actions, queries
from shop.room.course import Summary, summary
from shop.room.filters import ReadingFilter
from shop.room.forms import CorrectReadingForm, TakeReadingsForm
from shop.room.kinds import KINDS, Kind
from shop.room.models import LimitKind, Reading, ReadingKind
from shop.room.pictures import limit_lines, reading_picture, reserve_line
from shop.room.tables import KindTable, ReadingTable
from shop.room.wording import limit_words, said

#: The stretches a chart can show, in days.
SPANS = (1, 30, 90, 365)
USUAL_SPAN = 30


@require_safe
def readings(request: PersonRequest) -> HttpResponse:
    """Every reading, latest first; those of one kind, or one person's, if asked for."""
    chosen = ReadingFilter(request.GET, queryset=queries.ledger())
    page = paging.leaf(chosen.qs, request.GET)
    context = {
        "filter": chosen,
        "table": ReadingTable(page.rows, reader=request.user),
        "leaf": page,
        "may_take": may(request.user, actions.take_readings),
    }
    return render(request, "room/readings.html", context)


@require_safe
def reading(request: PersonRequest, kind: ReadingKind) -> HttpResponse:
    """One kind over a day, 30, 90 or 365 days: drawn, in words, summed up in a table, and all of them beneath."""
    asked = request.GET.get("days", "")
    days = int(asked) if asked in map(str, SPANS) else USUAL_SPAN
    until = clock.now()
    about = KINDS[kind]
    if kind == ReadingKind.NITROGEN_BAR:
        limit, lines = None, [reserve_line(queries.gas_use())]
    else:
        limit = queries.limit_of(LimitKind(str(kind)))
        lines = limit_lines(limit)
    course = queries.course(kind, until - timedelta(days=days), until)
    summed = summary(course, days)
    page = paging.leaf(queries.history(kind), request.GET, size=25)
    context = {
        "kind": kind,
        "about": about,
        "days": days,
        "spans": SPANS,
        "limits": limit_words(about, limit, request.user),
        "summary": summed,
        "picture": reading_picture(about, course, lines, request.user, days=days, until=until) if course else "",
        "words": _words(summed, about, request.user),
        "table": KindTable(page.rows, reader=request.user),
        "leaf": page,
        "may_take": may(request.user, actions.take_readings),
        "may_set": may(request.user, actions.change_limit),
    }
    return render(request, "room/reading.html", context)


def _words(summed: Summary | None, about: Kind, reader: Units) -> str:
    """The chart in words. A gauge goes down and up with its cylinders: there is no trend to tell."""
    if summed is None:
        return ""
    return summed.words(lambda value: said(about.quantity, value, reader), trend=about.key != ReadingKind.NITROGEN_BAR)


@writes(actions.take_readings)
def take_readings(request: PersonRequest) -> HttpResponse:
    form = TakeReadingsForm(request.POST or None, person=request.user, earlier=queries.latest_all())
    if request.method == "POST" and form.press(actions.take_readings, by=request.user) is not None:
        kept = [
            f"{KINDS[kind].short} {said(KINDS[kind].quantity, value, request.user)}"
            for kind, value in form.typed()["values"].items()
        ]
        messages.success(request, f"Kept: {', '.join(kept)}.")
        return redirect("room:room")
    return render(request, "room/take_readings.html", {"form": form}, status=form.http_status)


@writes(actions.correct_reading)
def correct_reading(request: PersonRequest, pk: int) -> HttpResponse:
    wrong = get_object_or_404(Reading.objects.select_related("by", "cylinder", "instrument", "corrected_by"), pk=pk)
    about = KINDS[ReadingKind(wrong.kind)]
    form = CorrectReadingForm(request.POST or None, person=request.user, reading=wrong)
    if request.method == "POST" and (right := form.press(actions.correct_reading, by=request.user, reading=wrong)):
        messages.success(
            request,
            f"{about.name} of {clock.day_of(wrong.at):%d %b} now counts as "
            f"{said(about.quantity, right.value, request.user)}; the old value stays in the list, marked.",
        )
        return redirect("room:reading", kind=wrong.kind)
    context = {"form": form, "wrong": wrong, "about": about}
    return render(request, "room/correct_reading.html", context, status=form.http_status)

"""Bringing the file of a logger: sent first, then its columns are chosen, then it is taken in."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from shop.people.requests import PersonRequest
from shop.press.pages import writes
from shop.refusal import Refused
from shop.room import actions, logger_files
from shop.room.forms import SendLoggerFileForm, TakeInFileForm
from shop.room.models import Instrument
from shop.room.wording import readings_words

#: Rows of the file shown where its columns are chosen.
SHOWN = 5


@writes(actions.take_in_file)
def take_in_file(request: PersonRequest, pk: int) -> HttpResponse:
    """Two steps at one address, told apart by the ticket that the second one carries."""
    one = get_object_or_404(Instrument, pk=pk, revoked_at=None)
    if "ticket" in request.POST:
        return _choose(request, one, request.POST["ticket"])
    given = {"data": request.POST, "files": request.FILES} if request.method == "POST" else {}
    form = SendLoggerFileForm(**given)
    if request.method == "POST" and form.is_valid():
        ticket = logger_files.keep(form.cleaned_data["file"])
        try:
            table = logger_files.read_table(logger_files.kept(ticket))
        except Refused as no:
            form.add_error("file", no.sentence)
        else:
            choose = TakeInFileForm(person=request.user, instrument=one, table=table, initial={"ticket": ticket})
            return _page(request, one, choose, table)
    status = 422 if form.is_bound and form.errors else 200
    return render(request, "room/take_in_file.html", {"form": form, "instrument": one}, status=status)


def _choose(request: PersonRequest, one: Instrument, ticket: str) -> HttpResponse:
    try:
        table = logger_files.read_table(logger_files.kept(ticket))
    except Refused as no:
        form = SendLoggerFileForm(data={}, files={})
        form.errors.clear()
        form.add_error("file", no.sentence)
        return render(request, "room/take_in_file.html", {"form": form, "instrument": one}, status=422)
    choose = TakeInFileForm(request.POST, person=request.user, instrument=one, table=table)
    before = one.kept
    if choose.press(actions.take_in_file, by=request.user, instrument=one):
        one.refresh_from_db()
        taken = one.kept - before
        messages.success(request, f"{readings_words(taken)} {'was' if taken == 1 else 'were'} taken in.")
        return redirect(one)
    return _page(request, one, choose, table)


def _page(request: PersonRequest, one: Instrument, form: TakeInFileForm, table: logger_files.Table) -> HttpResponse:
    context = {
        "form": form,
        "instrument": one,
        "table": table,
        "sample": [
            [(heading, cell) for heading, cell in zip(table.headings, row, strict=True)]
            for _, row in table.rows[:SHOWN]
        ],
    }
    return render(request, "room/take_in_file.html", context, status=form.http_status)

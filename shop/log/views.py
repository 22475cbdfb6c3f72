"""Pages of the log, for those who work here."""

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from shop.log import actions, queries, things
from shop.log.filters import NoteFilter
from shop.log.forms import CorrectNoteForm, ReadNoteForm, WriteNoteForm
from shop.log.models import Note
from shop.paging import leaf
from shop.people.models import HANDS
from shop.people.requests import PersonRequest, where_next
from shop.press.pages import press_page, shown_to, writes
from shop.press.views import refusal_page


@shown_to(HANDS)
def notes(request: PersonRequest) -> HttpResponse:
    """The log, latest first, narrowed and leafed through in the database; before it what the reader has not read."""
    narrowed = NoteFilter(request.GET, queryset=queries.notes())
    thing = next(iter(things.named([request.GET["about"]])), None) if request.GET.get("about") else None
    context = {
        "filter": narrowed,
        "leaf": leaf(narrowed.qs, request.GET, size=30),
        "thing": thing,
        "unread": [] if request.GET else queries.unread(request.user),
        "read": ReadNoteForm(person=request.user),
    }
    return render(request, "log/notes.html", context)


def _note(pk: int) -> Note:
    return get_object_or_404(queries.notes().select_related("corrects"), pk=pk)


@shown_to(HANDS)
def note(request: PersonRequest, pk: int) -> HttpResponse:
    """One note, who read it, and what was written about it."""
    shown = _note(pk)
    readers = queries.readers(shown)
    context = {
        "note": shown,
        "readers": readers,
        "is_waited_for": any(one.pk == request.user.pk for one in readers.waiting),
        "may_correct": shown.by.human == request.user.human and not shown.is_corrected,
        "read": ReadNoteForm(person=request.user),
    }
    return render(request, "log/note.html", context)


@writes(actions.write_note)
def write_note(request: PersonRequest, about: str = "") -> HttpResponse:
    found = things.named([about]) if about else []
    if about and not found:
        raise Http404
    form = WriteNoteForm(request.POST or None, person=request.user, about=found)
    return press_page(
        request, form, actions.write_note, said="It is written in the log.", more={"thing": found[0] if found else None}
    )


@writes(actions.correct_note)
def correct_note(request: PersonRequest, pk: int) -> HttpResponse:
    shown = _note(pk)
    form = CorrectNoteForm(request.POST or None, person=request.user, note=shown)
    more = {"mine": shown.by.human == request.user.human, "not_yours": actions.NOT_YOURS}
    return press_page(request, form, actions.correct_note, said="The note is put right.", more=more, note=shown)


@require_POST
@writes(actions.read_note)
def read_note(request: PersonRequest, pk: int) -> HttpResponse:
    """Back to where it was read: today's page, the log, or the note itself."""
    shown = _note(pk)
    form = ReadNoteForm(request.POST, person=request.user)
    if form.press(actions.read_note, by=request.user, note=shown) is None:
        return refusal_page(request, form.why_not, form.http_status, headline=form.refused, again=False)
    messages.success(request, "Read.")
    return redirect(where_next(request) or shown)

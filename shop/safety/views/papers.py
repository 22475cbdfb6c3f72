"""Papers: a sheet, the binder, labels for containers."""

from typing import Any

from django.contrib import messages
from django.db.models import QuerySet
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from shop import paper
from shop.codes import where_codes_open
from shop.people.models import Paper
from shop.people.requests import PersonRequest
from shop.press.forms import PressForm
from shop.press.pages import may, writes
from shop.safety import actions, queries
from shop.safety.forms import ContainerLabelsForm, MakeBinderForm
from shop.safety.models import Binder, HazardSheet, Substance
from shop.safety.papers import binder as binders
from shop.safety.papers import labels, sheets

# A sheet --------------------------------------------------------------------------------------------------------------


@require_safe
def sheet_pdf(request: PersonRequest, slug: str) -> HttpResponse:
    """What is in force of a sheet, else its draft, else what was; ?which=draft or ?which=<number> for that one."""
    sheet = get_object_or_404(HazardSheet.objects.select_related("substance", "draft_by"), slug=slug)
    one = _paper_of(sheet, request.GET.get("which", ""), request.build_absolute_uri(sheet.get_absolute_url()))
    size, room = request.room.paper, request.room
    name = f"{one.title} {f'version {one.version.number}' if one.version else 'draft'}"
    return paper.hand_out(request, lambda: sheets.sheet_pdf(one, room=room, page_size=size), name=name)


def _paper_of(sheet: HazardSheet, which: str, address: str) -> sheets.SheetPaper:
    state = queries.state_of(sheet)
    latest = state.latest
    told: dict[str, Any] = {"address": address, "numbers": queries.call_numbers()}
    told["label"] = queries.label_of(sheet.substance) if sheet.substance is not None else None
    if which == "draft" or (not which and state.in_force is None and (sheet.draft or latest is None)):
        return sheets.paper_of_draft(sheet, **told)
    if which:
        latest = sheet.versions.select_related("by").filter(number=which).first() if _is_number(which) else None
    if latest is None:
        raise Http404
    latest.sheet = sheet
    return sheets.paper_of_version(latest, standing=queries.standing_of(latest, state), **told)


def _is_number(text: str) -> bool:
    return text.isascii() and text.isdigit() and len(text) < 6


# The binder -----------------------------------------------------------------------------------------------------------


@require_safe
def binder(request: PersonRequest) -> HttpResponse:
    """All sheets in force as one PDF: whether it is made, being made, or no longer current."""
    return _binder_page(request)


@writes(actions.make_binder)
def make_binder(request: PersonRequest) -> HttpResponse:
    form = MakeBinderForm(request.POST or None, person=request.user, room=request.room)
    if request.method == "POST" and (
        form.press(actions.make_binder, by=request.user, opens=_opens(request)) is not None
    ):
        messages.success(request, "The binder is being made. You may leave this page.")
        return redirect(f"{reverse('safety:binder')}?paper={form.cleaned_data['paper']}")
    return _binder_page(request, form)


@require_safe
def binder_pdf(request: PersonRequest, pk: int) -> HttpResponseBase:
    made = get_object_or_404(Binder, pk=pk)
    try:
        file = binders.file_of(made).open("rb") if made.file else None
    except FileNotFoundError:
        file = None
    if file is None:
        messages.warning(request, "That binder is no longer here. Have it made anew.")
        return redirect("safety:binder")
    return FileResponse(file, content_type="application/pdf", filename="hazard-sheets.pdf")


def _opens(request: HttpRequest) -> str:
    return f"{request.scheme}://{request.get_host()}"


def _binder_page(request: PersonRequest, form: PressForm | None = None) -> HttpResponse:
    asked = request.GET.get("paper")
    size = asked if asked in Paper.values else request.room.paper
    made = queries.latest_binder(size)
    papers = binders.in_force(made.opens if made else _opens(request))
    current = bool(made and made.file and made.fingerprint == binders.fingerprint(papers, request.room, size))
    context = {
        "papers": papers,
        "size": size,
        "sizes": Paper,
        "made": made,
        "is_current": current,
        "may_make": may(request.user, actions.make_binder),
        "form": form or MakeBinderForm(person=request.user, room=request.room, size=size),
        **where_codes_open(request),
    }
    return render(request, "safety/binder.html", context, status=form.http_status if form else 200)


# Labels ---------------------------------------------------------------------------------------------------------------


@require_safe
def container_labels(request: PersonRequest) -> HttpResponse:
    """Which substances, which form and size, on which paper; ?substance=<slug> ticks one."""
    ticked = list(_substances().filter(slug=request.GET.get("substance", "")).values_list("pk", flat=True))
    return _choose(request, ContainerLabelsForm(room=request.room, person=request.user, ticked=ticked))


@require_safe
def container_labels_pdf(request: PersonRequest) -> HttpResponse:
    if not request.GET:
        return redirect("safety:labels")
    form = ContainerLabelsForm(request.GET, room=request.room, person=request.user)
    if not form.is_valid():
        return _choose(request, form)
    given = form.cleaned_data
    made = queries.container_labels(
        given["substance"],
        opens=request.build_absolute_uri,
        full=given["form"] == "full",
        filled=form.filled,
    )

    def make() -> bytes:
        fitted = labels.fit(made, form.on_size)
        form.refuse(fitted)
        return labels.sheets_pdf(
            fitted,
            size=form.on_size,
            page_size=given["paper"],
            copies=given["copies"],
            start=given["start"],
            title=f"Labels, {request.room}",
        )

    try:
        return paper.hand_out(request, make, name="container labels")
    except labels.NoRoom:
        return _choose(request, form)


def _substances() -> QuerySet[Substance]:
    return Substance.objects.filter(is_active=True)


def _choose(request: PersonRequest, form: ContainerLabelsForm) -> HttpResponse:
    lines = queries.substance_lines(list(queries.substances_in_full().filter(is_active=True).order_by("name")))
    context = {
        "form": form,
        "differing": [line.substance for line in lines if line.label.differences],
        "sizes": labels.SIZES,
        "least": labels.TYPES[-1],
        **where_codes_open(request),
    }
    return render(request, "safety/labels.html", context, status=form.http_status)

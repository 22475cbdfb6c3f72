"""In and out: files that are taken in, and lists that are carried away."""

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from shop import clock
from shop.carrying import lists
from shop.carrying.views import CSV, XLSX, named
from shop.people.requests import PersonRequest
from shop.press.forms import PressForm
from shop.press.pages import may, writes
from shop.refusal import NotAllowed
from shop.stock import actions
from shop.stock.actions.sheets import AT_ONCE_BYTES, AT_ONCE_ROWS
from shop.stock.forms.sheets import (
    AnswerSheetForm,
    DropSheetForm,
    SendSheetForm,
    TakeInSheetForm,
    WithdrawPastUseForm,
)
from shop.stock.models import Intake, IntakeState, SheetKind
from shop.stock.sheets import templates, work
from shop.stock.sheets.columns import SHEETS, Sheet

#: So many of the files that were sent are listed, the latest.
_LISTED = 20


@require_safe
def in_and_out(request: PersonRequest) -> HttpResponse:
    """What can be taken in and carried away, and what became of the files sent lately."""
    sent = Intake.objects.select_related("by", "taken_by")[:_LISTED] if may(request.user, actions.send_sheet) else []
    context = {"sheets": SHEETS.values(), "areas": lists.areas(request.user.role), "sent": sent}
    return render(request, "stock/in_and_out.html", context)


@require_safe
def sheet_template(request: PersonRequest, kind: str, ending: str) -> HttpResponse:
    """An empty file of a kind, with its headings."""
    sheet = _sheet(kind)
    if ending not in ("csv", "xlsx"):
        raise Http404
    if ending == "xlsx":
        return named(HttpResponse(templates.template_xlsx(sheet), content_type=XLSX), f"{kind}-template.xlsx")
    return named(HttpResponse(templates.template_csv(sheet), content_type=CSV), f"{kind}-template.csv")


def _sheet(kind: str) -> Sheet:
    try:
        return SHEETS[SheetKind(kind)]
    except ValueError as unknown:
        raise Http404 from unknown


# In -------------------------------------------------------------------------------------------------------------------


@writes(actions.send_sheet)
def send_sheet(request: PersonRequest, kind: str) -> HttpResponse:
    sheet = _sheet(kind)
    given = {"data": request.POST, "files": request.FILES} if request.method == "POST" else {}
    form = SendSheetForm(person=request.user, **given)
    if request.method == "POST" and (intake := form.press(actions.send_sheet, by=request.user, kind=kind)):
        return _onwards(intake, at_once=intake.size <= AT_ONCE_BYTES)
    return render(request, "stock/send_sheet.html", {"form": form, "sheet": sheet}, status=form.http_status)


@require_safe
def intake(request: PersonRequest, pk: int) -> HttpResponse:
    """What a file holds and what is wrong with it, how far the work on it is, and what can be done next."""
    if not may(request.user, actions.send_sheet):
        raise NotAllowed
    return _intake_page(request, _intake(pk))


@require_POST
@writes(actions.answer_sheet)
def answer_sheet(request: PersonRequest, pk: int) -> HttpResponse:
    kept = _intake(pk)
    form = AnswerSheetForm(request.POST, person=request.user, intake=kept)
    if done := form.press(actions.answer_sheet, by=request.user, intake=kept):
        return _onwards(done, at_once=done.size <= AT_ONCE_BYTES)
    return _intake_page(request, _intake(pk), form)


@require_POST
@writes(actions.take_in_sheet)
def take_in_sheet(request: PersonRequest, pk: int) -> HttpResponse:
    kept = _intake(pk)
    form = TakeInSheetForm(request.POST, person=request.user)
    if done := form.press(actions.take_in_sheet, by=request.user, intake=kept):
        return _onwards(done, at_once=done.rows <= AT_ONCE_ROWS)
    return _intake_page(request, _intake(pk), form)


@require_POST
@writes(actions.drop_sheet)
def drop_sheet(request: PersonRequest, pk: int) -> HttpResponse:
    kept = _intake(pk)
    form = DropSheetForm(request.POST, person=request.user)
    if form.press(actions.drop_sheet, by=request.user, intake=kept):
        messages.success(request, f"Left: nothing of {kept.name} was taken in.")
        return redirect("stock:in-and-out")
    return _intake_page(request, _intake(pk), form)


@require_POST
@writes(actions.withdraw_past_use)
def withdraw_past_use(request: PersonRequest, pk: int) -> HttpResponse:
    kept = _intake(pk)
    form = WithdrawPastUseForm(request.POST, person=request.user)
    if form.press(actions.withdraw_past_use, by=request.user, intake=kept):
        messages.success(request, "The past use that came with that file is out again.")
        return redirect(kept)
    return _intake_page(request, _intake(pk), form)


def _intake(pk: int) -> Intake:
    return get_object_or_404(Intake.objects.select_related("by", "taken_by"), pk=pk)


def _onwards(intake: Intake, *, at_once: bool) -> HttpResponse:
    """To the intake's page; a small file is worked off on the way."""
    if at_once:
        work.carry_on(intake.pk)
    return redirect(intake)


def _intake_page(request: PersonRequest, kept: Intake, form: PressForm | None = None) -> HttpResponse:
    person = request.user
    asks = form if isinstance(form, AnswerSheetForm) else AnswerSheetForm(person=person, intake=kept)
    before = Intake.objects.filter(digest=kept.digest, kind=kept.kind, state=IntakeState.DONE).exclude(pk=kept.pk)
    context = {
        "intake": kept,
        "sheet": SHEETS[SheetKind(kept.kind)],
        "told": kept.told,
        "progress": work.progress_of(kept) if kept.is_at_work else None,
        "before": before.filter(taken_at__lt=kept.taken_at or clock.now()).first(),
        "form": form or asks,
        "asks": asks,
        "take_in": TakeInSheetForm(person=person),
        "drop": DropSheetForm(person=person),
        "withdraw": WithdrawPastUseForm(person=person) if kept.past_use.exists() else None,
    }
    return render(request, "stock/intake.html", context, status=form.http_status if form else 200)

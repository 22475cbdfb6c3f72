"""Pages of suppliers' sheets: all of them, those of a substance, one, its file; taking one in, withdrawing one."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.text import slugify
from django.views.decorators.http import require_safe

from shop import paging
from shop.people.requests import PersonRequest
from shop.press.pages import may, press_page, writes
from shop.press.views import refusal_page
from shop.safety import actions, queries
from shop.safety.forms import AddSupplierSheetForm, SendSupplierSheetForm, WithdrawSupplierSheetForm
from shop.safety.languages import language_name
from shop.safety.models import Substance, SupplierSheet
from shop.safety.sheet_files import kept
from shop.wording import in_full

_GONE = (
    "The file of that sheet is not on this machine as it was kept. Restore it from a backup of the data folder, or ask "
    "the supplier for it; until then go by the printed one."
)
_EXPIRED = "The file is no longer here: it is kept for two days until it is taken in. Send it again."


@require_safe
def supplier_sheets(request: PersonRequest) -> HttpResponse:
    """Every substance with its sheets in force; those that have none stand out."""
    context = {
        "shelves": queries.supplier_shelves(),
        "may_add": may(request.user, actions.add_supplier_sheet),
    }
    return render(request, "safety/supplier_sheets.html", context)


@require_safe
def supplier_sheets_of(request: PersonRequest, slug: str) -> HttpResponse:
    """All the sheets of a substance, older ones too."""
    substance = get_object_or_404(Substance, slug=slug)
    in_force = {sheet.pk for sheet in queries.supplier_sheets_in_force().filter(substance=substance)}
    context = {
        "substance": substance,
        "leaf": paging.leaf(queries.supplier_sheets_of(substance), request.GET, by=("revised_on", "id"), size=30),
        "in_force": in_force,
        "may_add": may(request.user, actions.add_supplier_sheet),
    }
    return render(request, "safety/supplier_sheets_of.html", context)


def _sheet(pk: int) -> SupplierSheet:
    rows = SupplierSheet.objects.select_related("substance", "supplier", "by", "withdrawn__by")
    return get_object_or_404(rows, pk=pk)


@require_safe
def supplier_sheet(request: PersonRequest, pk: int) -> HttpResponse:
    sheet = _sheet(pk)
    now = queries.supplier_sheets_in_force().filter(substance=sheet.substance, language=sheet.language).first()
    context = {
        "sheet": sheet,
        "in_force": now,
        "is_in_force": now == sheet,
        "language": language_name(sheet.language),
        "sections": queries.sections_of(sheet),
        "urgent": queries.urgent_sections_of(sheet),
        "h_statements": queries.statements_of(sheet.says_h),
        "p_statements": queries.statements_of(sheet.says_p),
        "may_withdraw": not hasattr(sheet, "withdrawn") and may(request.user, actions.withdraw_supplier_sheet),
    }
    return render(request, "safety/supplier_sheet.html", context)


@require_safe
def supplier_sheet_file(request: PersonRequest, pk: int) -> HttpResponse:
    """The file as it came, to keep: never shown within a page of ours, nor run with its rights."""
    sheet = get_object_or_404(SupplierSheet.objects.select_related("substance"), pk=pk)
    try:
        content = kept.content_of(sheet)
    except (OSError, ValueError):
        return refusal_page(request, _GONE, 404)
    answer = HttpResponse(content, content_type="application/pdf")
    called = f"{slugify(sheet.substance.name)}-{sheet.revised_on.isoformat()}-{slugify(sheet.language)}.pdf"
    answer["Content-Disposition"] = f'attachment; filename="{called}"'
    answer["Content-Security-Policy"] = "sandbox; default-src 'none'"
    answer["X-Content-Type-Options"] = "nosniff"
    answer["Cache-Control"] = "private, no-store"
    return answer


@writes(actions.add_supplier_sheet)
def add_supplier_sheet(request: PersonRequest, slug: str) -> HttpResponse:
    """First the file is sent and looked through; then it is asked what stands in it."""
    substance = get_object_or_404(Substance, slug=slug)
    person = request.user
    if request.method == "POST" and (ticket := request.POST.get("kept")):
        sheet = kept.from_ticket(ticket, person.pk)
        if sheet is not None:
            form = AddSupplierSheetForm(request.POST, person=person, sheet=sheet)
            return press_page(
                request,
                form,
                actions.add_supplier_sheet,
                said=lambda made: f"The sheet of {in_full(made.revised_on)} is kept.",
                substance=substance,
                sheet=sheet,
            )
        lost = SendSupplierSheetForm({}, {})
        lost.full_clean()
        lost.errors["file"] = lost.error_class([_EXPIRED])
        return _ask_for_file(request, substance, lost)
    if request.method != "POST":
        return _ask_for_file(request, substance, SendSupplierSheetForm())
    sent = SendSupplierSheetForm(request.POST, request.FILES)
    if not sent.is_valid():
        return _ask_for_file(request, substance, sent)
    facts = AddSupplierSheetForm(person=person, sheet=sent.cleaned_data["file"])
    return render(request, "safety/add_supplier_sheet.html", {"form": facts, "substance": substance})


def _ask_for_file(request: PersonRequest, substance: Substance, form: SendSupplierSheetForm) -> HttpResponse:
    context = {"form": form, "substance": substance}
    return render(request, "safety/send_supplier_sheet.html", context, status=form.http_status)


@writes(actions.withdraw_supplier_sheet)
def withdraw_supplier_sheet(request: PersonRequest, pk: int) -> HttpResponse:
    sheet = _sheet(pk)
    form = WithdrawSupplierSheetForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.withdraw_supplier_sheet,
        said="It is withdrawn. The sheet stays on record, and is not in force.",
        to=sheet,
        sheet=sheet,
    )

"""Pages of the room's own sheets."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from shop import clock
from shop.people import authority
from shop.people.models import ENGINEERS
from shop.people.requests import PersonRequest
from shop.press.pages import may, press_page, shown_to, writes
from shop.safety import actions, facts, queries
from shop.safety.forms import (
    AddSheetForm,
    ApproveSheetForm,
    ChangeSafetyRulesForm,
    ConfirmSheetReadForm,
    DropDraftForm,
    ResumeSheetForm,
    StopSheetForm,
    WithdrawVersionForm,
    WriteSheetForm,
)
from shop.safety.models import HazardSheet, SecondPerson, SheetVersion
from shop.wording import in_full


@require_safe
def hazards(request: PersonRequest) -> HttpResponse:
    """Where somebody begins who asks what can hurt here, and what there is to read."""
    states = queries.sheet_states()
    context = {
        "to_read": list(queries.still_to_read(request.user)),
        "in_force": [state for state in states if state.in_force],
        "drafts": [state for state in states if state.sheet.is_active and not state.in_force],
        "may_read": may(request.user, actions.confirm_sheet_read),
        "may_write": may(request.user, actions.write_sheet),
    }
    return render(request, "safety/hazards.html", context)


@require_safe
def hazard_sheets(request: PersonRequest) -> HttpResponse:
    """Every sheet and how it stands."""
    context = {
        "states": queries.sheet_states(),
        "may_write": may(request.user, actions.add_sheet),
        "may_see_reading": request.user.role in ENGINEERS,
        "may_rule": may(request.user, actions.change_safety_rules),
    }
    return render(request, "safety/hazard_sheets.html", context)


def _sheet(slug: str) -> HazardSheet:
    return get_object_or_404(HazardSheet.objects.select_related("substance", "draft_by"), slug=slug)


def _version(pk: int) -> SheetVersion:
    return get_object_or_404(SheetVersion.objects.select_related("sheet__substance", "by", "written_by"), pk=pk)


@require_safe
def hazard_sheet(request: PersonRequest, slug: str) -> HttpResponse:
    """What is in force of a sheet; without that, what there is, said to be a draft or past its time."""
    return _sheet_page(request, _sheet(slug))


def _sheet_page(request: PersonRequest, sheet: HazardSheet, form: ConfirmSheetReadForm | None = None) -> HttpResponse:
    state = queries.state_of(sheet)
    shown = state.in_force
    readers = queries.readers_of(shown) if shown else []
    mine = next((one for one in readers if one.by_id == request.user.pk), None)
    asked = shown is not None and mine is None and may(request.user, actions.confirm_sheet_read)
    context = {
        "state": state,
        "sections": facts.sections(state.parts),
        "numbers": queries.call_numbers(),
        "versions": list(queries.versions_of(sheet)),
        "lessons": queries.lessons_of(sheet),
        "readers": readers,
        "mine": mine,
        "form": form or (ConfirmSheetReadForm(person=request.user) if asked else None),
        "may_write": may(request.user, actions.write_sheet),
        "may_approve": may(request.user, actions.approve_sheet),
        "may_keep_numbers": may(request.user, actions.keep_call_numbers),
    }
    return render(request, "safety/hazard_sheet.html", context, status=form.http_status if form else 200)


@require_safe
def sheet_version(request: PersonRequest, pk: int) -> HttpResponse:
    """A version as it was approved, whether or not it is in force."""
    shown = _version(pk)
    state = queries.state_of(shown.sheet)
    context = {
        "version": shown,
        "state": state,
        "is_in_force": state.in_force == shown,
        "sections": facts.sections(shown.parts),
        "readers": queries.readers_of(shown),
    }
    return render(request, "safety/sheet_version.html", context)


@require_safe
def compare_versions(request: PersonRequest, slug: str) -> HttpResponse:
    """?from=1&to=2: what the later has that the earlier had not. Unless told, the latest against the one before."""
    sheet = _sheet(slug)
    versions = list(queries.versions_of(sheet))
    by_number = {str(version.number): version for version in versions}
    after = by_number.get(request.GET.get("to", ""), versions[0] if versions else None)
    before = by_number.get(request.GET.get("from", ""))
    if before is None and after is not None:
        before = next((one for one in versions if one.number < after.number), None)
    compared = facts.compare(before.parts, after.parts) if before and after else []
    context = {
        "sheet": sheet,
        "versions": versions,
        "before": before,
        "after": after,
        "compared": compared,
        "changed": any(part.is_changed for part in compared),
    }
    return render(request, "safety/compare_versions.html", context)


# Writing --------------------------------------------------------------------------------------------------------------


@writes(actions.add_sheet)
def add_sheet(request: PersonRequest) -> HttpResponse:
    form = AddSheetForm(request.POST or None, person=request.user)
    if request.method == "POST" and (made := form.press(actions.add_sheet, by=request.user)):
        messages.success(request, f"{made.title} is on the list. Now write it; it is in force once it was approved.")
        return redirect("safety:write-sheet", made.slug)
    return render(request, "safety/add_sheet.html", {"form": form}, status=form.http_status)


@writes(actions.write_sheet)
def write_sheet(request: PersonRequest, slug: str) -> HttpResponse:
    sheet = _sheet(slug)
    latest = queries.state_of(sheet).latest
    start_from = latest.parts if latest is not None else {}
    form = WriteSheetForm(request.POST or None, person=request.user, row=sheet, start_from=start_from)
    return press_page(
        request,
        form,
        actions.write_sheet,
        said="The draft is kept. It is not in force before it was approved.",
        more={"latest": latest, "may_drop": bool(sheet.draft) and latest is not None},
        sheet=sheet,
    )


@writes(actions.drop_draft)
def drop_draft(request: PersonRequest, slug: str) -> HttpResponse:
    sheet = _sheet(slug)
    form = DropDraftForm(request.POST or None, person=request.user, row=sheet)
    more = {"can": bool(sheet.draft) and sheet.versions.exists()}
    return press_page(request, form, actions.drop_draft, said="The draft is gone.", more=more, sheet=sheet)


@writes(actions.stop_sheet)
def stop_sheet(request: PersonRequest, slug: str) -> HttpResponse:
    sheet = _sheet(slug)
    form = StopSheetForm(request.POST or None, person=request.user)
    said = f"{sheet.title} is no longer kept. Its versions stay."
    return press_page(request, form, actions.stop_sheet, said=said, sheet=sheet)


@writes(actions.resume_sheet)
def resume_sheet(request: PersonRequest, slug: str) -> HttpResponse:
    sheet = _sheet(slug)
    form = ResumeSheetForm(request.POST or None, person=request.user)
    return press_page(request, form, actions.resume_sheet, said=f"{sheet.title} is kept again.", sheet=sheet)


# Approving ------------------------------------------------------------------------------------------------------------


@writes(actions.approve_sheet)
def approve_sheet(request: PersonRequest, slug: str) -> HttpResponse:
    """The draft in full, what is new in it, what it lacks, and the press that puts it in force."""
    sheet = _sheet(slug)
    latest = queries.state_of(sheet).latest
    rules = queries.safety_rules()
    others = queries.others_who_approve(request.user)
    is_author = sheet.draft_by_id == request.user.pk
    form = ApproveSheetForm(
        request.POST or None,
        person=request.user,
        row=sheet,
        is_alone=is_author and rules.second_person != SecondPerson.ALWAYS and not others,
    )
    needs_other = is_author and (
        rules.second_person == SecondPerson.ALWAYS
        or (rules.second_person == SecondPerson.WHERE_THERE_IS_ONE and bool(others))
    )
    written = facts.of_stored(sheet.draft)
    more: dict[str, Any] = {
        "latest": latest,
        "rules": rules,
        "others": others,
        "sections": facts.sections(sheet.draft),
        "compared": facts.compare(latest.parts, sheet.draft) if latest is not None else [],
        "missing": facts.missing_parts(written, of_substance=sheet.substance_id is not None),
        "needs_other": needs_other,
        "holds": authority.holds(request.user, queries.APPROVE, clock.today()),
    }
    return press_page(request, form, actions.approve_sheet, said=_in_force, to=sheet, more=more, sheet=sheet)


def _in_force(made: SheetVersion) -> str:
    until = f", until {in_full(made.until)}" if made.until else ""
    return f"{made} is in force{until}. Everybody who works here is asked to read it."


@writes(actions.withdraw_version)
def withdraw_version(request: PersonRequest, pk: int) -> HttpResponse:
    shown = _version(pk)
    is_in_force = queries.state_of(shown.sheet).in_force == shown
    form = WithdrawVersionForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.withdraw_version,
        said=f"{shown} is withdrawn. The sheet is not in force until another version was approved.",
        to=shown.sheet,
        more={"is_in_force": is_in_force},
        version=shown,
    )


# Reading --------------------------------------------------------------------------------------------------------------


@require_POST
@writes(actions.confirm_sheet_read)
def confirm_sheet_read(request: PersonRequest, pk: int) -> HttpResponse:
    shown = _version(pk)
    form = ConfirmSheetReadForm(request.POST, person=request.user)
    if form.press(actions.confirm_sheet_read, by=request.user, version=shown) is not None:
        messages.success(request, f"Kept: you have read {shown}.")
        return redirect(shown.sheet)
    return _sheet_page(request, _sheet(shown.sheet.slug), form)


@shown_to(ENGINEERS)
def sheet_reading(request: PersonRequest) -> HttpResponse:
    """Who of those who work here has read which sheet in force."""
    return render(request, "safety/sheet_reading.html", {"reading": queries.reading()})


@writes(actions.change_safety_rules)
def change_safety_rules(request: PersonRequest) -> HttpResponse:
    form = ChangeSafetyRulesForm(request.POST or None, person=request.user, row=queries.safety_rules())
    return press_page(request, form, actions.change_safety_rules, said="The rules are kept.", to="safety:hazard-sheets")

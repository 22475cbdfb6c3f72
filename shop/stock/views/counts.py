"""Counting the shelf: the list of counts, one count in each of its states, and what is done with it."""

from collections.abc import Iterable
from itertools import groupby
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from shop.paging import leaf
from shop.paper import pdf_response
from shop.people.requests import PersonRequest
from shop.press.pages import press_page, writes
from shop.stock import actions, queries
from shop.stock.actions.counts import differences_of
from shop.stock.forms.counts import (
    AddToCountForm,
    AgreeCountForm,
    DropCountForm,
    EnterCountForm,
    ExplainCountForm,
    GiveInCountForm,
    StartCountForm,
)
from shop.stock.models import Count, CountLine, CountState, CountStepKind
from shop.stock.queries import Compared
from shop.stock.tables import CountTable

#: How many boxes a page of counting has: what one stands before, not the whole room.
AT_ONCE = 20
#: How many differences a page asks the reasons of.
EXPLAINED_AT_ONCE = 40


@require_safe
def counts(request: PersonRequest) -> HttpResponse:
    page = leaf(queries.counts(), request.GET, by=("id",), size=30)
    return render(request, "stock/counts.html", {"leaf": page, "table": CountTable(page.rows)})


@writes(actions.start_count)
def start_count(request: PersonRequest) -> HttpResponse:
    form = StartCountForm(request.POST or None, person=request.user)
    if request.method == "POST" and (count := form.press(actions.start_count, by=request.user)):
        messages.success(request, f"{count} is begun: {count.about}, {count.lines.count()} lots.")
        return redirect(count)
    return render(request, "stock/start_count.html", {"form": form}, status=form.http_status)


@require_safe
def count(request: PersonRequest, pk: int) -> HttpResponse:
    """What is still to be counted; once given in what differs; once agreed what was signed."""
    shown = get_object_or_404(queries.counts(), pk=pk)
    context: dict[str, Any] = {"count": shown, "steps": shown.steps.select_related("by")}
    if shown.state == CountState.GIVEN:
        context |= _differences(queries.compare(queries.lines(shown)))
    elif shown.state == CountState.AGREED:
        context["page"] = Paginator(queries.settled(shown), 50).get_page(request.GET.get("page"))
        context["settled"] = context["page"].object_list
        context["agreed_by"] = next(
            (step.by_id for step in context["steps"] if step.kind == CountStepKind.AGREED), None
        )
    else:
        context["page"] = Paginator(queries.lines(shown), 50).get_page(request.GET.get("page"))
        context["places"] = _by_place(context["page"].object_list)
    return render(request, "stock/count.html", context)


def _differences(found: Iterable[Compared]) -> dict[str, Any]:
    every = list(found)
    return {
        "differing": [one for one in every if one.change or one.overtaken],
        "alike": sum(not one.change and not one.overtaken for one in every),
        "unexplained": sum(not one.is_explained for one in every),
        "overtaken": any(one.overtaken for one in every),
        "counted": len(every),
    }


def _by_place(lines: Iterable[CountLine]) -> list[dict[str, Any]]:
    """Lines under where they stand, each with who counted it last."""
    return [
        {"place": place, "lines": [{"line": line, "tally": queries.last_tally(line)} for line in own]}
        for place, own in groupby(lines, key=lambda line: line.lot.item.place)
    ]


@writes(actions.enter_count)
def enter_count(request: PersonRequest, pk: int) -> HttpResponse:
    """Boxes for those not counted yet, so many at once; or for ?line= alone, to count it again."""
    shown = get_object_or_404(queries.counts(), pk=pk)
    lines = _asked(request, shown)
    form = EnterCountForm(request.POST or None, person=request.user, lines=lines)
    again = request.GET.get("line", "")
    if request.method == "POST" and form.press(actions.enter_count, by=request.user, count=shown) is not None:
        left = queries.uncounted(shown).count()
        kept = sum(bool(form.cleaned_data[name] is not None) for name in form.lines)
        numbers = "One number is kept" if kept == 1 else f"{kept} numbers are kept"
        messages.success(request, f"{numbers}. {'Every lot is counted' if not left else f'{left} to go'}.")
        return redirect(shown) if again or not left else redirect("stock:enter-count", shown.pk)
    context = {"form": form, "count": shown, "left": shown.lots - shown.done, "again": again, "lines": lines}
    return render(request, "stock/enter_count.html", context, status=form.http_status)


def _asked(request: HttpRequest, count: Count) -> list[CountLine]:
    """The lines that the page is about: those posted, the one asked for, or the next that nobody has counted."""
    if request.method == "POST":
        names = [name.removeprefix("line-") for name in request.POST if name.startswith("line-")]
        return list(queries.lines(count).filter(pk__in=_numbers(names))[: 5 * AT_ONCE])
    if asked := _numbers([request.GET.get("line", "")]):
        return list(queries.lines(count).filter(pk__in=asked))
    return list(queries.uncounted(count)[:AT_ONCE])


def _numbers(texts: Iterable[str]) -> list[int]:
    return [int(text) for text in texts if text.isascii() and text.isdigit() and len(text) < 19]


@require_safe
def count_pdf(request: PersonRequest, pk: int) -> HttpResponse:
    """The list to write on, without what the ledger says."""
    shown = get_object_or_404(queries.counts(), pk=pk)
    context = {"count": shown, "places": _by_place(queries.lines(shown))}
    return pdf_response(request, "print/count.html", context, name=f"count {shown.pk}")


@writes(actions.add_to_count)
def add_to_count(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(Count, pk=pk)
    form = AddToCountForm(request.POST or None, person=request.user)
    if request.method == "POST" and (line := form.press(actions.add_to_count, by=request.user, count=shown)):
        messages.success(request, f"Lot {line.lot.code} is in the count. Enter what you found of it.")
        return redirect(f"{reverse('stock:enter-count', args=[shown.pk])}?line={line.pk}")
    return render(request, "stock/add_to_count.html", {"form": form, "count": shown}, status=form.http_status)


@writes(actions.give_in_count)
def give_in_count(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(queries.counts(), pk=pk)
    form = GiveInCountForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.give_in_count,
        said=f"{shown} is given in. These are the differences; say why, or count again.",
        to=shown,
        count=shown,
    )


@writes(actions.explain_count)
def explain_count(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(queries.counts(), pk=pk)
    found = queries.compare(queries.lines(shown)) if shown.state == CountState.GIVEN else []
    differing = [one for one in found if one.change]
    asked = sorted(differing, key=lambda one: one.is_explained)[:EXPLAINED_AT_ONCE]
    if request.method == "POST":
        asked = [one for one in differing if f"line-{one.line.pk}" in request.POST]
    form = ExplainCountForm(request.POST or None, person=request.user, differing=asked)
    return press_page(
        request,
        form,
        actions.explain_count,
        said="The reasons are kept.",
        to=shown,
        more={"more": len(differing) - len(asked)},
        count=shown,
    )


@writes(actions.agree_count)
def agree_count(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(queries.counts(), pk=pk)
    found = queries.compare(queries.lines(shown)) if shown.state == CountState.GIVEN else []
    form = AgreeCountForm(request.POST or None, person=request.user, seen=differences_of(found))
    return press_page(
        request,
        form,
        actions.agree_count,
        said=f"{shown} is agreed, and the ledger put right.",
        to=shown,
        more=_differences(found),
        count=shown,
    )


@writes(actions.drop_count)
def drop_count(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(queries.counts(), pk=pk)
    form = DropCountForm(request.POST or None, person=request.user)
    return press_page(
        request, form, actions.drop_count, said=f"{shown} is dropped. Nothing came of it.", to=shown, count=shown
    )

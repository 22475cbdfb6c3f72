"""Orders: the list, one of them, what is done with it, and its paper."""

from datetime import date
from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_safe
from django_tables2 import RequestConfig

from shop import clock
from shop.paper import pdf_response
from shop.people.models import Room
from shop.people.queries import the_room
from shop.people.requests import PersonRequest
from shop.press.pages import may, press_page, writes
from shop.stock import actions, papers, queries
from shop.stock.amounts import in_words
from shop.stock.filters import OrderFilter
from shop.stock.forms import (
    ChangeOrderForm,
    CloseOrderShortForm,
    DraftOrderForm,
    DropOrderForm,
    PromiseAnewForm,
    ReceiveOnOrderForm,
    SendOrderForm,
)
from shop.stock.models import Item, Lot, Order, OrderLine, Supplier
from shop.stock.tables import OrderTable
from shop.wording import in_full

#: So many items are offered to receive a delivery of that nobody ordered; the rest are on the shelf's own page.
MOST_ITEMS = 40


@require_safe
def orders(request: PersonRequest) -> HttpResponse:
    """Orders that are open, or those asked for; narrowed, sorted and paged in the database."""
    narrowed = OrderFilter(request.GET, queryset=queries.orders())
    rows = narrowed.qs
    only_open = not narrowed.form.cleaned_data.get("state")
    table = OrderTable(rows, reader=request.user, exclude=("received_on",) if only_open else ())
    RequestConfig(request, paginate={"per_page": 30}).configure(table)
    return render(request, "stock/orders.html", {"table": table, "filter": narrowed})


@require_safe
def expected(request: PersonRequest) -> HttpResponse:
    """What is still to come, soonest first, and the items, for what came unordered: each with the way to receive it."""
    page = Paginator(queries.orders_under_way(), 20).get_page(request.GET.get("page"))
    coming = [(order, [line for line in order.lines.all() if line.open_quantity]) for order in page.object_list]
    may_receive = _may(request, "receive_on_order")
    kept = list(queries.items().filter(is_active=True)[: MOST_ITEMS + 1]) if may_receive else []
    context = {
        "page": page,
        "coming": coming,
        "day": clock.today(),
        "may_receive": may_receive,
        "items": kept[:MOST_ITEMS],
        "are_more": len(kept) > MOST_ITEMS,
    }
    return render(request, "stock/expected.html", context)


@require_safe
def order(request: PersonRequest, pk: int) -> HttpResponse:
    """One order: what was asked for and what came, what can be done next, and who did what."""
    shown = _order(pk)
    day = clock.today()
    context = {
        "order": shown,
        "lines": queries.lines_with_lots(shown),
        "steps": shown.steps.select_related("by"),
        "late_by": (day - shown.expected_on).days if shown.expected_on and shown.is_late(day) else 0,
        "paper": papers.order_paper(shown, the_room(), request.user),
        **{name: _may(request, f"{name.removeprefix('may_')}") for name in _MAY},
    }
    return render(request, "stock/order.html", context)


_MAY = ("may_change_order", "may_send_order", "may_promise_anew", "may_receive_on_order", "may_close_order_short")


def _may(request: PersonRequest, name: str) -> bool:
    return may(request.user, getattr(actions, name))


def _order(pk: int) -> Order:
    return get_object_or_404(Order.objects.select_related("supplier"), pk=pk)


# Writing one ----------------------------------------------------------------------------------------------------------


@writes(actions.draft_order)
def draft_order(request: PersonRequest) -> HttpResponse:
    """A draft for ?supplier=<id>, or ?item=<id>&quantity=<in its unit>; without either, a choice of suppliers first."""
    more = request.POST if "more" in request.POST else None
    item = Item.objects.filter(pk=_number(request, "item") or 0, is_active=True).select_related("supplier").first()
    supplier = _supplier_asked(request, item)
    if request.method != "POST" and supplier is None and item is None:
        return render(request, "stock/draft_order.html", {"form": None, "suppliers": _suppliers()})
    offers = queries.offers(supplier, clock.today()) if supplier else []
    first: list[tuple[Item, int | None]] = [(offer.item, offer.suggested or None) for offer in offers]
    if item is not None:
        first = [(item, _number(request, "quantity"))]
    form = DraftOrderForm(
        None if more else request.POST or None,
        person=request.user,
        more=more,
        offers=offers,
        query=request.GET,
        first=first,
        supplier=supplier,
    )
    if request.method == "POST" and not more and (made := form.press(actions.draft_order, by=request.user)):
        messages.success(request, f"Order {made.pk} is written down. It is not sent yet.")
        return redirect(made)
    asked = urlencode([(name, value) for name, value in request.GET.items() if name != "rows"])
    context = {"form": form, "draft": f"{request.path}?{asked}"}
    return render(request, "stock/draft_order.html", context, status=form.http_status)


def _number(request: HttpRequest, name: str) -> int | None:
    typed = request.GET.get(name, "")
    return int(typed) if typed.isascii() and typed.isdigit() and len(typed) < 10 else None


def _supplier_asked(request: HttpRequest, item: Item | None) -> Supplier | None:
    asked = _number(request, "supplier") or (item.supplier_id if item else None)
    return Supplier.objects.filter(pk=asked, is_active=True).first() if asked else None


def _suppliers() -> list[Supplier]:
    return list(Supplier.objects.filter(is_active=True))


@writes(actions.change_order)
def change_order(request: PersonRequest, pk: int) -> HttpResponse:
    shown = _order(pk)
    more = request.POST if "more" in request.POST else None
    form = ChangeOrderForm(
        None if more else request.POST or None,
        person=request.user,
        row=shown,
        more=more,
        query=request.GET,
        offers=queries.offers(shown.supplier, clock.today()),
    )
    if request.method == "POST" and not more and form.press(actions.change_order, by=request.user, order=shown):
        messages.success(request, f"Order {shown.pk} is saved. It is not sent yet.")
        return redirect(shown)
    return render(request, "stock/change_order.html", {"form": form, "order": shown}, status=form.http_status)


# What follows ---------------------------------------------------------------------------------------------------------


def _act(request: PersonRequest, form: Any, act: Any, shown: Order, said: Any, **more: Any) -> HttpResponse:
    """The page of something done to an order, which it leads back to."""
    more = {"lines": shown.lines.select_related("item"), **more}
    return press_page(request, form, act, said=said, to=shown, more=more, order=shown)


@writes(actions.send_order)
def send_order(request: PersonRequest, pk: int) -> HttpResponse:
    shown, room = _order(pk), the_room()
    form = SendOrderForm(request.POST or None, person=request.user, row=shown)
    form.is_valid()
    typed = getattr(form, "cleaned_data", {})  # of a form that comes back: the days that were typed
    days = {name: typed[name] for name in ("sent_on", "expected_on") if typed.get(name)}
    going = papers.going_out(shown, **days)
    mail = papers.mail_link(papers.order_paper(going, room, request.user), room)
    query = urlencode({"going": 1} | days)

    def said(sent: Order) -> str:
        return f"Order {sent.pk} is sent{_when(', expected on', sent.expected_on)}."

    return _act(request, form, actions.send_order, shown, said, mail=mail, going=going, query=query)


@writes(actions.promise_anew)
def promise_anew(request: PersonRequest, pk: int) -> HttpResponse:
    shown = _order(pk)
    form = PromiseAnewForm(request.POST or None, person=request.user)

    def said(promised: Order) -> str:
        return f"Order {promised.pk} is now expected{_when(' on', promised.expected_on)}."

    return _act(request, form, actions.promise_anew, shown, said)


@writes(actions.close_order_short)
def close_order_short(request: PersonRequest, pk: int) -> HttpResponse:
    shown = _order(pk)
    form = CloseOrderShortForm(request.POST or None, person=request.user)
    said = f"Order {shown.pk} is closed. Nothing more is expected on it."
    return _act(request, form, actions.close_order_short, shown, said)


@writes(actions.drop_order)
def drop_order(request: PersonRequest, pk: int) -> HttpResponse:
    shown = _order(pk)
    form = DropOrderForm(request.POST or None, person=request.user)
    return _act(request, form, actions.drop_order, shown, f"Order {shown.pk} is dropped. It stays on record.")


@writes(actions.receive_on_order)
def receive_on_order(request: PersonRequest, pk: int) -> HttpResponse:
    """What came on one line; leads to the new lot, where the next thing is to look it over."""
    line = get_object_or_404(OrderLine.objects.select_related("item", "order__supplier"), pk=pk)
    form = ReceiveOnOrderForm(request.POST or None, person=request.user, line=line)

    def said(lot: Lot) -> str:
        lot.refresh_from_db()
        now = OrderLine.objects.select_related("item").get(pk=line.pk)
        words = f"Received {in_words(lot.on_hand, line.item, request.user)} of {line.item.name} as lot {lot.code}."
        left = in_words(now.open_quantity, line.item, request.user)
        return f"{words} {left} still to come on order {line.order_id}." if now.open_quantity else words

    return press_page(request, form, actions.receive_on_order, said=said, line=line)


def _when(words: str, day: date | None) -> str:
    return f"{words} {in_full(day)}" if day else ""


# Its paper ------------------------------------------------------------------------------------------------------------


def _as_asked(request: PersonRequest, pk: int) -> Order:
    """The order; with ?going=1 a draft as it goes out, by ?sent_on= and ?expected_on= if these are given."""
    shown = _order(pk)
    if request.GET.get("going") != "1":
        return shown
    return papers.going_out(shown, _day(request, "sent_on"), _day(request, "expected_on"))


def _day(request: HttpRequest, name: str) -> date | None:
    try:
        typed = date.fromisoformat(request.GET.get(name, ""))
    except ValueError:
        return None
    return typed if 1970 <= typed.year < 2200 else None


@require_safe
def order_pdf(request: PersonRequest, pk: int) -> HttpResponse:
    room: Room = the_room()
    paper = papers.order_paper(_as_asked(request, pk), room, request.user)
    context = {"paper": paper, "order": paper.order, "reader": room}
    return pdf_response(request, "print/order.html", context, name=f"order {pk}")


@require_safe
def order_text(request: PersonRequest, pk: int) -> HttpResponse:
    """The order in plain text, to be copied into a mail."""
    room = the_room()
    text = papers.order_text(papers.order_paper(_as_asked(request, pk), room, request.user), room)
    return HttpResponse(text, content_type="text/plain; charset=utf-8")

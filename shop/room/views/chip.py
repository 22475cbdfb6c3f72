"""Pages of chip: the trap, what is to be wetted and stored, the cans, and who took them."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from shop import clock, paging
from shop.people.requests import PersonRequest
from shop.press.pages import may, press_page, writes
from shop.room import actions
from shop.room.forms import (
    ChangeChipCanForm,
    HandOverChipForm,
    StartChipCanForm,
    StoreChipForm,
    TakeBackCanForm,
    TakeBackChipForm,
)
from shop.room.models import ChipCan, ChipStored
from shop.room.queries import chip as queries
from shop.room.tables import ChipStoredTable


@require_safe
def chip(request: PersonRequest) -> HttpResponse:
    """Chip in the trap, chip to be stored, the cans here, every entry, the cans that went."""
    trap = queries.trap()
    page = paging.leaf(queries.stored(), request.GET, size=25)
    gone, since = queries.cans_gone()[:10], clock.now() - queries.TAKEN_BACK_WITHIN
    context = {
        "trap": trap,
        "grams": queries.Grams(trap.meter.value) if trap else None,
        "duty": queries.emptying_duty(trap.meter) if trap else None,
        "waits": queries.to_store(),
        "cans": queries.can_states(),
        "gone": [(can, queries.Grams(getattr(can, "mg", 0) or 0), can.may_come_back(since)) for can in gone],
        "emptied": queries.emptyings().order_by("-at", "-id")[:5],
        "table": ChipStoredTable(page.rows, may_take_back=may(request.user, actions.take_back_chip)),
        "leaf": page,
        "today": clock.today(),
        "may": may(request.user, actions.store_chip),
    }
    return render(request, "room/chip.html", context)


@writes(actions.start_chip_can)
def start_chip_can(request: PersonRequest) -> HttpResponse:
    form = StartChipCanForm(request.POST or None, person=request.user)
    return press_page(request, form, actions.start_chip_can, said=lambda can: f"{can.named} is in use.", to="room:chip")


@writes(actions.change_chip_can)
def change_chip_can(request: PersonRequest, pk: int) -> HttpResponse:
    can = get_object_or_404(ChipCan, pk=pk)
    form = ChangeChipCanForm(request.POST or None, person=request.user, can=can)
    return press_page(request, form, actions.change_chip_can, said=f"{can.named} is saved.", to="room:chip", can=can)


@writes(actions.store_chip)
def store_chip(request: PersonRequest) -> HttpResponse:
    waits, cans = queries.to_store(), list(queries.cans_here()[:2])
    form = StoreChipForm(
        request.POST or None,
        person=request.user,
        grams=round(waits.holds.g, 1) or None,
        only=cans[0] if len(cans) == 1 else None,
    )
    return press_page(
        request,
        form,
        actions.store_chip,
        said=lambda done: f"{done.mg / 1000:.1f} g of chip stored in {done.can.mark}, wetted.",
        to="room:chip",
        more={"waits": waits, "has_can": bool(cans)},
    )


@writes(actions.take_back_chip)
def take_back_chip(request: PersonRequest, pk: int) -> HttpResponse:
    stored = get_object_or_404(ChipStored.objects.select_related("can", "by"), pk=pk)
    form = TakeBackChipForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.take_back_chip,
        said="The entry is taken back. It stays in the list, struck out.",
        to="room:chip",
        stored=stored,
    )


@writes(actions.hand_over_chip)
def hand_over_chip(request: PersonRequest, pk: int) -> HttpResponse:
    can = get_object_or_404(ChipCan, pk=pk)
    form = HandOverChipForm(request.POST or None, person=request.user)
    return press_page(
        request, form, actions.hand_over_chip, said=f"{can.named} was handed over.", to="room:chip", can=can
    )


@writes(actions.take_back_can)
def take_back_can(request: PersonRequest, pk: int) -> HttpResponse:
    can = get_object_or_404(ChipCan.objects.select_related("handed_by"), pk=pk)
    form = TakeBackCanForm(request.POST or None, person=request.user)
    return press_page(
        request, form, actions.take_back_can, said=f"{can.named} is in use again.", to="room:chip", can=can
    )

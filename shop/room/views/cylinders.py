"""Pages of the gas cylinders."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from shop import clock, paging
from shop.people.models import Units
from shop.people.requests import PersonRequest
from shop.press.pages import may, press_page, writes
from shop.room import actions, queries
from shop.room.contents import REFERENCE, gauge_marks
from shop.room.forms import AddCylinderForm, ConnectCylinderForm, EmptyCylinderForm, ReturnCylinderForm
from shop.room.models import Cylinder
from shop.room.pictures import gauge_picture
from shop.room.since import sides_since
from shop.room.tables import GaugeTable, ReturnedTable
from shop.room.wording import by_gauge, left_words, said
from shop.wording import per_cent


@require_safe
def cylinders(request: PersonRequest) -> HttpResponse:
    """The connected one and what is left in it, the full spares, the empties, those that went back."""
    rack = queries.cylinder_rack()
    gas = queries.gas_state(clock.now(), rack=rack)
    page = paging.leaf(queries.returned_cylinders(), request.GET, by=("id",), size=25)
    context = {
        "rack": rack,
        "gas": gas,
        "gas_words": left_words(gas.share, gas.use) if gas else "",
        "gas_by": by_gauge(gas.read_at, gas.sides_since) if gas and gas.read_at else "",
        "reference": REFERENCE,
        "table": ReturnedTable(page.rows),
        "leaf": page,
        "may_add": may(request.user, actions.add_cylinder),
        "may_set": may(request.user, actions.change_gas_use),
    }
    return render(request, "room/cylinders.html", context)


@require_safe
def cylinder(request: PersonRequest, pk: int) -> HttpResponse:
    """One cylinder: its round, its gauge over time, what that leaves in it."""
    one = get_object_or_404(Cylinder, pk=pk)
    use = queries.gas_use()
    gauges = queries.gauge_course(one)
    feeds = one.state == "connected"
    since = sides_since(queries.last_gauge(one)) if feeds else 0
    last = queries.last_known(one, gauges[-1] if gauges else None, use, sides_since=since)
    page = paging.leaf(queries.gauges_of(one), request.GET, size=25)
    context = {
        "cylinder": one,
        "last": last,
        "last_share": per_cent(last.holds.share),
        "last_by": by_gauge(last.read_at, last.sides_since) if last.read_at else "",
        "last_words": left_words(last.holds.share, use),
        "use": use,
        "reference": REFERENCE,
        "spares": [spare for spare in queries.cylinder_rack().spares if spare.pk != one.pk],
        "marks": gauge_marks(one, last.celsius),
        "picture": gauge_picture(one, gauges, use, request.user) if gauges else "",
        "words": _course_words(gauges, request.user),
        "table": GaugeTable(
            page.rows, reader=request.user, beside=queries.celsius_beside(page.rows), cylinder=one, use=use
        ),
        "leaf": page,
        "may": may(request.user, actions.connect_cylinder),
    }
    return render(request, "room/cylinder.html", context)


def _course_words(gauges: list[queries.Point], reader: Units) -> str:
    """What the chart of a gauge shows, in words; "" for fewer than two readings."""
    if len(gauges) < 2:
        return ""
    days = (gauges[-1].at - gauges[0].at).days
    change = said("pressure", abs(gauges[-1].value - gauges[0].value), reader)
    way = "fell" if gauges[-1].value <= gauges[0].value else "rose"
    return f"{len(gauges)} readings over {days} day{'' if days == 1 else 's'}: the gauge {way} by {change}."


@writes(actions.add_cylinder)
def add_cylinder(request: PersonRequest) -> HttpResponse:
    form = AddCylinderForm(request.POST or None, person=request.user)
    return press_page(request, form, actions.add_cylinder, said=lambda added: f"Cylinder {added.mark} is here, full.")


@writes(actions.connect_cylinder)
def connect_cylinder(request: PersonRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(Cylinder, pk=pk)
    form = ConnectCylinderForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.connect_cylinder,
        said=f"Cylinder {one.mark} is connected. Read its gauge now.",
        to=one,
        more={"connected": queries.connected_cylinder()},
        cylinder=one,
    )


@writes(actions.empty_cylinder)
def empty_cylinder(request: PersonRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(Cylinder, pk=pk)
    form = EmptyCylinderForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.empty_cylinder,
        said=f"Cylinder {one.mark} is marked empty. Connect a full one next.",
        to="room:cylinders",
        cylinder=one,
    )


@writes(actions.return_cylinder)
def return_cylinder(request: PersonRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(Cylinder, pk=pk)
    form = ReturnCylinderForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.return_cylinder,
        said=f"Cylinder {one.mark} went back.",
        to="room:cylinders",
        cylinder=one,
    )

"""Pages of the gas cylinders."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from shop import clock, paging
from shop.people.models import Units
from shop.people.requests import PersonRequest
from shop.press.pages import may, press_page, writes
from shop.recall import looking
from shop.room import actions, queries
from shop.room.contents import gauge_marks
from shop.room.forms import (
    AddCylinderForm,
    BeginStandingTestForm,
    ChangeCylinderForm,
    ConnectCylinderForm,
    DropStandingTestForm,
    EmptyCylinderForm,
    EndStandingTestForm,
    ExplainLossForm,
    ReturnCylinderForm,
)
from shop.room.models import Cylinder, StandingTest
from shop.room.pictures import gauge_picture
from shop.room.since import sides_since
from shop.room.tables import GaugeTable, ReturnedTable
from shop.room.wording import by_gauge, left_words, said, volume_words
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
        "outlook": queries.gas_outlook(gas, rack) if gas and gas.read_at else None,
        "use": gas.use if gas else queries.gas_use(),
        "today": clock.today(),
        "gas_volume": volume_words(gas.volume_m3, request.user) if gas else "",
        "table": ReturnedTable(page.rows),
        "leaf": page,
        "may_add": may(request.user, actions.add_cylinder),
        "may_set": may(request.user, actions.change_gas_use),
    }
    return render(request, "room/cylinders.html", context)


@require_safe
def cylinder(request: PersonRequest, pk: int) -> HttpResponse:
    """One cylinder: its round, its gauge over time, what that leaves in it."""
    people = ("delivered_by", "connected_by", "empty_by", "returned_by")
    one = get_object_or_404(Cylinder.objects.select_related(*people), pk=pk)
    with looking():  # the figures come along with the rack
        use, rack = queries.gas_use(), queries.cylinder_rack()
    gauges = queries.gauge_course(one)
    feeds = one.state == "connected"
    gauge = queries.last_gauge(one)
    last = queries.last_known(one, gauge, use, sides_since=sides_since(gauge) if feeds else 0)
    page = paging.leaf(queries.gauges_of(one), request.GET, size=25)
    context = {
        "cylinder": one,
        "last": last,
        "last_share": per_cent(last.holds.share),
        "last_by": by_gauge(last.read_at, last.sides_since) if last.read_at else "",
        "last_words": left_words(last.holds.share, use),
        "use": use,
        "last_volume": volume_words(last.holds.volume_m3, request.user),
        "spares": [spare for spare in rack.spares if spare.pk != one.pk],
        "marks": gauge_marks(one, last.celsius),
        "picture": gauge_picture(one, gauges, use, request.user) if gauges else "",
        "words": _course_words(gauges, request.user),
        "table": GaugeTable(
            page.rows, reader=request.user, beside=queries.celsius_beside(page.rows), cylinder=one, use=use
        ),
        "leaf": page,
        "tests": (tests := queries.standing_results(one)),
        "lost": queries.losses_of(one),
        "may_explain": may(request.user, actions.explain_loss),
        "running": next((each.test for each in tests if each.test.is_running), None),
        "is_due": one.requalify_by is not None and one.requalify_by <= clock.today(),
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


@writes(actions.change_cylinder)
def change_cylinder(request: PersonRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(Cylinder, pk=pk)
    form = ChangeCylinderForm(request.POST or None, person=request.user, cylinder=one)
    return press_page(
        request, form, actions.change_cylinder, said=f"What is known of cylinder {one.mark} is saved.", cylinder=one
    )


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


@writes(actions.explain_loss)
def explain_loss(request: PersonRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(Cylinder, pk=pk)
    lost = queries.losses_of(one)
    until = lost.open[-1].last.at if lost.open else None
    form = ExplainLossForm(request.POST or None, person=request.user, until=until)
    return press_page(
        request,
        form,
        actions.explain_loss,
        said="It is written down.",
        to=one,
        more={"lost": lost},
        cylinder=one,
    )


# Standing tests -------------------------------------------------------------------------------------------------------


@writes(actions.begin_standing_test)
def begin_standing_test(request: PersonRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(Cylinder, pk=pk)
    form = BeginStandingTestForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.begin_standing_test,
        said="The test is running. Draw no nitrogen until its gauge is read again.",
        to=one,
        cylinder=one,
    )


def _test(pk: int) -> StandingTest:
    return get_object_or_404(StandingTest.objects.select_related("cylinder", "first"), pk=pk)


@writes(actions.end_standing_test)
def end_standing_test(request: PersonRequest, pk: int) -> HttpResponse:
    test = _test(pk)
    form = EndStandingTestForm(request.POST or None, person=request.user)

    def found(done: StandingTest) -> str:
        ends = queries.ends_of(done)
        assert ends is not None
        return queries.tightness(done.cylinder, ends).words

    return press_page(request, form, actions.end_standing_test, said=found, to=test.cylinder, test=test)


@writes(actions.drop_standing_test)
def drop_standing_test(request: PersonRequest, pk: int) -> HttpResponse:
    test = _test(pk)
    form = DropStandingTestForm(request.POST or None, person=request.user)
    return press_page(
        request, form, actions.drop_standing_test, said="The test is dropped.", to=test.cylinder, test=test
    )

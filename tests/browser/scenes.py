"""Which record each page is opened on. An address without a scene fails tests/browser/test_pages.py.

The functions run while the rooms are built (seed.py), with the models at hand; the tests get the paths.
"""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any
from uuid import uuid4

from django.db.models import Model, QuerySet
from django.urls import reverse

from shop import clock
from shop.duties import actions as duties
from shop.duties.models import Duty, Entry, EntryKind, Meter, Photo
from shop.morning import actions as morning
from shop.morning.answers import Given
from shop.morning.models import AnswerKind, Check, Question
from shop.people.models import Invitation, Person, SharedDevice, SignIn
from shop.press.models import Line
from shop.room import actions as room
from shop.room.models import Cylinder, Reading, ReadingKind
from shop.safety import actions as safety
from shop.safety import queries as safety_queries
from shop.safety.actions import FollowUp
from shop.safety.models import Binder, Incident, Place, SheetVersion, Substance, SupplierSheet
from shop.stock import actions as stock
from shop.stock.ledger import owners
from shop.stock.models import (
    Count,
    Defect,
    Intake,
    Item,
    Lot,
    Movement,
    MovementKind,
    Order,
    OrderLine,
    OrderState,
    SheetKind,
    Supplier,
)
from shop.watch import actions as watch
from shop.watch.models import Alert
from shop.watch.sweep import sweep
from shop.watch.words import leaving_token
from tests.browser.cutting_scenes import CUTTING_SCENES, with_cutting
from tests.browser.lathe_scenes import LATHE_SCENES, under_way
from tests.browser.log_and_container_scenes import LOG_AND_CONTAINER_SCENES, with_log_and_containers
from tests.browser.room_scenes import ROOM_SCENES
from tests.browser.training_scenes import TRAINING_SCENES, with_training
from tests.duties import makers as care
from tests.house.world import FEED_SECRET, INVITATION_SECRET
from tests.makers import anyway
from tests.people import makers as doors
from tests.safety import hazard_sheets
from tests.safety import place_makers as places
from tests.safety.reports import note, report
from tests.safety.sheets import add_sheet, make_substance
from tests.stock.sheets.makers import as_csv, send

#: Addresses that show no page to walk, and what they do instead; test_pages.py sees that it is so.
NO_PAGE = {
    "people:sign-out": "takes presses only",
    "people:lock": "takes presses only",
    "people:end-sign-in": "takes presses only",
    "people:end-other-sign-ins": "takes presses only",
    "people:second-step": "leads on",
    "people:switch-person": "leads on",
    "people:still-here": "is a file",
    "morning:move-question": "takes presses only",
    "morning:put-away-first-things": "takes presses only",
    "morning:switch-question": "takes presses only",
    "morning:correct-latest-check": "leads on",
    "morning:check-pdf": "is a file",
    "duties:due-pdf": "is a file",
    "training:acts-pdf": "is a file",
    "training:programme-pdf": "is a file",
    "training:my-training-record-pdf": "is a file",
    "training:training-record-pdf": "is a file",
    "training:see-changes": "takes presses only",
    "training:read-again": "takes presses only",
    "duties:duty-card": "is a file",
    "duties:photo": "is a file",
    "cutting:tip-photo": "is a file",
    "safety:wall-card": "is a file",
    "safety:sheet-pdf": "is a file",
    "safety:binder-pdf": "leads on",
    "safety:labels-pdf": "leads on",
    "safety:supplier-sheet-file": "is a file",
    "safety:incident-pdf": "is a file",
    "cutting:trace-pdf": "is a file",
    "cutting:cut-sheet-pdf": "is a file",
    "safety:what-if-pdf": "leads on",
    "stock:count-pdf": "is a file",
    "stock:order-pdf": "is a file",
    "stock:order-text": "is a file",
    "log:read-note": "takes presses only",
    "watch:calendar-feed": "is a file",
    "watch:health-json": "is a file",
    "api:send-readings": "takes presses only",
    "api:this-instrument": "asks for an instrument's token",
    "api:description": "is a file",
    "carrying:export-list": "is a file",
    "stock:sheet-template": "is a file",
    "stock:answer-sheet": "takes presses only",
    "stock:take-in-sheet": "takes presses only",
    "stock:drop-sheet": "takes presses only",
    "stock:withdraw-past-use": "takes presses only",
    "stock:lot-labels-pdf": "leads on",
    "stock:shelf-labels-pdf": "leads on",
    "safety:confirm-sheet-read": "takes presses only",
    "safety:hurry-worker": "is a file",
}


def _last(rows: QuerySet[Any]) -> int:
    found = rows.order_by("-pk").first()
    assert found is not None, f"the short story holds no such {rows.model._meta.verbose_name}"
    return int(found.pk)


def _any(model: type[Model]) -> Callable[[], int]:
    return lambda: _last(model._default_manager.all())


def _blanks() -> QuerySet[Lot]:
    return Lot.objects.filter(item__blank_in__isnull=False, on_hand__gt=0)


def _used_by_hand() -> int:
    """A movement that belongs to no other record, and that is not reversed yet."""
    used = list(
        Movement.objects.filter(kind=MovementKind.USED, reversed_by=None).order_by("-pk").values_list("pk", flat=True)
    )
    owned = owners(used)
    return next(pk for pk in used if pk not in owned)


def _full_cylinder() -> int:
    return _last(Cylinder.objects.filter(connected_at=None, returned_on=None))


def _connected_cylinder() -> int:
    return _last(Cylinder.objects.filter(connected_at__isnull=False, empty_at=None, returned_on=None))


def _item() -> int:
    return _last(Item.objects.filter(blank_in=14))


def _count(state: str) -> Callable[[], int]:
    return lambda: _last(Count.objects.filter(state=state))


def _lot() -> int:
    return _last(_blanks().filter(held_at=None))


def _draft() -> int:
    return _last(Order.objects.filter(state=OrderState.DRAFT))


def _sent() -> int:
    return _last(Order.objects.filter(state=OrderState.SENT, expected_on__lt=clock.today()))


def _duty(name: str) -> Callable[[], int]:
    return lambda: _last(Duty.objects.filter(name=name))


def _sheeted() -> str:
    """A substance that has a supplier's sheet."""
    return SupplierSheet.objects.latest("pk").substance.slug


def _sheet_in_force() -> int:
    return _last(SheetVersion.objects.filter(sheet__slug="hot-lamp"))


def _place(name: str) -> Callable[[], int]:
    return lambda: _last(Place.objects.filter(name=name))


def _asked_binder() -> int:
    """A binder that was asked for and is not made: it leads on to the page of binders."""
    return Binder.objects.get_or_create(
        paper="Letter",
        opens="http://asked.example",
        defaults={"asked_at": clock.now(), "by": Person.objects.get(sign_in="ottilie"), "why": "Not made."},
    )[0].pk


#: What the address is given, by its name (several things as a tuple); an address that takes nothing needs no line.
SCENES: dict[str, Callable[[], Any]] = {
    "watch:alert": _any(Alert),
    "watch:take-alert": _any(Alert),
    "watch:give-back-alert": _any(Alert),
    "watch:snooze-alert": _any(Alert),
    "watch:settle-alert": _any(Alert),
    **TRAINING_SCENES,
    **CUTTING_SCENES,
    **LOG_AND_CONTAINER_SCENES,
    "record:line": lambda: Line.objects.latest("number").number,
    "watch:leave": lambda: leaving_token(Person.objects.get(sign_in="ottilie"), "morning"),
    "watch:calendar-feed": lambda: FEED_SECRET,
    "morning:check": _any(Check),
    "morning:check-paper": _any(Check),
    "morning:check-pdf": _any(Check),
    "morning:correct-check": _any(Check),
    "morning:overrule-check": _any(Check),
    "morning:change-question": _any(Question),
    "morning:move-question": _any(Question),
    "morning:switch-question": _any(Question),
    "people:change-person": lambda: _last(Person.objects.filter(sign_in="juno")),
    "people:take-off-second-factor": lambda: _last(Person.objects.filter(sign_in="caspar")),
    "people:settle-same": lambda: _last(Person.objects.filter(sign_in="juno")),
    "people:end-sign-in": _any(SignIn),
    "people:withdraw-invitation": _any(Invitation),
    "people:invitation": lambda: INVITATION_SECRET,
    "people:end-device": _any(SharedDevice),
    "people:set-password": lambda: _last(Person.objects.filter(sign_in="juno")),
    "stock:item": _item,
    "stock:change-item": _item,
    "stock:plan-item": _item,
    "stock:item-outlook": _item,
    "stock:receive-delivery": _item,
    "stock:lot": _lot,
    "stock:use-stock": _lot,
    "stock:test-stock": _lot,
    "stock:spoil-stock": _lot,
    "stock:return-stock": _lot,
    "stock:count-lot": _lot,
    "stock:count": _count("given"),
    "stock:enter-count": _count("open"),
    "stock:add-to-count": _count("open"),
    "stock:give-in-count": _count("open"),
    "stock:count-pdf": _count("open"),
    "stock:explain-count": _count("given"),
    "stock:agree-count": _count("given"),
    "stock:drop-count": _count("open"),
    "stock:hold-lot": _lot,
    "stock:correct-lot": _lot,
    "stock:release-lot": lambda: _last(_blanks().filter(held_at__isnull=False)),
    "stock:reverse-movement": _used_by_hand,
    "stock:inspect-lot": _lot,
    "stock:supplier": _any(Supplier),
    "stock:change-supplier": _any(Supplier),
    "stock:draft-order": lambda: f"?supplier={_last(Supplier.objects.filter(item__blank_in=14))}",
    "stock:order": _sent,
    "stock:change-order": _draft,
    "stock:send-order": _draft,
    "stock:drop-order": _draft,
    "stock:order-pdf": _draft,
    "stock:order-text": _draft,
    "stock:promise-anew": _sent,
    "stock:close-order-short": _sent,
    "stock:receive-on-order": lambda: _last(OrderLine.objects.filter(order=_sent())),
    "stock:change-defect": _any(Defect),
    "duties:duty": _duty("Clear the platter's ports"),
    "duties:duty-card": _duty("Empty the chip trap"),
    "duties:do-duty": _duty("Change the chip trap filter"),
    "duties:put-off-duty": _duty("Clear the platter's ports"),
    "duties:not-needed": _duty("Clear the platter's ports"),
    "duties:change-duty": _duty("Change the chip trap filter"),
    "duties:stop-duty": _duty("Look at the pump oil"),
    "duties:resume-duty": _duty("Run the eyewash"),
    "duties:entry": lambda: Photo.objects.get().entry_id,
    "duties:correct-entry": lambda: Photo.objects.get().entry_id,
    "duties:strike-entry": lambda: _last(Entry.objects.filter(kind=EntryKind.DONE, corrected_by=None)),
    "duties:photo": lambda: Photo.objects.get().name,
    "duties:meter": lambda: _last(Meter.objects.filter(key="chip")),
    "duties:reset-meter": lambda: _last(Meter.objects.filter(key="chip")),
    "duties:change-meter": lambda: _last(Meter.objects.filter(key="chip")),
    "stock:lot-labels": lambda: "?which=",
    "carrying:export-list": lambda: ("lots", "csv"),
    "stock:sheet-template": lambda: ("lots", "csv"),
    "stock:send-sheet": lambda: "lots",
    **dict.fromkeys(
        ["stock:intake", "stock:answer-sheet", "stock:take-in-sheet", "stock:drop-sheet", "stock:withdraw-past-use"],
        _any(Intake),
    ),
    **LATHE_SCENES,
    **dict.fromkeys(["safety:incident", "safety:incident-pdf", "safety:note-incident"], _any(Incident)),
    "safety:supplier-sheets-of": _sheeted,
    "safety:add-supplier-sheet": _sheeted,
    "safety:supplier-sheet": _any(SupplierSheet),
    "safety:supplier-sheet-file": _any(SupplierSheet),
    "safety:withdraw-supplier-sheet": _any(SupplierSheet),
    **ROOM_SCENES,
    # Hazards: substances
    "safety:substance": lambda: "acetone",
    "safety:change-substance": lambda: "propan-2-ol",
    "safety:classify-substance": lambda: "acetone",
    "safety:change-statements": lambda: "talc",
    "safety:change-properties": lambda: "acetone",
    "safety:change-exposure-limits": lambda: "talc",
    "safety:stop-substance": lambda: "vacuum-pump-oil",
    "safety:resume-substance": lambda: "leadscrew-oil",
    # Hazards: the room's own sheets
    **{
        f"safety:{name}": lambda: "hot-lamp"
        for name in (
            "hazard-sheet",
            "hurry-sheet",
            "compare-versions",
            "write-sheet",
            "drop-draft",
            "approve-sheet",
            "stop-sheet",
        )
    },
    "safety:resume-sheet": lambda: "old-lamp",
    **dict.fromkeys(["safety:sheet-version", "safety:withdraw-version", "safety:confirm-sheet-read"], _sheet_in_force),
    # Hazards: papers and the wall
    "safety:sheet-pdf": lambda: "hot-lamp",
    "safety:binder-pdf": _asked_binder,
    # Hazards: places
    "safety:place": _place("Back shelf"),
    "safety:change-place": _place("Back shelf"),
    "safety:change-kept": _place("Back shelf"),
    "safety:stop-place": _place("Old cupboard"),
    "safety:resume-place": _place("Tin by the door"),
    "safety:answer-finding": lambda: next(
        one.key for one in safety_queries.layout().together if one.answer is None and one.other is not None
    ),
    "safety:what-if": lambda: f"?place={_place('Back room')()}",
}


def paths() -> dict[str, str]:
    found = {name: find() for name, find in SCENES.items()}
    return {name: _path(name, one) for name, one in found.items()}


def _path(name: str, one: Any) -> str:
    """The address of a scene: given one value, several, or a query."""
    if isinstance(one, str) and one.startswith("?"):
        return reverse(name) + one
    return reverse(name, args=one if isinstance(one, tuple) else [one])


# What the story does not leave behind ---------------------------------------------------------------------------------


def sign_a_check() -> None:
    """This morning's: readings as they were yesterday, but one is left out; everything in order, but for one box."""
    answers = []
    for question in Question.objects.filter(is_active=True):
        if question.kind != AnswerKind.READING:
            answers.append(Given(question, yes=True))
        elif question.reading == ReadingKind.HEATER_MA:
            answers.append(Given(question, note="the meter is away to be looked at"))
        else:
            before = Reading.objects.filter(kind=question.reading).order_by("-id")[0]
            answers.append(Given(question, value=before.value))
    answers[-1] = Given(answers[-1].question, yes=False, note="one box stood in the sun")
    anyway(morning.make_check, by=Person.objects.get(sign_in="juno"), answers=answers, note="Quiet start.")


def _counted(owner: Person) -> None:
    """A count that was agreed, one that is given in with a difference, and one just begun."""
    for agreed in (True, False):
        count = stock.start_count(by=owner, once=uuid4(), which="kind", kind="part" if agreed else "blank")
        found = [
            stock.Counted(line, max(0, line.lot.on_hand - (place == 0))) for place, line in enumerate(count.lines.all())
        ]
        stock.enter_count(by=owner, once=uuid4(), count=count, counted=found)
        stock.give_in_count(by=owner, once=uuid4(), count=count)
        if agreed:
            why = [stock.Explained(line, "never written down") for line in count.lines.all()]
            stock.explain_count(by=owner, once=uuid4(), count=count, reasons=why)
            stock.agree_count(by=owner, once=uuid4(), count=count, sure=["own-count"])
    stock.start_count(by=owner, once=uuid4(), which="kind", kind="liquid")


def _sheets(owner: Person) -> None:
    """A sheet in its second version with a draft of a third on it, and one that is no longer kept."""
    caspar = Person.objects.get(sign_in="caspar")
    first = hazard_sheets.make_in_force(caspar, owner)
    typed = hazard_sheets.written(
        never="Never look into it. [NFPA 40, annex A]\nNor touch it. [first-aid practice; from memory]"
    )
    hazard_sheets.approve(owner, hazard_sheets.write(caspar, first.sheet, typed, note="What the eyes must not do"))
    hazard_sheets.write(caspar, first.sheet, hazard_sheets.written(wear="Dark glasses. [common practice, no source]"))
    old = hazard_sheets.make_sheet(owner, "Old lamp", "old-lamp")
    safety.stop_sheet(by=owner, once=uuid4(), sheet=old)


def _places(owner: Person) -> None:
    """A room with a shelf on which much stands together, one answered for; places off the list, or ready to go."""
    room = places.make_place(owner, "Back room", volume_m3=48.0, air_changes_h=0.5)
    shelf = places.make_place(
        owner, "Back shelf", within=room, has_heat=True, limit_ml=2000, limit_by="landlord", limit_note="the lease"
    )
    places.keep(owner, room, nitrogen=50_000)
    places.keep(owner, shelf, "blanks", "descaler", acetone=2500)
    places.limit("acetone")
    answered = safety_queries.layout().together[0]
    until = clock.today() + timedelta(days=30)
    safety.answer_finding(by=owner, once=uuid4(), key=answered.key, because="In a tin with a lid.", until=until)
    places.make_place(owner, "Old cupboard", closed=True)
    tin = places.make_place(owner, "Tin by the door")
    safety.stop_place(by=owner, once=uuid4(), place=tin)


def arrange() -> None:
    """A lot on hold, a booking left with a side uncut, an empty cylinder not fetched yet, a spare one, styli; an
    order that is late, and a draft; care photographed, and read amiss; a supplier's sheet and an older one."""
    owner = Person.objects.get(sign_in="ottilie")
    _places(owner)
    doors.make_invitation(owner, secret=INVITATION_SECRET)
    doors.make_device(owner)
    doors.make_sign_in(owner)
    doors.make_second_factor(Person.objects.get(sign_in="caspar"))
    care.photographed(owner, Duty.objects.get(name="Look over the extinguishers"))
    ports = Duty.objects.get(name="Clear the platter's ports")
    anyway(duties.do_duty, by=owner, duty=ports, steps=care.done(ports, readings={"Hold-down suction": 21.0}))
    safety.stop_substance(by=owner, once=uuid4(), substance=Substance.objects.get(slug="leadscrew-oil"))
    blanks = Supplier.objects.filter(item__blank_in=14)[0]
    asked = [stock.WantedLine(item, 25) for item in Item.objects.filter(kind="blank")]
    late = anyway(stock.draft_order, by=owner, supplier=blanks, lines=asked)
    ago = clock.today() - timedelta(days=60)
    anyway(stock.send_order, by=owner, order=late, version=1, sent_on=ago, expected_on=ago + timedelta(days=35))
    anyway(stock.draft_order, by=owner, supplier=blanks, lines=asked[:1], note="By van, please.")
    rows = [f"{asked[0].item.name},SC-{n},{n},2025-0{n}-01" for n in range(1, 8)]
    send(owner, SheetKind.LOTS, as_csv("Item,Lot,On hand,Best before", *rows), "shelf.csv")
    _counted(owner)
    _sheets(owner)
    stock.hold_lot(by=owner, once=uuid4(), lot=_blanks().filter(item__blank_in=10)[0], why="Dull in one corner.")
    watch.renew_feed(by=owner, once=uuid4(), secret=FEED_SECRET)
    with_training(owner)
    with_log_and_containers(owner)
    sweep()
    with_cutting(owner)
    under_way(owner)
    connected, spare = (Cylinder.objects.get(pk=find()) for find in (_connected_cylinder, _full_cylinder))
    anyway(room.empty_cylinder, by=owner, cylinder=connected)
    room.connect_cylinder(by=owner, once=uuid4(), cylinder=spare)
    can = room.start_chip_can(by=owner, once=uuid4(), mark="Grey bin", limit_g=200)
    room.store_chip(by=owner, once=uuid4(), can=can, grams=12.5, wetted=True)
    anyway(room.take_readings, by=owner, values={ReadingKind.NITROGEN_BAR: 190.0})
    anyway(room.begin_standing_test, by=owner, cylinder=spare, gauge_bar=150.0, celsius=20.0)  # 2 kg went
    room.add_instrument(by=owner, once=uuid4(), secret="o" * 43, name="Old thermometer", kinds=["room_c"])
    room.add_cylinder(by=owner, once=uuid4(), mark="MG 9001", water_volume_l=50.0, service_bar=200.0, fill_bar=198.0)
    wash = make_substance("Parts wash")
    for revised in (date(2019, 5, 2), date(2024, 3, 15)):
        add_sheet(owner, wash, revised)
    report(owner, kind="spill", near_miss=True, what="A bottle stood on the edge.", substance=wash)
    told = report(owner, kind="burn", hurt="A finger, a blister", what="The tip was still hot.", done="Cold water")
    note(owner, told, follow_up=FollowUp("Hang a sign by the tip", clock.today() + timedelta(days=7)))

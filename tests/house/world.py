"""A small room with one record of everything, each in a state in which its page can be opened; and their addresses."""

from datetime import timedelta
from typing import Any
from uuid import uuid4

from django.urls import URLPattern, URLResolver, get_resolver, reverse

from shop import clock
from shop.cutting import actions as cutting
from shop.duties import actions as duties
from shop.duties.models import Meter
from shop.duties.rules import WantedStep
from shop.jobs import registry
from shop.log import things
from shop.morning.models import Question
from shop.people.models import Person
from shop.room import actions as room_actions
from shop.room.models import ExplainedLoss, LimitKind, LinePart, ReadingKind
from shop.safety import actions as safety
from shop.safety import queries as safety_queries
from shop.safety.models import Binder
from shop.stock import actions as stock
from shop.stock.models import Movement
from shop.watch import actions as watch
from shop.watch.models import Alert
from shop.watch.words import leaving_token
from tests.cutting import makers as cut
from tests.duties import makers as care
from tests.log import makers as notes
from tests.makers import anyway, make_person
from tests.morning import makers as morning
from tests.people import makers as doors
from tests.room import instruments
from tests.room import makers as room
from tests.safety import bottles, hazard_sheets
from tests.safety import place_makers as places
from tests.safety import substance_makers as substances
from tests.safety.reports import note, report
from tests.safety.sheets import add_sheet, make_substance
from tests.stock import makers as of_stock
from tests.stock.sheets import makers as sheets
from tests.training import makers as trust
from tests.training import programme_makers

#: Addresses of lines about a substance, which do not name it.
SUBSTANCE_LINES = ("change-statements", "change-properties", "change-exposure-limits")

#: Of an invitation that is good in this room.
INVITATION_SECRET = "another-secret-of-forty-three-characters-xx"
#: Of the owner's calendar feed in this room.
FEED_SECRET = "a-secret-of-forty-three-characters-for-tests"


def addresses() -> list[str]:
    """The names of all addresses, "app:name"."""

    def walk(resolver: URLResolver, space: str) -> list[str]:
        found = []
        for entry in resolver.url_patterns:
            if isinstance(entry, URLResolver):
                found += walk(entry, f"{entry.namespace}:" if entry.namespace else space)
            elif isinstance(entry, URLPattern):
                found.append(f"{space}{entry.name}")
        return found

    return walk(get_resolver(), "")


def build(owner: Person) -> dict[str, str]:
    """Make the records; give the path of every address by its name."""
    by: Any = {"by": owner}
    bench = cut.make_bench(owner)
    open_booking = cut.make_booking(owner)
    finished = anyway(cutting.finish_booking, **by, booking=cut.make_booking(owner))
    side = cut.cut(bench)
    spare = cut.make_stylus(owner, bench.kind, "R-2")
    retired = cut.make_stylus(owner, bench.kind, "R-3")
    cutting.retire_stylus(**by, once=uuid4(), stylus=retired, reason="chipped")
    away = cut.make_stylus(owner, bench.kind, "R-4")
    cutting.send_stylus_away(**by, once=uuid4(), stylus=away, sent_to="The Lapping Loft")
    tip = cut.photographed(owner, bench.stylus)
    level = cut.heard(owner, bench.stylus, -58.0)
    masters = [cut.cut(bench).master for _ in range(3)]
    judged, runs = cut.make_runs(bench)
    cutting.keep_masters_back(**by, once=uuid4(), masters=masters[:1], why="A reference for the shelf.")
    parcel = cutting.send_masters(
        **by, once=uuid4(), masters=masters[1:2], sent_to="Hollowmere Plating", sent_with="The red van"
    )
    held = stock.hold_lot(**by, once=uuid4(), lot=of_stock.make_lot(owner, bench.item), why="Looks dull.")
    loose = of_stock.make_lot(owner, bench.item)
    supplier, defect = of_stock.make_supplier(owner), of_stock.make_defect(owner)
    draft = of_stock.make_order(owner, (bench.item, 5), supplier=supplier)
    sent = of_stock.make_sent(owner, (bench.item, 5), supplier=of_stock.make_supplier(owner, "Faraway", lead_days=9))

    count = of_stock.make_count(owner)
    given = of_stock.make_given(owner, **{loose.code: 3})

    empty = room.connected_cylinder(owner, "N-1")
    anyway(room_actions.empty_cylinder, **by, cylinder=empty)
    connected, full = room.connected_cylinder(owner, "N-2"), room.add_cylinder(owner, "N-3")
    for back in range(7):
        room.take_anyway(owner, chip_kpa=14.5, at=clock.now() - timedelta(hours=7 - back))
    anyway(
        room_actions.take_baseline,
        **by,
        kind=ReadingKind.CHIP_KPA,
        since=clock.today() - timedelta(days=1),
        conditions="Pump warm, hose open.",
    )
    part = LinePart.objects.first() or LinePart.objects.create(kind="hose", name="Chip hose")
    can = room_actions.start_chip_can(**by, once=uuid4(), mark="C-1")
    stored = room_actions.store_chip(**by, once=uuid4(), can=can, grams=4.0, wetted=True)
    standing = room.begin_standing_test(owner, connected, 199.0)
    ExplainedLoss.objects.create(
        cylinder=connected, until=standing.first.at, gone_g=900, what="A hose blew off.", at=clock.now(), by=owner
    )
    reading = room.take(owner, room_c=21.0)
    morning.make_list(owner)
    check = morning.make_check(owner, **{morning.EXITS: "no"})

    duty = care.make_duty(owner, steps=(WantedStep("Look at it", wants_photo=True),))
    photo = care.photographed(owner, duty)
    stopped = care.make_duty(owner, "Run the eyewash")
    duties.stop_duty(**by, once=uuid4(), duty=stopped, why="There is none.")

    supplier_sheet = add_sheet(owner, make_substance())
    incident = report(owner, hurt="A finger")
    note(owner, incident)
    store = places.make_place(owner, "Blank store", volume_m3=30.0)
    places.keep(owner, store, "blanks", "descaler", acetone=1000, nitrogen=50_000)
    off_the_list = places.make_place(owner, "Old cupboard")
    safety.stop_place(**by, once=uuid4(), place=off_the_list)
    solvent, gone = substances.make_solvent(owner), substances.make_substance(owner, "Paraffin")
    safety.stop_substance(**by, once=uuid4(), substance=gone)

    alert = Alert.objects.create(
        key="room:gas:none", grade=2, subject="Gas", headline="No cylinder", link="/room/", opened_at=clock.now()
    )
    watch.renew_feed(**by, once=uuid4(), secret=FEED_SECRET)
    act = trust.make_act(owner)
    authority = trust.give(owner, act, owner)
    programme, asks = programme_makers.in_the_world(owner, act)
    learning = trust.build(owner)
    registry.run_due()  # the health page tells of the last sweep

    ready = sheets.send(owner, sheets.SUPPLIERS, b"Supplier\nQuill & Sons\n")
    asks = sheets.send(owner, sheets.SUPPLIERS, "Supplier\nGr\u00f6\u00dfe\n".encode("cp1252"))
    week = f"Item,Week,Used\n{bench.item.name},2020-03-02,4\n".encode()
    past = sheets.take_in(owner, sheets.send(owner, sheets.PAST_USE, week))

    other = make_person("second", "Sal Benning", "engineer")
    in_force = hazard_sheets.make_in_force(owner, other)
    hazard_sheets.read(other, in_force)
    drafted = hazard_sheets.write(owner, hazard_sheets.make_sheet(owner, "Cold lamp", "cold-lamp"))
    laid_by = hazard_sheets.make_sheet(owner, "Old lamp", "old-lamp")
    safety.stop_sheet(**by, once=uuid4(), sheet=laid_by)
    binder = Binder.objects.create(
        paper="A4", opens="http://testserver", asked_at=clock.now(), by=owner, why="Not made here."
    )

    noted = notes.write(owner, about=[things.ref_of(loose)])

    opened = bottles.open_one(owner, solvent, store)
    bottles.read_level(owner, opened, share=0.5)

    pk = {
        "container": opened.pk,
        "level": opened.pk,
        "note": noted.pk,
        "alert": alert.pk,
        "place": store.pk,
        "check": check.pk,
        "question": Question.objects.first().pk,  # type: ignore[union-attr]
        "person": make_person("other", "Osric Bellow", "assistant").pk,
        "item": bench.item.pk,
        "lot": loose.pk,
        "supplier": supplier.pk,
        "order": draft.pk,
        "defect": defect.pk,
        "count": count.pk,
        "duty": duty.pk,
        "entry": photo.entry_id,
        "photo": photo.name,
        "meter": Meter.objects.get(key="chip").pk,
        "side": side.pk,
        "booking": open_booking.pk,
        "stylus": spare.pk,
        "stylus-kind": bench.kind.pk,
        "reject-reason": bench.reason.pk,
        "lathe": bench.lathe.pk,
        "invitation": doors.make_invitation(owner, secret=INVITATION_SECRET).pk,
        "device": doors.make_device(owner).pk,
        "sign-in": doors.make_sign_in(owner).pk,
        "cylinder": full.pk,
        "instrument": instruments.add_instrument(owner).pk,
        "standing-test": standing.pk,
        "line-part": part.pk,
        "chip-can": can.pk,
        "supplier-sheet": supplier_sheet.pk,
        "incident": incident.pk,
        "substance": solvent.slug,
    }
    particular = {
        "safety:supplier-sheets-of": supplier_sheet.substance.slug,
        "safety:add-supplier-sheet": supplier_sheet.substance.slug,
        "safety:change-kept": store.pk,
        "safety:resume-place": off_the_list.pk,
        "safety:answer-finding": safety_queries.layout().together[0].key,
        **{f"safety:{name}": solvent.slug for name in SUBSTANCE_LINES},
        "safety:resume-substance": gone.slug,
        "safety:set-open-days": solvent.slug,
        "duties:not-needed": duty.pk,
        "duties:resume-duty": stopped.pk,
        "stock:release-lot": held.pk,
        "stock:count-lot": loose.pk,
        "stock:explain-count": given.pk,
        "stock:agree-count": given.pk,
        "stock:reverse-movement": Movement.objects.filter(lot=loose).get().pk,
        "cutting:cut-sheet-pdf": open_booking.wanted.first().pk,  # type: ignore[union-attr]
        **dict.fromkeys(["cutting:judge-side", "cutting:judge-as-logged"], judged.pk),
        **{f"cutting:{name}": runs.pk for name in ("running-side", "stop-side", "drop-side")},
        "cutting:change-head-step": cutting.add_head_step(**by, once=uuid4(), text="Blank wiped", place=10).pk,
        "cutting:reopen-booking": finished.pk,
        "cutting:take-off-stylus": bench.stylus.pk,
        **{f"cutting:{name}": bench.stylus.pk for name in ("add-tip-photo", "add-noise-level", "overrule-advice")},
        "cutting:change-stylus": spare.pk,
        "cutting:send-stylus-away": spare.pk,
        "cutting:take-stylus-back": away.pk,
        "cutting:tip-photo": tip.name,
        "cutting:strike-noise-level": level.pk,
        "cutting:send-after-all": masters[0].pk,
        **{f"cutting:{name}": parcel.pk for name in ("parcel", "note-arrival", "report-masters")},
        "cutting:reinstate-stylus": retired.pk,
        "room:empty-cylinder": connected.pk,
        "room:hand-over-chip": can.pk,
        "room:take-back-can": can.pk,
        "room:take-back-chip": stored.pk,
        "room:begin-standing-test": connected.pk,
        "room:explain-loss": connected.pk,
        "room:return-cylinder": empty.pk,
        "room:correct-reading": reading.pk,
        "room:take-in-file": instruments.add_instrument(owner, "Logger", secret="l" * 43).pk,
        "people:set-password": pk["person"],
        "people:take-off-second-factor": pk["person"],
        "people:settle-same": pk["person"],
        "stock:promise-anew": sent.pk,
        "stock:close-order-short": sent.pk,
        "stock:receive-on-order": sent.lines.get().pk,
        "stock:receive-delivery": pk["item"],
        "stock:intake": ready.pk,
        "stock:take-in-sheet": ready.pk,
        "stock:drop-sheet": ready.pk,
        "stock:answer-sheet": asks.pk,
        "stock:withdraw-past-use": past.pk,
        **{
            f"safety:{name}": in_force.sheet.slug
            for name in ("hazard-sheet", "hurry-sheet", "compare-versions", "sheet-pdf")
        },
        **{f"safety:{name}": drafted.slug for name in ("write-sheet", "drop-draft", "approve-sheet", "stop-sheet")},
        "safety:resume-sheet": laid_by.slug,
        "safety:binder-pdf": binder.pk,
        **{f"safety:{name}": in_force.pk for name in ("sheet-version", "withdraw-version", "confirm-sheet-read")},
        **{f"stock:{verb}-stock": pk["lot"] for verb in ("use", "test", "spoil", "return")},
    }

    listed = {
        "carrying:export-list": ["lots", "csv"],
        "log:write-about": [things.ref_of(loose)],
        "stock:sheet-template": ["lots", "xlsx"],
        "stock:send-sheet": ["lots"],
    }

    def path(name: str) -> str:
        if name == "watch:leave":
            return reverse(name, args=[leaving_token(owner, "morning")])
        if name == "people:invitation":
            return reverse(name, args=[INVITATION_SECRET])
        if name in ("people:sign-in", "people:invite-person", "people:set-personal-code", "people:add-person"):
            return reverse(name)
        if name == "watch:calendar-feed":
            return reverse(name, args=[FEED_SECRET])
        if name in ("training:programmes", "training:add-programme"):
            return reverse(name)
        if name.startswith("training:") and name.endswith(("programme", "programme-pdf", "add-step")):
            return reverse(name, args=[programme.pk])
        if name.startswith("training:") and name.endswith(("step", "change-questions")):
            return reverse(name, args=[asks.pk])
        if name == "training:withdraw-authority":
            return reverse(name, args=[authority.pk])
        if name in learning:
            return reverse(name, args=learning[name])
        if name.startswith("training:") and name not in ("training:acts", "training:acts-pdf", "training:add-act"):
            return reverse(name, args=[act.slug])
        if name == "record:line":
            return reverse(name, args=[1])
        if name in ("room:reading", "room:change-limit"):
            return reverse(name, args=[ReadingKind.ROOM_C if name == "room:reading" else next(iter(LimitKind))])
        if name == "room:take-baseline":
            return reverse(name, args=[ReadingKind.CHIP_KPA])
        if name in ("room:air", "room:line", "room:change-line-rules"):
            return reverse(name)
        if name in ("room:chip", "room:start-chip-can", "room:store-chip"):
            return reverse(name)
        if name in ("safety:containers", "safety:open-container"):
            return reverse(name)
        if name in ("room:instruments", "room:instruments-how", "room:add-instrument", "api:this-instrument"):
            return reverse(name)
        if name in ("stock:lots", "stock:lot-labels", "stock:lot-labels-pdf"):
            return reverse(name)
        if name in ("safety:substances", "safety:supplier-sheets"):
            return reverse(name)
        if name in listed:
            return reverse(name, args=listed[name])
        if name in particular:
            return reverse(name, args=[particular[name]])
        if name in ("cutting:send-masters", "cutting:keep-masters-back", "cutting:plating", "cutting:looking-back"):
            return reverse(name)
        if name in ("cutting:trace-of", "cutting:trace-pdf"):
            return reverse(name, args=["lot", pk["lot"]])
        for thing in sorted(pk, key=len, reverse=True):  # the address names what it is about
            if thing in name.partition(":")[2]:
                try:
                    return reverse(name, args=[pk[thing]])
                except Exception:
                    break
        return reverse(name)

    return {name: path(name) for name in addresses()}

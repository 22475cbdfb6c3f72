"""Files come in as a whole or not at all, once, by the rules of what is entered by hand."""

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.forms import model_to_dict

from shop import clock
from shop.press.models import Press
from shop.refusal import Changed, NotAllowed, Refused
from shop.stock import actions, queries
from shop.stock.models import Intake, IntakeState, Item, Lot, Movement, MovementKind, PastUse, Remark, Supplier, WeekUse
from shop.stock.sheets import files, work
from tests.stock.makers import day, make_item, make_liquid, make_lot, make_supplier, use
from tests.stock.sheets.makers import (
    ITEMS,
    LOTS,
    PAST_USE,
    SUPPLIERS,
    answer,
    as_csv,
    as_xlsx,
    faults,
    send,
    take_in,
    worked_off,
)

pytestmark = pytest.mark.django_db

HEAD = "Item,Supplier,Lot,On hand,Came in on,Made on,Best before,Cost of one,Note,Why on hold"


@pytest.fixture
def kept(engineer):
    """An item and a supplier that the files of these tests name."""
    return make_item(engineer, shelf_days=365), make_supplier(engineer)


# What comes in --------------------------------------------------------------------------------------------------------


def test_suppliers(engineer):
    content = as_csv(
        "Supplier,Promised lead time in days,About its lead time,Where orders go,Note,Ordered from",
        "Blankworks of Nowhere,42,Closed in August,orders@blankworks.example,,",
        '"Quill & Sons, the",,,,"Ring first",no',
    ).replace(b"Promised lead time in days", b"promised LEAD time (days)")
    intake = take_in(engineer, send(engineer, SUPPLIERS, content))
    assert (intake.state, intake.new, intake.kept) == (IntakeState.DONE, 2, 0)
    first, second = Supplier.objects.order_by("name")
    assert (first.name, first.lead_days, first.lead_note, first.contact) == (
        "Blankworks of Nowhere",
        42,
        "Closed in August",
        "orders@blankworks.example",
    )
    assert (second.name, second.note, second.is_active) == ("Quill & Sons, the", "Ring first", False)


def test_items(engineer):
    supplier = make_supplier(engineer)
    content = as_csv(
        "Item;Kind;Blank size;Unit;Minimum;Shelf days;Supplier;Pack size;Service level;Expected use a week;Place;Kept",
        "14-inch blank;blank;14;;40;365;blankworks of nowhere;20;97,5;6,5;Cupboard 2;yes",
        "Wiping solvent;Liquid;;ml;500;;;;;;;no",
    )
    intake = take_in(engineer, send(engineer, ITEMS, content))
    assert intake.state == IntakeState.DONE
    blank, liquid = Item.objects.order_by("name")
    assert (blank.kind, blank.blank_in, blank.unit, blank.minimum, blank.shelf_days) == ("blank", 14, "each", 40, 365)
    assert (blank.supplier, blank.pack_size, blank.service_level, blank.expected_weekly) == (supplier, 20, 0.975, 6.5)
    assert (blank.place, blank.warn_days, blank.cover_weeks, blank.is_active) == ("Cupboard 2", 30, 8, True)
    assert (liquid.unit, liquid.minimum, liquid.is_active) == ("ml", 500, False)


def test_a_lot_from_a_file_is_as_one_received_by_hand(engineer, kept, at):
    item, supplier = kept
    with at("2025-03-03 10:00"):
        by_hand = make_lot(
            engineer,
            item,
            38,
            code="HAND",
            supplier=supplier,
            received_on=day("2025-02-03"),
            made_on=day("2025-01-02"),
            unit_cost=Decimal("21.5"),
            note="first shelf",
        )
        row = "14-inch blank,Blankworks of Nowhere,FILE,38,2025-02-03,2025-01-02,,21.5,first shelf,"
        take_in(engineer, send(engineer, LOTS, as_csv(HEAD, row)))
    by_file = Lot.objects.get(code="FILE")
    apart = {"id", "code", "lot"}

    def facts(row):
        return {name: value for name, value in model_to_dict(row).items() if name not in apart}

    by_hand.refresh_from_db()
    assert facts(by_file) == facts(by_hand)
    ours, theirs = Movement.objects.get(lot=by_file), Movement.objects.get(lot=by_hand)
    differs = {name for name in facts(ours) if facts(ours)[name] != facts(theirs)[name]}
    assert differs == {"at", "note"}
    assert ours.at == ours.recorded_at  # what is left of it now: the ledger knows nothing of the days before
    assert ours.note == "Opening stock, from the file “list.csv”"
    assert queries.ledger_faults() == []


def test_a_lot_on_hold_comes_in_on_hold(engineer, kept):
    take_in(engineer, send(engineer, LOTS, as_csv(HEAD, "14-inch blank,,K1,5,,,,,,dull in one corner")))
    lot = Lot.objects.get()
    assert (lot.held_by, lot.held_why) == (engineer, "dull in one corner")
    assert Remark.objects.get().note == "dull in one corner"
    assert queries.first_lot(day=clock.today(), item=lot.item) is None


def test_amounts_are_in_the_item_s_unit_or_say_theirs(engineer):
    make_liquid(engineer)
    content = as_csv("Item,Lot,On hand,Unit", "Wiping solvent,A,2500,ml", "Wiping solvent,B,2.5 l,")
    take_in(engineer, send(engineer, LOTS, content))
    assert set(Lot.objects.values_list("code", "on_hand")) == {("A", 2500), ("B", 2500)}
    rows = ["Item,Lot,On hand,Unit", "Wiping solvent,C,2500,each", "Wiping solvent,D,5 kg,"]
    wrong = send(engineer, LOTS, as_csv(*rows))
    assert [(row, column) for row, column, _ in faults(wrong)] == [(2, "Unit"), (3, "On hand")]


def test_a_workbook_brings_its_numbers_and_days(engineer, kept):
    content = as_xlsx(
        ["Item", "Lot", "On hand", "Made on", "Best before", "Cost of one"],
        ["14-inch blank", 10117, 12.0, day("2025-01-02"), "2031-05-06", 21.5],
        [None, None, None, None, None, None],
        ["14-inch blank", "K-2", 3, None, None, None],
    )
    intake = send(engineer, LOTS, content, "stock.xlsx")
    assert intake.state == IntakeState.READY, intake.told
    take_in(engineer, intake)
    lot = Lot.objects.get(code="10117")
    assert (lot.on_hand, lot.made_on, lot.best_before, str(lot.unit_cost)) == (
        12,
        day("2025-01-02"),
        day("2031-05-06"),
        "21.5000000000",
    )
    assert Lot.objects.count() == 2


def test_past_use_by_week_and_by_day(engineer, at):
    item = make_item(engineer)
    with at("2025-06-02 10:00"):
        content = as_csv(
            "Item,Week of,Day,Used",
            "14-inch blank,2025-03-05,,7",
            "14-inch blank,2025-W11,,0",
            "14-inch blank,,2025-04-01,2",
            "14-inch blank,,2025-04-02,3",
        )
        intake = send(engineer, PAST_USE, content)
        assert intake.state == IntakeState.READY, intake.told
        take_in(engineer, intake)
    found = PastUse.objects.order_by("day").values_list("item", "day", "whole_week", "monday", "quantity")
    assert list(found) == [
        (item.pk, day("2025-03-03"), True, day("2025-03-03"), 7),
        (item.pk, day("2025-03-10"), True, day("2025-03-10"), 0),
        (item.pk, day("2025-04-01"), False, day("2025-03-31"), 2),
        (item.pk, day("2025-04-02"), False, day("2025-03-31"), 3),
    ]
    assert WeekUse.objects.count() == 0
    assert queries.ledger_faults() == []


def test_past_use_ends_before_the_ledger_tells(engineer, at):
    with at("2025-03-05 10:00"):  # a Wednesday
        item = make_item(engineer)
        use(engineer, make_lot(engineer, item, 10), 2)
    with at("2025-03-20 10:00"):
        content = as_csv(
            "Item,Week of,Day,Used",
            "14-inch blank,,2025-03-04,1",
            "14-inch blank,,2025-03-05,1",
            "14-inch blank,2025-02-24,,1",
            "14-inch blank,2025-03-03,,1",
            "14-inch blank,,2025-03-20,1",
            "14-inch blank,,1925-03-20,1",
        )
        found = faults(send(engineer, PAST_USE, content))
    began = "The ledger tells of use of it from 5 March 2025 on. Past use ends before that."
    assert [(row, column) for row, column, _ in found] == [(3, "Day"), (5, "Week of"), (6, "Day"), (7, "Day")]
    assert [why for *_, why in found[:2]] == [began, began]


def test_a_week_is_told_once(engineer, at):
    make_item(engineer)
    head = "Item,Week of,Day,Used"
    with at("2025-06-02 10:00"):
        both = send(engineer, PAST_USE, as_csv(head, "14-inch blank,2025-03-03,,7", "14-inch blank,,2025-03-05,1"))
        assert "both as a whole and by days" in faults(both)[0][2]
        take_in(engineer, send(engineer, PAST_USE, as_csv(head, "14-inch blank,2025-03-03,,7")))
        other = send(engineer, PAST_USE, as_csv(head, "14-inch blank,2025-03-04,,8"))
        assert faults(other) == [(2, "Used", "7 is kept for that already. Take the row out, or put it right.")]
        same = send(engineer, PAST_USE, as_csv(head, "14-inch blank,2025-03-04,,7", "14-inch blank,2025-03-10,,1"))
        assert (same.state, same.new, same.kept) == (IntakeState.READY, 1, 1)
        by_day = send(engineer, PAST_USE, as_csv(head, "14-inch blank,,2025-03-05,7"))
        assert by_day.state == IntakeState.FAULTY
    neither = send(engineer, PAST_USE, as_csv(head, "14-inch blank,,,7"))
    assert faults(neither)[0][1] == "Week of"


def test_past_use_can_be_taken_out_again(engineer, at):
    make_item(engineer)
    with at("2025-06-02 10:00"):
        intake = take_in(engineer, send(engineer, PAST_USE, as_csv("Item,Week,Used", "14-inch blank,2025-03-03,7")))
    actions.withdraw_past_use(by=engineer, once=uuid4(), intake=intake)
    assert PastUse.objects.count() == 0
    with pytest.raises(Refused, match="already"):
        actions.withdraw_past_use(by=engineer, once=uuid4(), intake=intake)


# All or nothing, and once ---------------------------------------------------------------------------------------------


def test_one_bad_row_and_nothing_comes_in(engineer, kept):
    content = as_csv(HEAD, "14-inch blank,,K1,5,,,,,,", "14-inch blank,,K2,-3,,,,,,")
    intake = send(engineer, LOTS, content)
    assert (intake.state, intake.fault_count) == (IntakeState.FAULTY, 1)
    assert faults(intake) == [(3, "On hand", "Give 0 or more.")]
    assert Lot.objects.count() == 0
    with pytest.raises(Changed):
        take_in(engineer, intake)


def test_the_same_file_twice_makes_no_doubles(engineer, kept):
    content = as_csv(HEAD, "14-inch blank,,K1,5,,,,,,", "14-inch blank,Blankworks of Nowhere,K1,6,,,,,,")
    first = take_in(engineer, send(engineer, LOTS, content))
    assert (first.new, Lot.objects.count()) == (2, 2)
    again = send(engineer, LOTS, content)
    assert (again.state, again.new, again.kept) == (IntakeState.READY, 0, 2)
    with pytest.raises(Refused, match="Nothing in that file is new"):
        take_in(engineer, again)
    more = send(engineer, LOTS, content + as_csv("14-inch blank,,k2,1,,,,,,"))
    take_in(engineer, more)
    assert Lot.objects.count() == 3
    again_named = [(SUPPLIERS, ["Supplier", "BLANKWORKS of nowhere"]), (ITEMS, ["Item,Kind", "14-INCH blank,part"])]
    for kind, rows in again_named:
        intake = send(engineer, kind, as_csv(*rows))
        assert (intake.new, intake.kept) == (0, 1)


def test_what_is_here_but_differs_is_listed_and_stays(engineer, kept):
    row = "14-inch blank,Blankworks of Nowhere,K1,7,2025-01-02,2024-12-01,2031-01-02,21.5,,"
    take_in(engineer, send(engineer, LOTS, as_csv(HEAD, row)))
    before = Lot.objects.values().get()
    changed = "14-inch blank,Blankworks of Nowhere,K1,9,2025-01-02,2024-12-02,2032-01-02,22,,"
    intake = send(engineer, LOTS, as_csv(HEAD, changed))
    assert (intake.state, intake.new, intake.kept) == (IntakeState.READY, 0, 1)
    assert [(doubt["row"], doubt["column"], doubt["why"]) for doubt in intake.told["doubts"]] == [
        (2, "On hand", "Differs: 9 in the file, 7 here. What is here stays."),
        (2, "Made on", "Differs: 2 December 2024 in the file, 1 December 2024 here. What is here stays."),
        (2, "Best before", "Differs: 2 January 2032 in the file, 2 January 2031 here. What is here stays."),
        (2, "Cost of one", "Differs: 22 in the file, 21.5 here. What is here stays."),
    ]
    assert Lot.objects.values().get() == before
    silent = "14-inch blank,Blankworks of Nowhere,K1,7,,,,,,"  # what is left empty says nothing
    assert send(engineer, LOTS, as_csv(HEAD, silent)).doubt_count == 0


def test_two_that_wait_at_once_make_no_doubles(engineer, kept):
    content = as_csv(HEAD, "14-inch blank,,K1,5,,,,,,")
    first, second = send(engineer, LOTS, content), send(engineer, LOTS, content)
    assert (first.new, second.new) == (1, 1)
    take_in(engineer, first)
    second = take_in(engineer, second)
    assert (second.state, second.new, second.kept) == (IntakeState.DONE, 0, 1)
    assert Lot.objects.count() == 1


def test_pressed_twice_comes_in_once(engineer, kept):
    intake = send(engineer, LOTS, as_csv(HEAD, "14-inch blank,,K1,5,,,,,,"))
    token = uuid4()
    for _ in range(2):
        actions.take_in_sheet(by=engineer, once=token, intake=intake)
        work.carry_on(intake.pk)
    assert Lot.objects.count() == Movement.objects.count() == 1
    assert Press.objects.filter(token=token).count() == 1


def test_what_was_entered_meanwhile_is_looked_at_anew(engineer, kept):
    make_item(engineer, "12-inch blank", blank_in=12)
    intake = send(engineer, LOTS, as_csv(HEAD, "14-inch blank,,K1,5,,,,,,", "12-inch blank,,K2,5,,,,,,"))
    Item.objects.filter(name="12-inch blank").update(is_active=False)
    intake = take_in(engineer, intake)
    assert intake.state == IntakeState.FAULTY
    assert "no longer kept" in faults(intake)[0][2]
    assert "looked at anew" in intake.told["notes"][-1]
    assert Lot.objects.count() == 0


def test_a_fault_of_ours_leaves_nothing_half_done(engineer, kept, monkeypatch, caplog):
    rows = [f"14-inch blank,,K{n},5,,,,,," for n in range(1200)]
    intake = send(engineer, LOTS, as_csv(HEAD, *rows))
    write, calls = work.LotChecker.write, []

    def breaks(self, batch):
        calls.append(batch)
        if len(calls) == 3:
            raise OSError("no space left on device")
        write(self, batch)

    monkeypatch.setattr(work.LotChecker, "write", breaks)
    intake = take_in(engineer, intake)
    assert len(calls) == 3
    assert intake.state == IntakeState.FAILED
    assert "Nothing was taken in" in intake.told["why"]
    assert Lot.objects.count() == Movement.objects.count() == 0
    assert "no space left" in caplog.text


def test_a_worker_that_was_cut_off_is_followed_by_another(engineer, kept):
    intake = send(engineer, LOTS, as_csv(HEAD, "14-inch blank,,K1,5,,,,,,"))
    actions.take_in_sheet(by=engineer, once=uuid4(), intake=intake)
    Intake.objects.update(working_since=clock.now())
    assert not work.carry_on(intake.pk)
    assert work.carry_on_all() == "0 worked off"
    Intake.objects.update(working_since=clock.now() - timedelta(minutes=6))
    assert work.carry_on_all() == "1 worked off"
    assert worked_off(intake).state == IntakeState.DONE


def test_a_file_that_is_gone_is_told(engineer, kept):
    intake = send(engineer, LOTS, as_csv(HEAD, "14-inch blank,,K1,5,,,,,,"))
    files.remove(intake.file)
    intake = take_in(engineer, intake)
    assert (intake.state, "no longer on this machine" in intake.told["why"]) == (IntakeState.FAILED, True)


# What is wrong with rows ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("row", "column", "why"),
    [
        ("14-inch blank,,K1,-4,,,,,,", "On hand", "Give 0 or more."),
        ("14-inch blank,,K1,,,,,,,", "On hand", "nothing in that cell"),
        ("14-inch blank,,K1,2.5,,,,,,", "On hand", "whole number"),
        ("14-inch blank,,K1,many,,,,,,", "On hand", "plain number"),
        ("14-inch blank,,K1,5 pcs,,,,,,", "On hand", "no unit"),
        ("14-inch blank,,K1,9999999,,,,,,", "On hand", "look at the number"),
        (",,K1,5,,,,,,", "Item", "nothing in that cell"),
        ("16-inch blank,,K1,5,,,,,,", "Item", "no item of that name"),
        ("14-inch blank,Nobody,K1,5,,,,,,", "Supplier", "no supplier of that name"),
        ("14-inch blank,,,5,,,,,,", "Lot", "nothing in that cell"),
        ("14-inch blank,,K1,5,2025-02-30,,,,,", "Came in on", "no such day"),
        ("14-inch blank,,K1,5,31.3.25,,,,,", "Came in on", "four digits"),
        ("14-inch blank,,K1,5,yesterday,,,,,", "Came in on", "not a day"),
        ("14-inch blank,,K1,5,2099-01-01,,,,,", "Came in on", "in the future"),
        ("14-inch blank,,K1,5,2025-01-01,2025-02-01,,,,", "Made on", "made on that day or before"),
        ("14-inch blank,,K1,5,2025-03-01,2025-02-01,2025-01-31,,,", "Best before", "before it was made"),
        ("14-inch blank,,K1,5,,,,-1,,", "Cost of one", "not below zero"),
        ("14-inch blank,,K1,5,,,,dear,,", "Cost of one", "plain number"),
        (f"14-inch blank,,{'K' * 61},5,,,,,,", "Lot", "Keep it to 60 characters"),
        ("14-inch blank,,K1,5,,,,,M\ufffdller,", "Note", "letter in it was lost"),
        ("14-inch blank,,#REF!,5,,,,,,", "Lot", "fault of the spreadsheet"),
    ],
)
def test_a_bad_cell_is_named_with_its_row_and_column(engineer, kept, row, column, why):
    intake = send(engineer, LOTS, as_csv(HEAD, "14-inch blank,,good,5,,,,,,", row))
    (fault,) = faults(intake)
    assert fault[:2] == (3, column)
    assert why in fault[2]
    assert Lot.objects.count() == 0


@pytest.mark.parametrize(
    ("kind", "rows", "column", "why"),
    [
        (ITEMS, ["Item,Kind,Blank size", "A,blank,"], "Blank size", "Choose the size"),
        (ITEMS, ["Item,Kind,Blank size", "A,blank,11"], "Blank size", "Write 14, 12 or 10."),
        (ITEMS, ["Item,Kind,Blank size", "A,part,14"], "Blank size", "Only a blank"),
        (ITEMS, ["Item,Kind", "A,gizmo"], "Kind", "Write one of"),
        (ITEMS, ["Item,Kind", "A,"], "Kind", "nothing in that cell"),
        (ITEMS, ["Item,Kind,Unit", "A,liquid,pints"], "Unit", "Write one of"),
        (ITEMS, ["Item,Kind,Unit,Blank size", "A,blank,ml,14"], "Unit", "counted by the piece"),
        (ITEMS, ["Item,Kind,Minimum", "A,part,-1"], "Minimum", "Give 0 or more."),
        (ITEMS, ["Item,Kind,Pack size", "A,part,0"], "Pack size", "above zero"),
        (ITEMS, ["Item,Kind,Service level", "A,part,20"], "Service level", "between 50"),
        (ITEMS, ["Item,Kind,Supplier", "A,part,Nobody"], "Supplier", "no supplier"),
        (ITEMS, ["Item,Kind,Kept", "A,part,perhaps"], "Kept", "yes or no"),
        (ITEMS, ["Item,Kind", "A,part", "a,part"], "Item", "Row 2 has the item's name in common with it"),
        (SUPPLIERS, ["Supplier,Note", "A,", " a ,"], "Supplier", "Row 2 has the supplier's name in common with it"),
        (SUPPLIERS, ["Supplier,Lead days", "A,9999"], "Lead days", "more than"),
    ],
)
def test_a_bad_row_of_each_kind(engineer, kind, rows, column, why):
    (fault,) = faults(send(engineer, kind, as_csv(*rows)))
    assert fault[:2] == (len(rows), column)
    assert why in fault[2]
    assert Item.objects.count() == Supplier.objects.count() == 0


def test_rows_that_say_the_same_twice_are_named(engineer, kept):
    rows = ["14-inch blank,,K1,5,,,,,,", "14-inch blank,,k1,6,,,,,,"]
    (fault,) = faults(send(engineer, LOTS, as_csv(HEAD, *rows)))
    assert fault[:2] == (3, "Lot")
    assert "Row 2" in fault[2]


def test_many_faults_are_counted_and_the_first_are_named(engineer, kept):
    intake = send(engineer, LOTS, as_csv(HEAD, *[f"14-inch blank,,K{n},-1,,,,,," for n in range(300)]))
    assert intake.fault_count == 300
    assert len(intake.told["faults"]) == 50
    assert intake.told["faults"][0]["value"] == "-1"


def test_what_looks_wrong_is_shown_before_it_comes_in(engineer, kept, at):
    with at("2025-06-02 10:00"):
        make_lot(engineer, make_item(engineer, "10-inch blank", blank_in=10), 1, code="K9", supplier=kept[1])
        rows = [
            "14-inch blank,,K1,5,2025-06-02,,2025-05-01,,,",
            "14-inch blank,,K2,5,2025-06-02,,2055-05-01,,,",
            "14-inch blank,Blankworks of Nowhere,K9,5,,,,,,",
        ]
        intake = send(engineer, LOTS, as_csv(HEAD, *rows))
        assert (intake.state, intake.doubt_count) == (IntakeState.READY, 3)
        said = [(doubt["row"], doubt["column"]) for doubt in intake.told["doubts"]]
        assert said == [(2, "Best before"), (3, "Best before"), (4, "Lot")]
        assert take_in(engineer, intake).state == IntakeState.DONE


# Who, and how large ---------------------------------------------------------------------------------------------------


def test_only_an_engineer_takes_files_in(assistant, visitor, engineer):
    for person in (assistant, visitor):
        with pytest.raises(NotAllowed):
            send(person, SUPPLIERS, as_csv("Supplier", "A"))
    intake = send(engineer, SUPPLIERS, as_csv("Supplier", "A"))
    for act in (actions.take_in_sheet, actions.drop_sheet):
        with pytest.raises(NotAllowed):
            act(by=assistant, once=uuid4(), intake=intake)


def test_files_do_not_outlive_their_use(engineer, kept, django_capture_on_commit_callbacks):
    def lying():
        return {file.name.partition(".")[0] for file in files.folder().iterdir()} if files.folder().is_dir() else set()

    before = lying()
    with django_capture_on_commit_callbacks(execute=True):
        send(engineer, LOTS, as_csv(HEAD, "14-inch blank,,K1,-5,,,,,,"))
    assert lying() == before
    intake = send(engineer, LOTS, as_csv(HEAD, "14-inch blank,,K1,5,,,,,,"))
    assert lying() == before | {intake.file}
    assert files.path(intake.file).stat().st_mode & 0o077 == 0
    with django_capture_on_commit_callbacks(execute=True):
        take_in(engineer, intake)
    assert lying() == before
    left = send(engineer, LOTS, as_csv(HEAD, "14-inch blank,,K2,5,,,,,,"))
    actions.drop_sheet(by=engineer, once=uuid4(), intake=left)
    assert lying() == before
    with pytest.raises(Changed):
        actions.drop_sheet(by=engineer, once=uuid4(), intake=left)
    with pytest.raises(Changed):
        answer(engineer, left, days="dmy")


def test_files_nobody_came_back_for_are_let_go_of(engineer, kept):
    intake = send(engineer, LOTS, as_csv(HEAD, "14-inch blank,,K1,5,,,,,,"))
    stray = files.path("0" * 32)
    stray.write_bytes(b"x")
    work.forget_old_files()
    intake.refresh_from_db()
    assert intake.state == IntakeState.READY
    with clock.moved(clock.now() + timedelta(days=8)):
        assert work.forget_old_files().startswith("1 left, ")
    intake.refresh_from_db()
    assert (intake.state, intake.file) == (IntakeState.DROPPED, "")
    assert not stray.exists()


def test_too_large_or_empty_is_refused_unread(engineer, monkeypatch):
    monkeypatch.setattr(files, "MOST_BYTES", 100)
    with pytest.raises(Refused, match="larger than"):
        send(engineer, SUPPLIERS, as_csv("Supplier", "A" * 200))
    with pytest.raises(Refused, match="empty"):
        send(engineer, SUPPLIERS, b"")
    assert Intake.objects.count() == 0


def test_too_many_rows_are_refused(engineer, monkeypatch):
    monkeypatch.setattr("shop.stock.sheets.reading.MOST_ROWS", 3)
    intake = send(engineer, SUPPLIERS, as_csv("Supplier", *"ABCD"))
    assert "more than 3 rows" in intake.told["why"]


def test_opening_stock_is_received(engineer, kept):
    take_in(engineer, send(engineer, LOTS, as_csv(HEAD, "14-inch blank,,K1,5,,,,,,")))
    assert Movement.objects.get().kind == MovementKind.RECEIVED
    use(engineer, Lot.objects.get(), 2)
    assert queries.ledger_faults() == []

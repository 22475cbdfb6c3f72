"""Files as they come: letters, separators, numbers and days in many hands; what can't be told is asked, not guessed."""

import io
import zipfile

import pytest

from shop.stock.models import IntakeState, Item, Lot, Movement, Supplier
from shop.stock.sheets import cells
from tests.stock.makers import day, make_item
from tests.stock.sheets.makers import ITEMS, LOTS, SUPPLIERS, answer, as_csv, as_xlsx, faults, send, take_in

pytestmark = pytest.mark.django_db

NAME = "Lackwerk Größenwähn & fils – “São Tomé”"


# Letters --------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"])
def test_unicode_is_found_out(engineer, encoding):
    content = as_csv("Supplier,Note", f"{NAME},x", encoding=encoding)
    intake = take_in(engineer, send(engineer, SUPPLIERS, content))
    assert Supplier.objects.get().name == NAME
    assert "SIG" not in intake.told["notes"][0]


def test_other_letters_are_asked_about_with_how_they_read(engineer):
    content = as_csv("Supplier;Note", f"{NAME};x", encoding="cp1252")
    intake = send(engineer, SUPPLIERS, content)
    assert intake.state == IntakeState.ASKS
    (question,) = intake.told["asks"]
    readings = dict(question["choices"])
    assert "Größenwähn" in readings["cp1252"]
    assert "Größenwähn" not in readings["mac_roman"]
    assert len(set(readings.values())) == len(readings)
    take_in(engineer, answer(engineer, intake, encoding="cp1252"))
    assert Supplier.objects.get().name == NAME


def test_an_answer_that_was_not_offered_is_refused(engineer):
    intake = send(engineer, SUPPLIERS, as_csv("Supplier", "Größe", encoding="cp1252"))
    with pytest.raises(Exception, match="Choose one"):
        answer(engineer, intake, encoding="utf-7")
    with pytest.raises(Exception, match="Choose one"):
        answer(engineer, intake)


@pytest.mark.parametrize(
    "content",
    [
        b"Supplier\r\nA\x00B\x07\x01\x02\r\n" * 50,
        b"\x89PNG\r\n\x1a\n" + b"\x00" * 50,
        "Supplier\r\nA\r\n".encode("utf-16")[:-1],
    ],
)
def test_what_is_no_text_is_refused(engineer, content):
    intake = send(engineer, SUPPLIERS, content)
    assert intake.state == IntakeState.FAULTY
    assert "send that" in intake.told["why"]


# Separators and rows --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
def test_separators_are_found_out(engineer, separator):
    rows = [["Supplier", "Note", "Lead days"], ['"A, B; C | D"', "x", "4"]]
    intake = send(engineer, SUPPLIERS, as_csv(*(separator.join(row) for row in rows)))
    take_in(engineer, intake)
    assert list(Supplier.objects.values_list("name", "note", "lead_days")) == [("A, B; C | D", "x", 4)]


def test_a_line_that_names_the_separator_is_heeded(engineer):
    intake = send(engineer, SUPPLIERS, as_csv("sep=;", "Supplier;Note", "A;x"))
    take_in(engineer, intake)
    assert Supplier.objects.get().note == "x"


def test_lines_may_end_in_any_way_and_values_may_hold_lines(engineer):
    intake = send(engineer, SUPPLIERS, b'Supplier,Note\nA,"one\ntwo"\n\n\nB,\n')
    take_in(engineer, intake)
    assert dict(Supplier.objects.values_list("name", "note")) == {"A": "one two", "B": ""}


def test_rows_are_counted_as_a_spreadsheet_counts(engineer):
    intake = send(engineer, SUPPLIERS, b"Supplier,Lead days\n\n\nA,x\n")
    assert faults(intake)[0][:2] == (4, "Lead days")


def test_a_quotation_mark_that_is_never_closed_is_named(engineer):
    intake = send(engineer, SUPPLIERS, as_csv("Supplier,Note", 'A,"x', "B,y"))
    assert "quotation mark" in intake.told["why"]
    huge = send(engineer, SUPPLIERS, b'Supplier,Note\nA,"' + b"x" * 200_000)
    assert "quotation mark" in huge.told["why"]


def test_a_row_longer_than_its_headings_is_named(engineer):
    intake = send(engineer, SUPPLIERS, as_csv("Supplier,Lead days", "Quill, Sons,4"))
    assert faults(intake)[0][0] == 2
    assert "beyond the last heading" in faults(intake)[0][2]


# Headings -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("rows", "why"),
    [
        (["", ""], "The file is empty"),
        (["Item,Lot,On hand"], "no row under them"),
        (["a,b", "c,d"], "does not hold the headings"),
        (["Our stock in March,,", "Item,Lot,On hand", "A,K1,4"], "The headings are in row 2"),
        (["Item,Lot,On hand,Lot code", "A,K1,4,K1"], "Two columns mean the same: “Lot”, “Lot code”"),
        (["Item,Lot", "A,K1"], "There is no column “On hand”"),
        (["Item,,On hand,Lot", "A,x,4,K1"], "no heading over column B"),
    ],
)
def test_headings_that_do_not_stand_right_are_refused(engineer, rows, why):
    intake = send(engineer, LOTS, as_csv(*rows))
    assert intake.state == IntakeState.FAULTY
    assert why in intake.told["why"]


def test_headings_of_no_use_are_told(engineer):
    intake = send(engineer, SUPPLIERS, as_csv("SUPPLIER name,Telephone", "A,123"))
    assert intake.told["notes"][1] == "Not taken in, for it is not known here: “Telephone”."
    assert intake.new == 1


# Workbooks ------------------------------------------------------------------------------------------------------------


def test_merged_cells_are_refused(engineer):
    rows = [["Item", "Lot", None, "On hand"], ["A", "K1", None, 4]]
    intake = send(engineer, LOTS, as_xlsx(*rows, merge="B1:C1"), "stock.xlsx")
    assert "Cells are merged in that sheet: B1:C1." in intake.told["why"]


def test_a_title_merged_above_the_headings_is_refused_and_nothing_is_half_done(engineer):
    rows = [["Our shelf", None, None], ["Item", "Lot", "On hand"], ["14-inch blank", "K1", 4]]
    intake = send(engineer, LOTS, as_xlsx(*rows, merge="A1:C1"), "stock.xlsx")
    assert intake.state == IntakeState.FAULTY
    assert "Cells are merged in that sheet: A1:C1." in intake.told["why"]
    assert (Lot.objects.count(), Movement.objects.count()) == (0, 0)


def test_the_sheet_that_is_read_is_named(engineer):
    import openpyxl

    book = openpyxl.Workbook()
    first = book.active
    first.title = "Ours"
    first.append(["Supplier"])
    first.append(["A"])
    book.create_sheet("Other").append(["nothing"])
    out = io.BytesIO()
    book.save(out)
    intake = send(engineer, SUPPLIERS, out.getvalue(), "x.xlsx")
    assert intake.told["notes"][0] == "Read as a workbook: the sheet “Ours”; its 1 other sheet not."


def test_a_formula_that_was_never_worked_out_is_refused(engineer):
    intake = send(engineer, SUPPLIERS, as_xlsx(["Supplier", "Lead days"], ["A", "=6*7"]), "x.xlsx")
    assert "never worked out: B2" in intake.told["why"]


def _with(content, **parts):
    """A workbook with parts added or put in the place of its own."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            if name not in parts:
                new.writestr(name, old.read(name))
        for name, value in parts.items():
            new.writestr(name, value)
    return out.getvalue()


def test_macros_are_refused(engineer):
    content = as_xlsx(["Supplier"], ["A"])
    named = send(engineer, SUPPLIERS, content, "x.xlsm")
    hidden = send(engineer, SUPPLIERS, _with(content, **{"xl/vbaProject.bin": b"x"}), "x.xlsx")
    assert "macros" in named.told["why"]
    assert "macros" in hidden.told["why"]


def test_an_archive_that_unpacks_to_far_too_much_is_not_opened(engineer):
    content = _with(as_xlsx(["Supplier"], ["A"]), **{"xl/worksheets/sheet9.xml": b" " * 160_000_000})
    assert len(content) < 1_000_000
    intake = send(engineer, SUPPLIERS, content, "x.xlsx")
    assert "far larger" in intake.told["why"]
    texts = _with(as_xlsx(["Supplier"], ["A"]), **{"xl/sharedStrings.xml": b" " * 61_000_000})
    assert "far larger" in send(engineer, SUPPLIERS, texts, "x.xlsx").told["why"]


def test_entities_in_a_workbook_are_not_unfolded(engineer):
    laughs = (
        b'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>'
        b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>'
        b'<row r="1"><c r="A1" t="inlineStr"><is><t>Supplier&b;</t></is></c></row></sheetData></worksheet>'
    )
    intake = send(engineer, SUPPLIERS, _with(as_xlsx(["Supplier"]), **{"xl/worksheets/sheet1.xml": laughs}), "x.xlsx")
    assert "damaged" in intake.told["why"]


@pytest.mark.parametrize(
    ("content", "name", "why"),
    [
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\x00" * 600, "x.xls", "old kind"),
        (b"PK\x03\x04 not really", "x.xlsx", "damaged"),
        (as_xlsx(["Supplier"], ["A"])[:-400], "x.xlsx", "damaged"),
        (as_xlsx(["Supplier"], ["A"]), "x.csv", "its name says otherwise"),
        (b"Supplier\nA\n", "x.xlsx", "not a workbook"),
        (b"Supplier\nA\n", "x.exe", "Only .csv"),
        (b"%PDF-1.7", "x.pdf", "Only .csv"),
    ],
)
def test_what_is_no_spreadsheet_is_refused(engineer, content, name, why):
    intake = send(engineer, SUPPLIERS, content, name)
    assert intake.state == IntakeState.FAULTY
    assert why in intake.told["why"]


def test_a_zip_that_is_no_workbook_is_refused(engineer):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
    assert "not an .xlsx workbook" in send(engineer, SUPPLIERS, out.getvalue(), "x.ods").told["why"]


# Days -----------------------------------------------------------------------------------------------------------------


def lots(*days):
    return as_csv("Item,Lot,On hand,Made on", *(f"14-inch blank,K{n},1,{made}" for n, made in enumerate(days)))


def made_on(engineer, intake):
    take_in(engineer, intake)
    return list(Lot.objects.order_by("code").values_list("made_on", flat=True))


def test_one_day_tells_the_order_of_the_others(engineer):
    make_item(engineer)
    intake = send(engineer, LOTS, lots("03/04/2024", "25/03/2024"))
    assert "Days under “Made on” have the day first." in intake.told["notes"]
    assert made_on(engineer, intake) == [day("2024-04-03"), day("2024-03-25")]


def test_the_month_may_come_first(engineer):
    make_item(engineer)
    assert made_on(engineer, send(engineer, LOTS, lots("03/04/2024", "03/25/2024"))) == [
        day("2024-03-04"),
        day("2024-03-25"),
    ]


def test_two_orders_in_one_column_are_refused_with_their_rows(engineer):
    make_item(engineer)
    intake = send(engineer, LOTS, lots("25/03/2024", "03/04/2024", "03/26/2024", "03/27/2024"))
    assert intake.state == IntakeState.FAULTY
    assert "row 2 (“25/03/2024”) with the day first, rows 4, 5 (“03/26/2024”) with the month" in intake.told["why"]
    assert Lot.objects.count() == 0


def test_an_order_that_cannot_be_told_is_asked(engineer):
    make_item(engineer)
    intake = send(engineer, LOTS, lots("03/04/2024", "05/05/2024"))
    (question,) = intake.told["asks"]
    assert question["label"] == "What day is “03/04/2024”?"
    assert [said for _, said in question["choices"]] == [
        "3 April 2024: the day first",
        "4 March 2024: the month first",
    ]
    assert made_on(engineer, answer(engineer, intake, days="mdy"))[0] == day("2024-03-04")


@pytest.mark.parametrize(
    ("text", "read"),
    [
        ("2025-03-01", "2025-03-01"),
        ("2025/3/1", "2025-03-01"),
        ("1.3.2025", "2025-03-01"),
        ("01. 03. 2025", "2025-03-01"),
        ("1 Mar 2025", "2025-03-01"),
        ("1. March 2025", "2025-03-01"),
        ("Mar 1, 2025", "2025-03-01"),
        ("1-Mar-2025", "2025-03-01"),
        ("2025-03-01 00:00:00", "2025-03-01"),
        ("2025-03-01T00:00", "2025-03-01"),
        ("2025-W10", "2025-03-03"),
        ("", None),
    ],
)
def test_days_are_read_as_they_are_written(text, read):
    assert cells.day(text, "") == (day(read) if read else None)


@pytest.mark.parametrize("text", ["1.3.25", "2025", 45000, "2025-13-01", "31 Foo 2025", "2025-03-01 14:05", True])
def test_what_is_no_day_is_refused(text):
    with pytest.raises(cells.Unfit):
        cells.day(text, "dmy")


# Numbers --------------------------------------------------------------------------------------------------------------


def costs(*amounts):
    rows = (f"14-inch blank;K{n};1;{amount}" for n, amount in enumerate(amounts))
    return as_csv("Item;Lot;On hand;Cost of one", *rows)


def cost(engineer, intake):
    take_in(engineer, intake)
    return [f"{kept.normalize():f}" for kept in Lot.objects.order_by("code").values_list("unit_cost", flat=True)]


def test_one_number_tells_the_decimal_mark_of_the_others(engineer):
    make_item(engineer)
    intake = send(engineer, LOTS, costs("12,5", "1.234", "1.234,50", "3"))
    assert "Numbers have a decimal comma." in intake.told["notes"]
    assert cost(engineer, intake) == ["12.5", "1234", "1234.5", "3"]


def test_two_decimal_marks_are_refused_with_their_rows(engineer):
    make_item(engineer)
    intake = send(engineer, LOTS, costs("12,5", "12.5"))
    assert "a comma in row 2 (“12,5”), a point in row 3 (“12.5”)" in intake.told["why"]
    both = as_csv("Item;Lot;On hand;Cost of one", "14-inch blank;K1;5,0;12,5", "14-inch blank;K2;5;12.5")
    assert "a comma in row 2 (“" in send(engineer, LOTS, both).told["why"]  # a row is named once


def test_a_mark_that_cannot_be_told_is_asked(engineer):
    make_item(engineer)
    intake = send(engineer, LOTS, costs("1,234", "1 000"))
    (question,) = intake.told["asks"]
    assert dict(question["choices"]) == {
        ".": "1234: the sign parts thousands",
        ",": "1.234: the decimals begin there",
    }
    assert cost(engineer, answer(engineer, intake, mark=",")) == ["1.234", "1000"]


def test_two_questions_are_asked_one_after_the_other(engineer):
    make_item(engineer)
    content = as_csv("Item;Lot;On hand;Made on;Note", "14-inch blank;K1;1,000;03/04/2024;schön", encoding="cp1252")
    intake = send(engineer, LOTS, content)
    seen = []
    for reply in ({"encoding": "cp1252"}, {"mark": "."}, {"days": "dmy"}):
        seen.append(intake.told["asks"][0]["name"])
        intake = answer(engineer, intake, **reply)
    assert seen == ["encoding", "mark", "days"]
    take_in(engineer, intake)
    lot = Lot.objects.get()
    assert (lot.on_hand, lot.made_on, lot.note) == (1000, day("2024-04-03"), "schön")


@pytest.mark.parametrize(
    ("text", "mark", "read"),
    [
        ("1234", ".", "1234"),
        ("1,234.5", ".", "1234.5"),
        ("1.234,5", ",", "1234.5"),
        ("1 234,5", ",", "1234.5"),
        ("1'234.5", ".", "1234.5"),
        ("\u22123", ".", "-3"),
        ("+3", ".", "3"),
        (",5", ",", "0.5"),
        ("3.", ".", "3"),
        (2.5, ",", "2.5"),
        (7, ",", "7"),
    ],
)
def test_numbers_are_read_by_the_file_s_mark(text, mark, read):
    number = cells.plain_number(text, mark)
    assert number is not None
    assert float(number) == float(read)


@pytest.mark.parametrize("text", ["12,34,5", "1.2.3", "abc", "--3", "1,23,456", "5 ml", True, float("nan"), "1e5"])
def test_what_is_no_plain_number_is_refused(text):
    with pytest.raises(cells.Unfit):
        cells.plain_number(text, ".")


def test_a_workbook_s_per_cent_is_a_share(engineer):
    rows = [["Item", "Kind", "Service level"], ["A", "part", 0.975], ["B", "part", "97.5 %"], ["C", "part", 97.5]]
    take_in(engineer, send(engineer, ITEMS, as_xlsx(*rows), "x.xlsx"))
    assert set(Item.objects.values_list("service_level", flat=True)) == {0.975}

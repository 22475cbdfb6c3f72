"""Files as people send them, and their course through the house."""

from io import BytesIO
from typing import Any
from uuid import uuid4

import openpyxl
from django.core.files.uploadedfile import SimpleUploadedFile

from shop.people.models import Person
from shop.stock import actions
from shop.stock.models import Intake, SheetKind
from shop.stock.sheets import work
from shop.stock.sheets.files import SentFile

LOTS, ITEMS, SUPPLIERS, PAST_USE = SheetKind.LOTS, SheetKind.ITEMS, SheetKind.SUPPLIERS, SheetKind.PAST_USE


def as_csv(*rows: str, encoding: str = "utf-8") -> bytes:
    """Rows, written as they stand in the file."""
    return ("\r\n".join(rows) + "\r\n").encode(encoding)


def as_xlsx(*rows: list[Any], merge: str = "", title: str = "Sheet") -> bytes:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = title
    for row in rows:
        sheet.append(row)
    if merge:
        sheet.merge_cells(merge)
    out = BytesIO()
    book.save(out)
    return out.getvalue()


def send(by: Person, kind: SheetKind, content: bytes, name: str = "list.csv") -> Intake:
    """Send a file and have it read and checked."""
    file = SentFile.of(SimpleUploadedFile(name, content))
    intake = actions.send_sheet(by=by, once=uuid4(), kind=kind, file=file)
    return worked_off(intake)


def answer(by: Person, intake: Intake, **answers: str) -> Intake:
    return worked_off(actions.answer_sheet(by=by, once=uuid4(), intake=intake, answers=answers))


def take_in(by: Person, intake: Intake) -> Intake:
    """Let a checked file come in."""
    return worked_off(actions.take_in_sheet(by=by, once=uuid4(), intake=intake))


def worked_off(intake: Intake) -> Intake:
    work.carry_on(intake.pk)
    intake.refresh_from_db()
    return intake


def faults(intake: Intake) -> list[tuple[Any, str, str]]:
    """What is wrong, as (row, column, why)."""
    return [(fault["row"], fault["column"], fault["why"]) for fault in intake.told["faults"]]

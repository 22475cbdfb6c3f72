"""Suppliers' sheets: taken in as they came, and withdrawn where that was a mistake."""

from collections.abc import Collection, Iterator, Sequence
from datetime import date

from django.db import IntegrityError, transaction

from shop import clock
from shop.calc import ghs
from shop.people.models import ENGINEERS, Person
from shop.press.action import action
from shop.press.rules import not_after_today, words
from shop.refusal import Changed, Doubt, Refused, ask_unless_sure
from shop.safety import queries
from shop.safety.languages import checked_language
from shop.safety.models import Signal, Substance, SupplierSheet, SupplierSheetWithdrawn
from shop.safety.sheet_files.kept import KeptSheet
from shop.safety.statements import statement
from shop.stock.models import Supplier
from shop.wording import in_full

#: The most statements that are copied; no sheet has so many.
_MOST = 60


@action(roles=ENGINEERS)
def add_supplier_sheet(
    *,
    by: Person,
    substance: Substance,
    sheet: KeptSheet,
    revised_on: date,
    supplier_name: str = "",
    supplier: Supplier | None = None,
    supplier_phone: str = "",
    language: str = "en",
    says_signal: str = "",
    says_pictograms: Sequence[str] = (),
    says_h: Sequence[str] = (),
    says_p: Sequence[str] = (),
    note: str = "",
    sure: Collection[str] = (),
) -> SupplierSheet:
    """Take in a supplier's sheet, with what its section 2 says.

    1. refuses a revision to come, a language that is none, a signal word, pictogram or statement that the GHS does not
    have, an emergency number without a digit, and a file that was taken in for this substance before; 2. asks about a
    revision older than the one in force, or of the same day, and about a section 2 that is said to say nothing;
    3. keeps it. The latest revision in its language is in force; older ones stay.
    """
    tag = checked_language(language)
    not_after_today(revised_on, field="revised_on")
    name = words(supplier_name, field="supplier_name", longest=80) or (supplier.name if supplier else "")
    if not name:
        raise Refused("Say whose sheet it is, as its section 1 does.", field="supplier_name")
    phone = words(supplier_phone, field="supplier_phone", longest=40)
    if phone and not any(sign.isdigit() for sign in phone):
        raise Refused("There is no digit in that number.", field="supplier_phone")
    signal, pictograms = _signal(says_signal), _pictograms(says_pictograms)
    h_codes, p_codes = _codes(says_h, "H", field="says_h"), _codes(says_p, "P", field="says_p")
    _not_taken_in(substance, sheet)
    doubts = [*_doubts_of_date(substance, revised_on, tag)]
    if not signal and not h_codes:
        doubts.append(
            Doubt("says-nothing", "says_h", "Does its section 2 give no signal word and no H statement at all?")
        )
    ask_unless_sure(doubts, sure)
    facts = {
        "supplier": supplier,
        "supplier_name": name,
        "supplier_phone": phone,
        "says_signal": signal,
        "says_pictograms": pictograms,
        "says_h": h_codes,
        "says_p": p_codes,
        "note": words(note, field="note", longest=300),
    }
    try:
        with transaction.atomic():
            return SupplierSheet.objects.create(
                substance=substance,
                revised_on=revised_on,
                language=tag,
                file=sheet.name,
                called=sheet.called,
                size=sheet.size,
                pages=sheet.pages,
                digest=str(sheet),
                first_pages=sheet.first_pages,
                at=clock.now(),
                by=by,
                **facts,
            )
    except IntegrityError as twice:
        raise Refused(_TWICE, field="file") from twice


_TWICE = "That same file was taken in for this substance already."


def _not_taken_in(substance: Substance, sheet: KeptSheet) -> None:
    before = SupplierSheet.objects.filter(substance=substance, digest=str(sheet)).select_related("withdrawn").first()
    if before is None:
        return
    day = in_full(clock.day_of(before.at))
    if hasattr(before, "withdrawn"):
        raise Refused(f"That same file was taken in on {day}, and withdrawn: {before.withdrawn.why}", field="file")
    raise Refused(f"That same file was taken in for this substance on {day}.", field="file")


def _signal(said: str) -> str:
    if said and said not in Signal.values:
        raise Refused("A sheet has one signal word, Danger or Warning, or none.", field="says_signal")
    return said


def _pictograms(codes: Sequence[str]) -> list[str]:
    for code in codes:
        if code not in ghs.PICTOGRAMS:
            raise Refused("The GHS has nine pictograms, GHS01 to GHS09. Choose among them.", field="says_pictograms")
    return sorted(set(codes))


def _codes(said: Sequence[str], letter: str, *, field: str) -> list[str]:
    """The codes as they are written, in the order of the lists. letter: H, with which EUH goes, or P."""
    found = set()
    for one in said:
        try:
            code = ghs.written(one)
            statement(code)
        except ValueError as unknown:
            raise Refused(
                f"There is no {letter} statement {one[:30]}. Compare it with the sheet; if it really says so, leave it "
                "out here and put it into the note.",
                field=field,
            ) from unknown
        if code.removeprefix("EU")[0] != letter:
            raise Refused(f"{code} is no {letter} statement; it belongs into the other box.", field=field)
        found.add(code)
    if len(found) > _MOST:
        raise Refused(f"At most {_MOST} statements are copied.", field=field)
    return sorted(found, key=ghs.sort_key)


def _doubts_of_date(substance: Substance, revised_on: date, language: str) -> Iterator[Doubt]:
    now = queries.supplier_sheets_in_force().filter(substance=substance, language=language).first()
    if now is None:
        return
    if revised_on < now.revised_on:
        yield Doubt(
            "older",
            "revised_on",
            f"The sheet in force is of {in_full(now.revised_on)}, which is later. Is this to be kept as an older one?",
            confirm="Keep it as an older one; the one in force stays.",
        )
    elif revised_on == now.revised_on:
        yield Doubt(
            "same-day",
            "revised_on",
            f"The sheet in force, of {now.supplier_name}, has that same date. Is this one to take its place?",
            confirm="It takes the place of the one in force.",
        )


@action(roles=ENGINEERS)
def withdraw_supplier_sheet(*, by: Person, sheet: SupplierSheet, why: str) -> SupplierSheetWithdrawn:
    """Say that a sheet was taken in by mistake, and why. It is kept, and is not in force any more."""
    reason = words(why, field="why", longest=300, needed=True)
    if SupplierSheetWithdrawn.objects.filter(sheet=sheet).exists():
        raise Changed("It is withdrawn already.")
    try:
        with transaction.atomic():
            return SupplierSheetWithdrawn.objects.create(sheet=sheet, why=reason, at=clock.now(), by=by)
    except IntegrityError as twice:
        raise Changed("It is withdrawn already.") from twice

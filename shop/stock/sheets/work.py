"""The course of an intake: read and checked, perhaps asked about, taken in as a whole or not at all.

`carry_on` does the next piece of work on one; whoever sent a small file does it at once, for a large one a job does.
One worker at a time has an intake, by a conditional UPDATE; if it is cut off, the job takes the intake up again, and
since all that comes in comes in one transaction, nothing is half done by then.
"""

import logging
from collections.abc import Callable
from datetime import timedelta
from typing import Any

from django.core.cache import cache
from django.db import IntegrityError, transaction
from django.db.models import Q

from shop import clock
from shop.people.models import Person
from shop.people.queries import the_room
from shop.stock.models import AT_WORK, Intake, IntakeState, SheetKind
from shop.stock.sheets import files
from shop.stock.sheets.checking import Checker, ItemChecker, SupplierChecker
from shop.stock.sheets.columns import SHEETS
from shop.stock.sheets.faults import Found, Question, Refusal
from shop.stock.sheets.opening import LotChecker, PastUseChecker
from shop.stock.sheets.reading import Read, read, set_down_rows

log = logging.getLogger(__name__)

#: The job that works intakes off, by its name in jobs.registry.
JOB = "work off the files that were sent"
#: After so long without a sign a worker is taken to be gone.
_LEASE = timedelta(minutes=5)
#: How long a file waits for an answer or the press that takes it in.
_KEPT = timedelta(days=7)
_BROKE_OFF = (
    "Reading broke off by a fault of this program, which is in its log. Nothing was taken in. Send the file again; if "
    "it happens again, send it in parts."
)
_GONE = "The file is no longer on this machine. Nothing was taken in. Send it again."

_CHECKERS: dict[SheetKind, type[Checker]] = {
    checker.kind: checker for checker in (SupplierChecker, ItemChecker, LotChecker, PastUseChecker)
}


class NotNow(Exception):
    """What was fit to come in is so no longer: something else was entered in between."""


# Progress -------------------------------------------------------------------------------------------------------------


def _key(intake: Intake) -> str:
    return f"intake-{intake.pk}"


def progress_of(intake: Intake) -> tuple[str, int, int | None] | None:
    """What is being done with it ("reading", "checking", "taking"), the rows done, and of how many, if that is known.

    Kept in the cache: the transaction that takes a file in is seen by nobody before it ends.
    """
    found: tuple[str, int, int | None] | None = cache.get(_key(intake))
    return found


def _tell(intake: Intake, what: str) -> Callable[[int, int | None], None]:
    def told(done: int, total: int | None) -> None:
        cache.set(_key(intake), (what, done, total), timeout=3600)

    return told


# The work -------------------------------------------------------------------------------------------------------------


def carry_on_all() -> str:
    """Do what there is to do on all intakes; a job's work. Safe to run twice."""
    waiting = list(Intake.objects.filter(state__in=AT_WORK).values_list("pk", flat=True))
    return f"{sum(carry_on(pk) for pk in waiting)} worked off"


def carry_on(pk: int) -> bool:
    """Do the next piece of work on an intake. False if there is none, or another worker has it."""
    with clock.in_zone(the_room().zone):
        now = clock.now()
        free = Q(working_since=None) | Q(working_since__lt=now - _LEASE)
        mine = Intake.objects.filter(free, pk=pk, state__in=AT_WORK)
        if not mine.update(working_since=now):
            return False
        intake = Intake.objects.select_related("by", "taken_by").get(pk=pk)
        try:
            if intake.state == IntakeState.READING:
                _read(intake)
            else:
                _take_in(intake)
        except FileNotFoundError:
            _end(intake, IntakeState.FAILED, why=_GONE)
        except Exception:
            log.exception("intake %s broke off", pk)
            _end(intake, IntakeState.FAILED, why=_BROKE_OFF)
        cache.delete(_key(intake))
        return True


def _read(intake: Intake) -> None:
    """Read the file and check every row; writes nothing but the intake."""
    where = files.rows_path(intake.file)
    try:
        found, faults = read(
            files.path(intake.file),
            intake.name,
            SHEETS[SheetKind(intake.kind)],
            where,
            intake.answers,
            _tell(intake, "reading"),
        )
    except Question as question:
        intake.told = {"asks": [question.asked]}
        return _end(intake, IntakeState.ASKS)
    except Refusal as no:
        return _end(intake, IntakeState.FAULTY, why=no.sentence)
    intake.rows = found.rows
    intake.told = {"notes": found.notes, "read": _kept_of(found)}
    if not faults:
        checker = _look(intake, by=intake.by, write=False)
        faults = checker.faults
        intake.new, intake.kept, intake.doubt_count = checker.new, checker.kept, checker.doubts.count
        intake.told |= {
            "doubts": checker.doubts.first,
            "sample": {"headings": list(found.headings.values()), "rows": checker.sample},
        }
    _end(intake, IntakeState.FAULTY if faults else IntakeState.READY, faults=faults)


def _take_in(intake: Intake) -> None:
    """Write what is new in the file, in one transaction; what is no longer fit is looked at anew instead."""
    assert intake.taken_by is not None
    try:
        with transaction.atomic():
            checker = _look(intake, by=intake.taken_by, write=True)
            if checker.faults:
                raise NotNow
            intake.new, intake.kept = checker.new, checker.kept
            intake.taken_at = clock.now()
            _end(intake, IntakeState.DONE)
    except (NotNow, IntegrityError):
        checker = _look(intake, by=intake.taken_by, write=False)
        intake.taken_at = intake.taken_by = None
        intake.new, intake.kept = checker.new, checker.kept
        intake.told["notes"] = [
            *intake.told.get("notes", []),
            "Something else was entered while this file waited, so nothing of it was taken in. It was looked at anew.",
        ]
        _end(intake, IntakeState.FAULTY if checker.faults else IntakeState.READY, faults=checker.faults)


def _look(intake: Intake, *, by: Person, write: bool) -> Checker:
    """Go through the rows that were set down."""
    told = _tell(intake, "taking" if write else "checking")
    checker = _CHECKERS[SheetKind(intake.kind)](_read_of(intake), intake, by)
    rows = set_down_rows(files.rows_path(intake.file))
    checker.run(rows, write=write, progress=lambda done: told(done, intake.rows))
    return checker


def _end(intake: Intake, state: IntakeState, *, why: str = "", faults: Found | None = None) -> None:
    """Write down what came of it, and let go of the file where it is of no more use."""
    intake.state, intake.working_since = state, None
    if why:
        intake.told = {"why": why}
    intake.fault_count = faults.count if faults else 0
    intake.told["faults"] = faults.first if faults else []
    gone = intake.file if state not in (IntakeState.ASKS, IntakeState.READY) else ""
    if gone:
        intake.file = ""
    intake.save()
    if gone:
        transaction.on_commit(lambda: files.remove(gone))


def _kept_of(found: Read) -> dict[str, Any]:
    return {"headings": found.headings, "mark": found.mark, "orders": found.orders}


def _read_of(intake: Intake) -> Read:
    return Read(**intake.told["read"])


# Sweeping up ----------------------------------------------------------------------------------------------------------


def forget_old_files() -> str:
    """Let go of files that nobody came back for, and of what lies in their folder and belongs to none."""
    old = Intake.objects.filter(state__in=[IntakeState.ASKS, IntakeState.READY], sent_at__lt=clock.now() - _KEPT)
    left = 0
    for intake in old:
        if Intake.objects.filter(pk=intake.pk, state=intake.state).update(state=IntakeState.DROPPED, file=""):
            files.remove(intake.file)
            left += 1
    swept = files.sweep(set(Intake.objects.exclude(file="").values_list("file", flat=True)))
    return f"{left} left, {swept} swept up"

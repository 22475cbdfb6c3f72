"""A long file of lots taken in: seconds to read and to write it, and the memory that takes; a sheet of labels."""

import sys
import tempfile
import time
from datetime import date, timedelta
from typing import Any
from uuid import uuid4

from tests.bench.alone import alone


def measure(rows: int, ending: str = "csv") -> dict[str, float]:
    """Needs an empty, migrated database. CPU seconds, and megabytes above what the process held before; on Linux."""
    from django.core.files import File

    from shop import clock
    from shop.carrying import writing
    from shop.people.opening import open_room
    from shop.stock import actions, labels
    from shop.stock.actions import sheets
    from shop.stock.models import Intake, SheetKind
    from shop.stock.sheets import files, work

    owner = open_room(
        name="Bench",
        zone="UTC",
        units="metric",
        owner_name="Bench",
        sign_in="bench",
        password="a quiet bench beside the mill",
    )
    by: Any = {"by": owner}
    for number in range(20):
        actions.add_item(**by, once=uuid4(), name=f"Blank {number}", kind="blank", blank_in=14, shelf_days=400)
        actions.add_supplier(**by, once=uuid4(), name=f"Supplier {number}")
    headings = ("Item", "Supplier", "Lot", "On hand", "Came in on", "Best before", "Cost of one", "Note")
    came = date(2024, 1, 1)

    def row(number: int) -> tuple[object, ...]:
        day = came + timedelta(days=number % 300)
        names = f"Blank {number % 20}", f"Supplier {number % 20}", f"L-{number:06}"
        return (*names, 1 + number % 60, day, day + timedelta(days=600), 21.5, "from the old list")

    # in small parts, so that no memory is left over from making it
    batches = (map(row, range(first, min(first + 500, rows))) for first in range(0, rows, 500))
    if ending == "csv":
        content = tempfile.TemporaryFile()  # noqa: SIM115
        content.writelines(writing.csv_parts(headings, batches, clock.now().tzinfo))
        content.seek(0)
    else:
        content = writing.workbook("Lots", headings, batches)
    file = files.SentFile.of(File(content, name=f"lots.{ending}"))
    sheets.soon = lambda name: None  # type: ignore[assignment]  # no thread shall run away with it
    intake = actions.send_sheet(**by, once=uuid4(), kind=SheetKind.LOTS, file=file)
    content.close()
    read_s, read_mb = _carry_on(work, intake)
    actions.take_in_sheet(**by, once=uuid4(), intake=intake)
    taken_s, taken_mb = _carry_on(work, intake)
    if Intake.objects.get().new != rows:
        raise RuntimeError(f"the file was not taken in: {Intake.objects.get().told}")
    return {
        "mb_file": file.size / 1e6,
        "read_s": read_s,
        "taken_s": taken_s,
        "mb": max(read_mb, taken_mb),
        "labels_s": _labels(labels),
    }


def _carry_on(work: Any, intake: Any) -> tuple[float, float]:
    before, began = _peak_mb(afresh=True), time.process_time()
    work.carry_on(intake.pk)
    return time.process_time() - began, _peak_mb() - before


def _peak_mb(*, afresh: bool = False) -> float:
    """The most memory this process has held; from now on, if `afresh`."""
    if afresh:
        with open("/proc/self/clear_refs", "w") as peak:
            peak.write("5")
    with open("/proc/self/status") as told:
        line = next(line for line in told if line.startswith("VmHWM"))
    return int(line.split()[1]) / 1000


def _labels(labels: Any, many: int = 100) -> float:
    from shop import paper

    def sheet() -> float:
        began = time.process_time()
        made = []
        for number in range(many):
            address = f"http://192.0.2.50:8000/stock/lots/{number}/"
            made.append(labels.Label("14-inch blank", address, "14 inch", f"L-{number}", (), labels.draw(address)))
        parted = labels.sheets(made, copies=1, start=1, grid=labels.GRIDS["A4"])
        paper.pdf("print/labels.html", {"sheets": parted, "paper": "A4"}, "A4")
        return time.process_time() - began

    sheet()
    return sheet()


if __name__ == "__main__":
    alone(measure, int(sys.argv[1]), sys.argv[2])

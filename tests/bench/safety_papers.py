"""The papers of safety: a hazard sheet beside WeasyPrint's own time for the same HTML, and once it is kept; labels for
containers; the binder."""

import statistics
import time
from collections.abc import Callable
from typing import Any
from uuid import uuid4

from tests.bench.alone import alone


def measure(rounds: int = 7) -> dict[str, Any]:
    """Needs an empty, migrated database: opens a room in it with sheets in force and classed substances."""
    from django.template.loader import render_to_string

    from shop import clock, paper
    from shop.people.opening import open_room
    from shop.people.queries import the_room
    from shop.safety import actions, queries
    from shop.safety.models import Binder, CallNumber, Hazard, HazardSheet, Substance
    from shop.safety.papers import binder, labels, sheets
    from tests.safety.hazard_sheets import approve, make_sheet, set_rules, write, written

    owner = open_room(
        name="Bench",
        zone="UTC",
        units="metric",
        owner_name="Bench",
        sign_in="bench",
        password="a quiet bench beside the mill",
    )
    set_rules(second_person="no")
    CallNumber.objects.create(name="Fire service", number="112")
    HazardSheet.objects.all().delete()
    for n in range(12):
        lines = "\n".join(f"Keep the thing of sheet {n} where nothing glows, {word}. [a source]" for word in "abc")
        names = ("can_hurt", "before", "while", "never", "if_fire", "if_spill", "wear", "apart", "waste")
        sheet = write(owner, make_sheet(owner, f"Sheet {n}", f"sheet-{n}"), written(**dict.fromkeys(names, lines)))
        approve(owner, sheet)
    one = queries.papers_in_force(lambda sheet: f"http://bench{sheet.get_absolute_url()}")[-1]
    room = the_room()
    given = {"room": room, "sheet": one}
    laid_out = sheets.lay_out(one, room=room, page_size="A4")
    told = {"printed_at": clock.now(), "tight": laid_out.tight, "too_long": False, **given}
    html = render_to_string("print/sheet.html", told)
    weasyprint, fetcher = paper.load()

    def whole() -> bytes:
        return sheets.lay_out(one, room=room, page_size="A4").pdf()

    def bare() -> bytes:
        size = weasyprint.CSS(string="@page { size: A4 }", url_fetcher=fetcher())
        laid = weasyprint.HTML(string=html, url_fetcher=fetcher())
        return bytes(laid.write_pdf(stylesheets=[size], pdf_variant="pdf/ua-1"))

    pairs = [(_cpu(whole), _cpu(bare)) for _ in range(rounds)]
    sheets.sheet_pdf(one, room=room, page_size="A4")
    kept = statistics.median(_wall(lambda: sheets.sheet_pdf(one, room=room, page_size="A4")) for _ in range(rounds))

    bottles = []
    for n in range(5):
        liquid = Substance.objects.create(name=f"Spirit {n}", slug=f"spirit-{n}", form="liquid")
        Hazard.objects.create(substance=liquid, hazard_class="flammable-liquid", category="2", h_code="H225")
        Hazard.objects.create(substance=liquid, hazard_class="eyes", category="2", h_code="H319")
        bottles.append(liquid)

    def hundred(of: list[Any], copies: int) -> bytes:
        size = labels.BY_SLUG["bottle"]
        rows = Substance.objects.filter(pk__in=[row.pk for row in of])
        made = queries.container_labels(rows, opens=lambda page: f"http://bench{page}", full=False, filled="")
        fitted = labels.fit(made, size)
        return labels.sheets_pdf(fitted, size=size, page_size="A4", copies=copies, start=1, title="Bench")

    row = actions.make_binder(by=owner, once=uuid4(), paper="A4", opens="http://bench")
    Binder.objects.filter(pk=row.pk).update(working_since=None)
    bound = _wall(lambda: binder.carry_on(row.pk))
    return {
        "ms": 1000 * statistics.median(a for a, _ in pairs),
        "ratio": statistics.median(a / b for a, b in pairs),
        "stored_ms": 1000 * kept,
        "one_s": statistics.median(_cpu(lambda: hundred(bottles[:1], 100)) for _ in range(3)),
        "five_s": statistics.median(_cpu(lambda: hundred(bottles, 20)) for _ in range(3)),
        "binder_s": bound,
    }


def _wall(call: Callable[[], Any]) -> float:
    began = time.perf_counter()
    call()
    return time.perf_counter() - began


def _cpu(call: Callable[[], Any]) -> float:
    began = time.process_time()
    call()
    return time.process_time() - began


if __name__ == "__main__":
    alone(measure)

"""Makers for cutting, all by way of the actions a person would press."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import count
from typing import Any
from uuid import uuid4

from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse
from django.urls import reverse

from shop import clock
from shop.cutting import actions
from shop.cutting.actions import WantedSide
from shop.cutting.models import (
    Booking,
    Lathe,
    NoiseLevel,
    RejectReason,
    RunningSide,
    Side,
    Stylus,
    StylusKind,
    TipPhoto,
)
from shop.duties import photos
from shop.people.models import Person
from shop.stock.models import Item, Lot
from tests.duties.makers import make_meter, picture
from tests.makers import make_person
from tests.stock.makers import make_item, make_lot

_codes = count(1)


def once() -> Any:
    return uuid4()


@dataclass
class Bench:
    """A room that can cut: meters, a lathe with a stylus in its head, a lot of 14 inch blanks."""

    engineer: Person
    lathe: Lathe
    kind: StylusKind
    stylus: Stylus
    item: Item
    lot: Lot
    reason: RejectReason


def make_bench(engineer: Person | None = None, *, blanks: int = 10) -> Bench:
    engineer = engineer or make_person("bench", "Benno Trestle", "engineer")
    make_meter("chip")
    make_meter("line")
    lathe = actions.add_lathe(by=engineer, once=once(), name="Lathe")
    kind = actions.add_stylus_kind(by=engineer, once=once(), name="Ruby, heated", expected_h=12, sureness="fair")
    stylus = make_stylus(engineer, kind, "R-1")
    item = make_item(engineer)
    with clock.moved(clock.now()):
        lot = make_lot(engineer, item, blanks, code="L1")
    actions.fit_stylus(by=engineer, once=once(), stylus=stylus, lathe=lathe)
    reason = actions.add_reject_reason(by=engineer, once=once(), name="Noisy blank", blame="blank")
    return Bench(engineer, lathe, kind, stylus, item, lot, reason)


def make_stylus(by: Person, kind: StylusKind, mark: str, **other: Any) -> Stylus:
    return actions.add_stylus(by=by, once=once(), mark=mark, kind=kind, **other)


def make_booking(by: Person, sides: Iterable[WantedSide] = (), **other: Any) -> Booking:
    """A booking for today with sides A and B of 20 minutes, unless told otherwise."""
    facts = {"code": f"B-{next(_codes):04}", "title": "Songs of the Ferry", "cut_on": clock.today()}
    wanted = list(sides) or [WantedSide("A", 1200), WantedSide("B", 1200)]
    return actions.add_booking(by=by, once=once(), sides=wanted, **facts | other)


def side_facts(bench: Bench, **other: Any) -> dict[str, Any]:
    """What log_side is given for a good side of 20 minutes without a booking."""
    facts = {
        "wanted": None,
        "lathe": bench.lathe,
        "lot": bench.lot,
        "outcome": "good",
        "cut_s": 1200,
        "disc_in": 12,
        "speed": "33",
        "pitch_um": 125.0,
        "width_um": 56.0,
    }
    return facts | other


def cut(bench: Bench, by: Person | None = None, *, sure: Iterable[str] = (), **other: Any) -> Side:
    """Log a side. On a clock that stands still many are cut at the same time: that is confirmed beforehand."""
    sure = [*sure, *at_the_same_time()]
    return actions.log_side(by=by or bench.engineer, once=once(), sure=sure, **side_facts(bench, **other))


def start(bench: Bench, by: Person | None = None, *, sure: Iterable[str] = (), **other: Any) -> RunningSide:
    """Start a side without a booking; what nobody judged yet is confirmed beforehand."""
    facts = {name: value for name, value in side_facts(bench).items() if name not in ("outcome", "cut_s")}
    sure = [*sure] + [f"unjudged-{pk}:stylus" for pk in RunningSide.objects.values_list("pk", flat=True)]
    return actions.start_side(by=by or bench.engineer, once=once(), sure=sure, **facts | other)


def make_runs(bench: Bench) -> tuple[RunningSide, RunningSide]:
    """A side that was stopped and is not judged yet, and one that runs."""
    stopped = start(bench)
    actions.stop_side(by=bench.engineer, once=once(), run=stopped)
    return stopped, start(bench)


def at_the_same_time() -> list[str]:
    """What confirms that a side was cut while any of those logged was."""
    logged = Side.objects.values_list("pk", flat=True)
    return [f"{what}-{pk}:at" for pk in logged for what in ("same-minute", "meanwhile")]


def photographed(by: Person, stylus: Stylus) -> TipPhoto:
    """A photograph of its tip."""
    kept = photos.keep(SimpleUploadedFile("tip.jpg", picture(), "image/jpeg"))
    return actions.add_tip_photo(by=by, once=once(), stylus=stylus, photo=kept, shows="left flank, 200 times")


def heard(by: Person, stylus: Stylus, level_db: float, **other: Any) -> NoiseLevel:
    """A silent-groove level of it."""
    return actions.add_noise_level(by=by, once=once(), stylus=stylus, level_db=level_db, **other)


def address(name: str, *args: int | str) -> str:
    return reverse(f"cutting:{name}", args=args)


def text(answer: HttpResponse) -> str:
    return answer.content.decode()

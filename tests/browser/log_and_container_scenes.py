"""Which note or container the pages of the log and of containers are opened on, and what is made for them."""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

from shop.log import things
from shop.log.models import Note
from shop.people.models import Person
from shop.safety import actions as safety
from shop.safety.models import Container, OpenLimit, Place, Substance
from shop.stock.models import Lot
from tests.log import makers as log
from tests.safety import bottles


def _blanks() -> Lot:
    return Lot.objects.filter(item__blank_in__isnull=False, on_hand__gt=0).order_by("pk")[0]


def _open() -> int:
    return Container.objects.filter(ended_at=None).order_by("-pk")[0].pk


LOG_AND_CONTAINER_SCENES: dict[str, Callable[[], Any]] = {
    **dict.fromkeys(
        ["log:note", "log:correct-note"], lambda: Note.objects.filter(by__sign_in="ottilie").order_by("-pk")[0].pk
    ),
    "log:read-note": lambda: Note.objects.order_by("-pk")[0].pk,
    "log:write-about": lambda: things.ref_of(_blanks()),
    **dict.fromkeys(
        ["safety:container", "safety:read-level", "safety:move-container", "safety:finish-container"], _open
    ),
    "safety:set-open-days": lambda: "acetone",
}


def with_log_and_containers(owner: Person) -> None:
    """A handover and a note; a container past its last day with its levels read, another, and one that was used up."""
    caspar = Person.objects.get(sign_in="caspar")
    log.write(caspar, "The left box is open.", kind="handover", about=[things.ref_of(_blanks())])
    log.write(owner, "The lamp over the lathe is on order.", people=[caspar])
    acetone, shelf = Substance.objects.get(slug="acetone"), Place.objects.get(name="Back shelf")
    bottles.finish(owner, bottles.open_one(owner, acetone, shelf, note="the small can"))
    bottles.open_one(owner, acetone, shelf, nominal_ml=250)
    one = bottles.open_one(owner, acetone, shelf, tare_g=412.7)
    for share in (0.9, 0.8, 0.7):
        bottles.read_level(owner, one, gross_g=412.7 + share * bottles.ACETONE)
    kept = OpenLimit.objects.filter(substance=acetone).first()
    version = kept.version if kept else 0
    safety.set_open_days(by=owner, once=uuid4(), substance=acetone, days=180, because="the shop's own", version=version)

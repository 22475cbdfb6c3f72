"""Which programme and step each page of programmes is opened on, and what is made for them."""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

from shop.people.models import Person
from shop.training import actions as training
from shop.training.models import Programme, Step
from tests.training import makers as trust
from tests.training import programme_makers

#: The programme that comes with the room.
STARTER = 1


def _of_starter(kind: str) -> Callable[[], int]:
    return lambda: Step.objects.filter(programme=STARTER, kind=kind).order_by("order")[0].pk


PROGRAMME_SCENES: dict[str, Callable[[], Any]] = {
    "training:programme": lambda: STARTER,
    "training:programme-pdf": lambda: STARTER,
    "training:copy-programme": lambda: STARTER,
    "training:change-programme": lambda: Programme.objects.get(name="Second weeks").pk,
    "training:stop-programme": lambda: Programme.objects.get(name="Second weeks").pk,
    "training:resume-programme": lambda: Programme.objects.get(is_active=False).pk,
    "training:add-step": lambda: STARTER,
    "training:step": lambda: Step.objects.filter(edition__gt=1)[0].pk,
    "training:change-step": _of_starter("show"),
    "training:move-step": _of_starter("show"),
    "training:stop-step": _of_starter("show"),
    "training:resume-step": lambda: Step.objects.filter(is_active=False)[0].pk,
    "training:change-questions": _of_starter("answer"),
}


def with_programmes(owner: Person) -> None:
    """A programme of the shop's own with a stopped step, and one that is stopped as a whole."""
    programme, _ = programme_makers.in_the_world(owner, trust.make_act(owner, "Lay the felt"))
    programme_makers.stop(owner, programme_makers.add(owner, programme, "Comb the felt"))
    old = programme_makers.begin(owner, "Weeks of old")
    training.stop_programme(by=owner, once=uuid4(), programme=old, version=1, why="Nobody does it so.")

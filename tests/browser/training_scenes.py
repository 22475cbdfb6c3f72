"""Which act, programme or step each page of training is opened on, and what is made for them."""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

from shop.people.models import Person
from shop.training import actions as training
from shop.training.models import Authority, Enrolment, Programme, SignOff, Step
from tests.training import makers as trust
from tests.training import programme_makers

#: The programme that comes with the room.
STARTER = 1


def _of_starter(kind: str) -> Callable[[], int]:
    return lambda: Step.objects.filter(programme=STARTER, kind=kind).order_by("order")[0].pk


def _own() -> tuple[int, int]:
    """The owner's programme, and the step of it that is signed."""
    return Enrolment.objects.get(programme__name="Three days").pk, SignOff.objects.latest("pk").step_id


TRAINING_SCENES: dict[str, Callable[[], Any]] = {
    "training:act": lambda: "change-cylinder",
    "training:change-act": lambda: "change-cylinder",
    "training:stop-act": lambda: "trim-the-felt",
    "training:resume-act": lambda: "level-the-lathe",
    "training:give-authority": lambda: "change-cylinder",
    "training:withdraw-authority": lambda: Authority.objects.order_by("-pk")[0].pk,
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
    # Going through a programme: the owner's own
    **dict.fromkeys(["training:enrolment", "training:change-enrolment", "training:end-enrolment"], lambda: _own()[0]),
    "training:see-changes": lambda: _own()[0],
    "training:card": lambda: _own(),
    "training:sign-off": lambda: _own(),
    "training:withdraw-sign-off": lambda: SignOff.objects.latest("pk").pk,
    "training:answer-question": lambda: Step.objects.get(kind="answer", programme__name="Three days").pk,
    "training:read-again": lambda: Step.objects.get(kind="read", programme__name="Three days").pk,
    "training:training-record": lambda: Person.objects.get(sign_in="juno").pk,
    "training:training-record-pdf": lambda: Person.objects.get(sign_in="juno").pk,
}


def with_training(owner: Person) -> None:
    """Acts of the shop's own, one of them stopped; a programme of its own with a stopped step, and a stopped one;
    and the owner under way in one."""
    trust.build(owner, Person.objects.get(sign_in="caspar"))
    trust.make_act(owner)
    training.stop_act(by=owner, once=uuid4(), act=trust.make_act(owner, "Level the lathe"), version=1)
    programme, _ = programme_makers.in_the_world(owner, trust.make_act(owner, "Lay the felt"))
    programme_makers.stop(owner, programme_makers.add(owner, programme, "Comb the felt"))
    old = programme_makers.begin(owner, "Weeks of old")
    training.stop_programme(by=owner, once=uuid4(), programme=old, version=1, why="Nobody does it so.")

"""What doing a duty does elsewhere.

An effect is a kind of deed with a target: this room's own resets a meter, and a higher room that knows both duties and
what lies beside them registers its own (taking an item from stock). A duty names its effects as `Touch` rows; an entry
keeps what was really done, with the number of the record made there, so that it can be undone.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar

from django import forms

from shop.duties import meters
from shop.duties.models import Meter, Tick, Touch
from shop.people.models import Person, Units


@dataclass(frozen=True)
class Target:
    """Something an effect can be had on. id: its number there; name: as people call it."""

    id: int
    name: str


@dataclass(frozen=True)
class Made:
    """One record that an effect made. ref: its number; amount: how much, where it is measured."""

    ref: int
    amount: int | None = None


class Effect:
    """A kind of deed. kind: its name in the tables; verb: before the target's name; measured: whether it has an amount.

    All are called inside an action's transaction, and may raise Refused with the field "amount".
    """

    kind: ClassVar[str]
    verb: ClassVar[str]
    measured: ClassVar[bool] = False

    def targets(self) -> list[Target]:
        """All that may be chosen now, by name."""
        raise NotImplementedError

    def words(self, touches: Collection[tuple[int, int | None]], reader: Units) -> Mapping[tuple[int, int | None], str]:
        """What it does, for each target and amount: "takes 1.5 m of Chip hose from stock". One query for all."""
        raise NotImplementedError

    def read_amount(self, target: int, typed: str, person: Units) -> int:
        """An amount as typed, in the unit it is kept in. ValueError with a sentence for one that will not do."""
        raise NotImplementedError

    def shown_amount(self, target: int, amount: int, person: Units) -> str:
        """An amount as this person would type it."""
        raise NotImplementedError

    def amount_field(self, target: int) -> forms.Field:
        """The box for how much there really was; cleans to the kept unit."""
        raise NotImplementedError

    def ahead(self, target: int, reader: Units) -> str:
        """What is there for it now, in a few words under the box; "" where there is nothing to say."""
        return ""

    def meters(self, target: int) -> list[int]:
        """Ids of the meters that it steps: they are held before anything else is."""
        return []

    def apply(self, target: int, amount: int | None, *, at: datetime, by: Person, note: str) -> list[Made]:
        """Do it; the records it made, none if there was nothing to do."""
        raise NotImplementedError

    def undo(self, ref: int, *, by: Person, note: str) -> Made | None:
        """Take one record back; None where that can't be done any more, or need not be."""
        raise NotImplementedError


_effects: dict[str, Effect] = {}


def register(effect: Effect) -> None:
    """Let duties have this effect. Registering a kind again replaces it."""
    _effects[effect.kind] = effect


def every() -> list[Effect]:
    return list(_effects.values())


def of_kind(kind: str) -> Effect | None:
    """The effect of that kind; None if whoever registered it is no longer there."""
    return _effects.get(kind)


def words_of(touches: Sequence[Touch], reader: Units) -> list[str]:
    """What these do, in words, in their order; those whose effect or target is missing are left out."""
    found: dict[tuple[str, int, int | None], str] = {}
    for kind in {touch.kind for touch in touches}:
        if (effect := of_kind(kind)) is None:
            continue
        pairs = {(touch.target, touch.amount) for touch in touches if touch.kind == kind and touch.target is not None}
        found |= {(kind, *pair): said for pair, said in effect.words(pairs, reader).items()}
    keys = [(touch.kind, touch.target, touch.amount) for touch in touches if touch.target is not None]
    return [found[key] for key in keys if key in found]


class ResetMeter(Effect):
    """Brings a meter to zero: the trap emptied, the line cleaned."""

    kind = "reset-meter"
    verb = "Resets the meter"

    def targets(self) -> list[Target]:
        return [Target(meter.pk, meter.name) for meter in Meter.objects.exclude(reset_word="")]

    def words(self, touches: Collection[tuple[int, int | None]], reader: Units) -> Mapping[tuple[int, int | None], str]:
        names = dict(Meter.objects.filter(pk__in=[target for target, _ in touches]).values_list("pk", "name"))
        return {pair: f"brings the meter “{names[pair[0]]}” to zero" for pair in touches if pair[0] in names}

    def meters(self, target: int) -> list[int]:
        return [target]

    def apply(self, target: int, amount: int | None, *, at: datetime, by: Person, note: str) -> list[Made]:
        meter = Meter.objects.get(pk=target)
        if meter.reset_at is not None and at < meter.reset_at:
            return []  # what there was then went out with a later reset
        return [Made(meters.reset(meter=meter, at=at, by=by, note=note).pk)]

    def undo(self, ref: int, *, by: Person, note: str) -> Made | None:
        tick = meters.undo_reset(tick=Tick.objects.get(pk=ref), by=by, note=note)
        return Made(tick.pk) if tick else None

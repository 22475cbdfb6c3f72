"""What care does to containers, and which lines of the ledger are theirs."""

from collections.abc import Collection, Mapping
from datetime import datetime

from shop.duties.effects import Effect, Made, Target
from shop.duties.models import Meter
from shop.people.models import Person, Units
from shop.safety import open_days
from shop.safety.actions.containers import finish
from shop.safety.models import Container, EndKind, Form, Substance
from shop.stock.ledger import Owner


class FinishContainer(Effect):
    """Gives to the waste whichever container of a substance has been open longest."""

    kind = "finish-container"
    verb = "Gives to the waste the oldest open container of"

    def targets(self) -> list[Target]:
        return [Target(one.pk, one.name) for one in Substance.objects.filter(is_active=True, form=Form.LIQUID)]

    def words(self, touches: Collection[tuple[int, int | None]], reader: Units) -> Mapping[tuple[int, int | None], str]:
        named = Substance.objects.in_bulk([target for target, _ in touches])
        return {
            pair: f"gives the oldest open container of {named[pair[0]]} to the waste"
            for pair in touches
            if pair[0] in named
        }

    def ahead(self, target: int, reader: Units) -> str:
        found = _oldest(target)
        return f"{found}." if found is not None else "None of it is open."

    def meters(self, target: int) -> list[int]:
        substance = Substance.objects.get(pk=target)
        keys = [open_days.OF_ALL, open_days.key_of(substance)]
        return list(Meter.objects.filter(key__in=keys).values_list("pk", flat=True))

    def apply(self, target: int, amount: int | None, *, at: datetime, by: Person, note: str) -> list[Made]:
        found = _oldest(target)
        if found is None:
            return []
        last = found.levels.first()
        moment = max(at, last.at if last else found.opened_at)
        done = finish(found, by=by, how=EndKind.WASTE, at=moment, note=note or "by its duty")
        return [Made(done.pk)]

    def undo(self, ref: int, *, by: Person, note: str) -> Made | None:
        """Open again; None where it was not finished as waste, or its row is not as the duty left it."""
        held = Container.objects.select_for_update(of=("self",)).select_related("substance").get(pk=ref)
        if held.ended_how != EndKind.WASTE:
            return None
        held.ended_at, held.ended_by, held.ended_how, held.ended_note = None, None, "", ""
        held.save(update_fields=["ended_at", "ended_by", "ended_how", "ended_note"])
        open_days.follow(held.substance)
        return Made(held.pk)


def _oldest(substance: int) -> Container | None:
    opened = Container.objects.filter(substance=substance, ended_at=None).order_by("opened_at", "pk")
    return opened.select_related("substance").first()


def owners(movement_ids: Collection[int]) -> dict[int, Owner]:
    """The containers that movements belong to: they are undone there, by saying that one was never opened."""
    rows = Container.objects.filter(movement__in=movement_ids).select_related("substance")
    return {one.movement_id: Owner(f"container {one.pk}", one.get_absolute_url()) for one in rows if one.movement_id}

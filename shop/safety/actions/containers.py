"""Containers: opening one, reading its level, moving it, finishing it; and how long after opening it is used."""

from collections.abc import Collection, Iterator
from datetime import date, datetime

from django.db.models import F

from shop import clock
from shop.calc.containers import ml_by_weight
from shop.people.fields import whole_words
from shop.people.models import ENGINEERS, HANDS, Person
from shop.press.action import action
from shop.press.rules import CHANGED, happened_at, words
from shop.refusal import Changed, Doubt, Refused, ask_unless_sure
from shop.safety import open_days
from shop.safety.models import Container, EndKind, Form, Kept, Level, OpenLimit, Place, Substance
from shop.safety.queries.containers import density_of
from shop.stock import ledger
from shop.stock.models import Lot, Movement, MovementKind, StockUnit
from shop.stock.rules import out_of_turn

#: ml, g: what a container holds and weighs at all.
MOST_ML, MOST_G = 250_000, 400_000.0
#: Years after opening that a label or a limit may allow.
MOST_OPEN_DAYS = 3660
#: A level this much above what it holds, or above the level before, is asked about.
_OVER, _RISE = 1.05, 0.03
#: An empty container that weighs more than so many times what it holds, or under so small a share of it, is asked
#: about; below _LIGHT_G none is too heavy. A glass bottle weighs about half of what it holds, a steel can for
#: dispensing up to twice, a thin plastic one a twentieth: our own judgement.
_HEAVY, _THIN, _LIGHT_G = 2.0, 0.03, 500.0
_FINISHED = "It is finished already."


@action(roles=HANDS)
def open_container(
    *,
    by: Person,
    substance: Substance,
    place: Place,
    nominal_ml: float,
    lot: Lot | None = None,
    at: datetime | None = None,
    tare_g: float | None = None,
    full_g: float | None = None,
    use_by: date | None = None,
    note: str = "",
    sure: Collection[str] = (),
) -> Container:
    """Open a container of a liquid and say where it stands.

    1. refuses one that is no liquid, a time to come, and a place off the list; 2. takes what it holds out of its lot,
    where it is from one: as ledger.take; 3. reads what it weighs empty, from itself or from its weight when full, and
    asks where no container weighs that;
    4. writes it down as kept where it stands; 5. tells the meters of days since when the oldest has been open.
    """
    holds = round(nominal_ml)
    if not 0 < holds <= MOST_ML:
        raise Refused("Say how much it holds: above zero, at most 250 litres.", field="nominal_ml")
    if substance.form != Form.LIQUID or not substance.is_active:
        raise Refused("Only liquids that are kept here are opened here.", field="substance")
    if not place.is_active:
        raise Refused("That place is off the list. Choose another.", field="place")
    moment = happened_at(at)
    if use_by is not None and use_by < clock.day_of(moment):
        ask_unless_sure([Doubt("past-use-by", "use_by", "Was it past its date when it was opened?")], sure)
    density = density_of(substance)
    tare = _tare(substance, holds, tare_g, full_g)
    weighed = "tare_g" if full_g is None else "full_g"
    doubts = [*_turn(lot, by, moment), *_weight_doubts(tare, holds, density.value if density else 0.0, weighed)]
    ask_unless_sure(doubts, sure)
    made = Container.objects.create(
        substance=substance,
        place=place,
        lot=lot,
        movement=_taken(lot, substance, holds, moment, by),
        nominal_ml=holds,
        left_ml=holds,
        tare_g=tare,
        density_kg_m3=density.value if density else None,
        density_source=f"{density.source}, {density.condition}".strip(", ")[:300] if density else "",
        use_by=use_by,
        note=words(note, field="note", longest=200),
        opened_at=moment,
        opened_by=by,
    )
    Kept.objects.get_or_create(place=place, substance=substance, empties=False)
    open_days.begin(substance)
    open_days.follow(substance)
    return made


def _turn(lot: Lot | None, by: Person, moment: datetime) -> Iterator[Doubt]:
    """Whether another lot of the item should go first."""
    if lot is not None:
        yield from out_of_turn(lot, day=clock.day_of(moment), by=by)


def _tare(substance: Substance, holds: int, tare_g: float | None, full_g: float | None) -> float | None:
    """What it weighs empty, as told, or from its weight when full; None where neither is told."""
    if tare_g is None and full_g is None:
        return None
    density = density_of(substance)
    if density is None:
        raise Refused(
            f"No density of {substance} is written down that somebody looked up, so its weight says nothing. Leave it "
            "empty, or write down the density first.",
            field="tare_g" if tare_g is not None else "full_g",
        )
    if tare_g is not None and full_g is not None:
        raise Refused("Give what it weighs empty or what it weighs full, not both.", field="full_g")
    if tare_g is not None:
        if not 0 < tare_g <= MOST_G:
            raise Refused("Give a weight above zero.", field="tare_g")
        return tare_g
    assert full_g is not None
    liquid = holds * density.value / 1000
    if not liquid < full_g <= MOST_G:
        raise Refused(
            f"What it holds weighs {liquid:.0f} g by itself: with its container it weighs more.", field="full_g"
        )
    return full_g - liquid


def _weight_doubts(tare_g: float | None, holds: int, density_kg_m3: float, field: str) -> Iterator[Doubt]:
    """Whether an empty container of that size can weigh so much, or so little."""
    if tare_g is None:
        return
    liquid = holds * density_kg_m3 / 1000
    if tare_g > max(_LIGHT_G, _HEAVY * liquid):
        what = "much for a container that holds"
    elif tare_g < _THIN * liquid:
        what = "little for a container that holds"
    else:
        return
    lead = "That leaves" if field == "full_g" else "That makes"
    yield Doubt(
        f"weight:{tare_g:g}",
        field,
        f"{lead} {tare_g:.0f}\u00a0g for the container when empty: {what} {liquid:.0f}\u00a0g. Is it the weight of "
        "this one, and does it hold so much?",
    )


def _taken(lot: Lot | None, substance: Substance, holds: int, moment: datetime, by: Person) -> Movement | None:
    if lot is None:
        return None
    if lot.item.unit != StockUnit.ML or not substance.items.filter(pk=lot.item_id).exists():
        raise Refused(f"Lot {lot.code} is not of {substance}. Choose another, or none.", field="lot")
    return ledger.take(lot=lot, kind=MovementKind.USED, quantity=holds, by=by, at=moment, note=f"{substance}, opened")


def _held(container: Container) -> Container:
    """The container, locked; refused if it is finished."""
    held = Container.objects.select_for_update(of=("self",)).select_related("substance", "place").get(pk=container.pk)
    if not held.is_open:
        raise Changed(_FINISHED)
    return held


@action(roles=HANDS)
def read_level(
    *,
    by: Person,
    container: Container,
    gross_g: float | None = None,
    share: float | None = None,
    at: datetime | None = None,
    note: str = "",
    sure: Collection[str] = (),
) -> Level:
    """Write down how much is in it: by its weight with its container, or by its mark (share, 0 to 1 of full).

    Refused before it was opened or before its last level, and a weight below its own; asks where it rose, or is fuller
    than it can be.
    """
    held = _held(container)
    moment = happened_at(at)
    last = held.levels.first()
    if moment < (last.at if last else held.opened_at):
        raise Refused("That is before it was opened, or before its last level. Give a later time.", field="at")
    ml = _ml(held, gross_g, share)
    ask_unless_sure(_doubts(held, ml, by, field="gross_g" if gross_g is not None else "share"), sure)
    read = Level.objects.create(
        container=held,
        gross_g=gross_g,
        share=share,
        ml=ml,
        at=moment,
        by=by,
        note=words(note, field="note", longest=200),
    )
    held.left_ml = ml
    held.save(update_fields=["left_ml"])
    return read


def _ml(container: Container, gross_g: float | None, share: float | None) -> int:
    if (gross_g is None) == (share is None):
        raise Refused("Give its weight, or how full it is by its mark: one of the two.", field="share")
    if share is not None:
        if not 0 <= share <= 1:
            raise Refused("Give a share from 0 to 100 %.", field="share")
        return round(share * container.nominal_ml)
    assert gross_g is not None
    if container.tare_g is None or container.density_kg_m3 is None:
        raise Refused("It was never weighed empty, so its weight says nothing. Read it by its mark.", field="gross_g")
    if gross_g < container.tare_g:
        raise Refused(
            f"It weighs {container.tare_g:.0f} g empty, and cannot weigh less. Is its cap on?", field="gross_g"
        )
    if gross_g > MOST_G:
        raise Refused("That is more than any container here weighs.", field="gross_g")
    return round(ml_by_weight(gross_g, container.tare_g, container.density_kg_m3))


def _doubts(container: Container, ml: int, by: Person, *, field: str) -> Iterator[Doubt]:
    holds, before = container.nominal_ml, container.left_ml
    if ml > _OVER * holds:
        said = f"That comes to {whole_words('liquid', ml, by)}, and it holds {whole_words('liquid', holds, by)}."
        yield Doubt(
            "too-full", field, f"{said} Is it another container, or another unit?", "It holds that all the same"
        )
    elif ml > before + _RISE * holds:
        yield Doubt("rose", field, "That is more than was in it before. Was it topped up?")


@action(roles=HANDS)
def move_container(*, by: Person, container: Container, place: Place) -> Container:
    """Say that it stands elsewhere now; it is written down as kept there."""
    held = _held(container)
    if not place.is_active:
        raise Refused("That place is off the list. Choose another.", field="place")
    if place.pk == held.place_id:
        raise Refused("It stands there already.", field="place")
    Kept.objects.get_or_create(place=place, substance=held.substance, empties=False)
    held.place = place
    held.save(update_fields=["place"])
    return held


@action(roles=HANDS)
def finish_container(
    *, by: Person, container: Container, how: str, at: datetime | None = None, note: str = ""
) -> Container:
    """Say that it is used up, given to the waste, or was never opened; the last puts its lot's ledger right again.

    Refused before it was opened or last read, and waste without a word on where it went.
    """
    return finish(container, by=by, how=how, at=at, note=note)


def finish(container: Container, *, by: Person, how: str, at: datetime | None = None, note: str = "") -> Container:
    """`finish_container` inside another action's transaction."""
    held = _held(container)
    moment = happened_at(at)
    last = held.levels.first()
    if moment < (last.at if last else held.opened_at):
        raise Refused("That is before it was opened, or before its last level. Give a later time.", field="at")
    if how not in EndKind.values:
        raise Refused("Say what became of it.", field="how")
    said = words(note, field="note", longest=200)
    if how == EndKind.WASTE and not said:
        raise Refused("Say where it went: which waste can, or who took it.", field="note")
    if how == EndKind.MISTAKE and held.movement is not None:
        ledger.reverse(movement=held.movement, at=clock.now(), by=by, note=f"{held}: never opened")
    held.ended_at, held.ended_by, held.ended_how, held.ended_note = moment, by, how, said
    if how == EndKind.USED:
        held.left_ml = 0
    held.save(update_fields=["ended_at", "ended_by", "ended_how", "ended_note", "left_ml"])
    open_days.follow(held.substance)
    return held


@action(roles=ENGINEERS)
def set_open_days(
    *, by: Person, substance: Substance, days: int | None, because: str = "", version: int = 0
) -> Substance:
    """Set for how many days after opening the shop uses it; None for no limit. version: of the limit, 0 for none yet.

    Changed if it was set otherwise meanwhile.
    """
    if days is not None and not 0 < days <= MOST_OPEN_DAYS:
        raise Refused(f"Give 1 to {MOST_OPEN_DAYS} days, or leave it empty for no limit.", field="days")
    said = words(because, field="because", longest=200)
    held = OpenLimit.objects.select_for_update().filter(substance=substance).first()
    if (held.version if held else 0) != version:
        raise Changed(CHANGED)
    if days is None:
        OpenLimit.objects.filter(substance=substance).delete()
    elif held is None:
        OpenLimit.objects.create(substance=substance, days=days, because=said)
    else:
        OpenLimit.objects.filter(pk=held.pk).update(days=days, because=said, version=F("version") + 1)
    return Substance.objects.get(pk=substance.pk)

"""Places: adding one, changing it, stopping it; what is kept in one; and answering for what stands together."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from django.db.models import F

from shop import clock
from shop.people.models import ENGINEERS, Person
from shop.press.action import action
from shop.press.rules import CHANGED, not_after_today, not_taken, one_of_its_name, still_as_read, words
from shop.refusal import Changed, Doubt, Refused, ask_unless_sure
from shop.safety import queries
from shop.safety.models import Container, FindingAnswer, Form, Kept, LimitBy, Place, Substance

TWICE = "There is a place of that name already."
#: Volumes in m3 and changes of air in an hour that are kept at all, and from where we ask whether they are meant.
VOLUME_M3, AIR_CHANGES_H = (0.05, 10_000.0), (0.0, 100.0)
_ASK_FROM_M3, _ASK_FROM_CHANGES = 1000.0, 20.0
#: ml; ten cubic metres.
MOST_ML = 10_000_000
#: ml, g: amounts above are typed in another unit than they are meant in.
MOST_AMOUNT = 10_000_000
MOST_KEPT = 24
#: How deep places may lie within each other, and for how long an answer may hold.
DEEPEST, LONGEST_DAYS = 8, 366


@dataclass(frozen=True)
class PlaceFacts:
    """What there is to say of a place; volume_m3: its free volume; limit_ml: most flammable liquid, set by limit_by."""

    name: str
    within: Place | None = None
    closed: bool = False
    has_heat: bool = False
    has_spark: bool = False
    volume_m3: float | None = None
    air_changes_h: float | None = None
    limit_ml: float | None = None
    limit_by: str = ""
    limit_on: date | None = None
    limit_note: str = ""
    note: str = ""


@dataclass(frozen=True)
class Wanted:
    """What is to be kept in a place. amount: ml of a liquid, g of a solid, ml of water volume; None where not known."""

    substance: Substance
    amount: float | None = None
    empties: bool = False
    note: str = ""
    holds_stock: bool = False


@action(roles=ENGINEERS)
def add_place(*, by: Person, facts: PlaceFacts, sure: Collection[str] = ()) -> Place:
    """Write down a place. Refused if its name is taken or its facts disagree; asks about large figures."""
    columns = _checked(facts, None)
    _ask_about(facts, sure)
    with one_of_its_name(TWICE):
        return Place.objects.create(**columns)


@action(roles=ENGINEERS)
def change_place(*, by: Person, place: Place, version: int, facts: PlaceFacts, sure: Collection[str] = ()) -> Place:
    """Write it down otherwise. Changed if `version` is stale; refused if it would lie within itself."""
    columns = _checked(facts, place)
    _ask_about(facts, sure)
    with one_of_its_name(TWICE):
        done = Place.objects.filter(pk=place.pk, version=version).update(**columns, version=F("version") + 1)
    if not done:
        raise Changed(CHANGED)
    return Place.objects.get(pk=place.pk)


def _checked(facts: PlaceFacts, place: Place | None) -> dict[str, object]:
    """The columns of a place."""
    name = words(facts.name, field="name", longest=80, needed=True)
    not_taken(Place, name, sentence=TWICE, but=place)
    if facts.within is not None:
        _lies_in(facts.within, place)
    if facts.volume_m3 is not None and not VOLUME_M3[0] <= facts.volume_m3 <= VOLUME_M3[1]:
        raise Refused("A room's free volume is between 0.05 and 10\u202f000 m³.", field="volume_m3")
    if facts.air_changes_h is not None and not AIR_CHANGES_H[0] <= facts.air_changes_h <= AIR_CHANGES_H[1]:
        raise Refused("Air changes between 0 and 100 times in an hour.", field="air_changes_h")
    if facts.closed and facts.air_changes_h:
        raise Refused("Either its air changes or it does not: leave one of the two out.", field="air_changes_h")
    if facts.limit_by and facts.limit_by not in LimitBy.values:
        raise Refused("That is not on the list, or not any more. Choose again.", field="limit_by")
    limit = _limit(facts)
    return {
        "name": name,
        "within": facts.within,
        "closed": facts.closed,
        "has_heat": facts.has_heat,
        "has_spark": facts.has_spark,
        "volume_l": None if facts.volume_m3 is None else round(1000 * facts.volume_m3),
        "air_changes_h": facts.air_changes_h,
        "limit_ml": limit,
        "limit_by": facts.limit_by,
        "limit_on": None if facts.limit_on is None else not_after_today(facts.limit_on, field="limit_on"),
        "limit_note": words(facts.limit_note, field="limit_note", longest=200),
        "note": words(facts.note, field="note", longest=300),
    }


def _limit(facts: PlaceFacts) -> int | None:
    if facts.limit_ml is None:
        if facts.limit_by or facts.limit_on:
            raise Refused("Say how much it is, or leave out who set it and when.", field="limit_ml")
        return None
    limit = round(facts.limit_ml)
    if not 0 < limit <= MOST_ML:
        raise Refused("A limit is above zero; leave it empty where none is written down.", field="limit_ml")
    if not facts.limit_by:
        raise Refused("Say who set that limit.", field="limit_by")
    return limit


def _lies_in(within: Place, place: Place | None) -> None:
    """See that the place can lie there: in one that is still there, not in itself, not too deep."""
    at: Place | None = within
    depth = 0
    while at is not None:
        depth += 1
        if not at.is_active:
            raise Refused(f"“{at.name}” is not kept any more. Choose another place around it.", field="within")
        if place is not None and at.pk == place.pk:
            raise Refused("A place cannot lie within itself.", field="within")
        if depth > DEEPEST:
            raise Refused("That is too deep: name the room, the cupboard, and at most the shelf.", field="within")
        at = at.within


def _ask_about(facts: PlaceFacts, sure: Collection[str]) -> None:
    doubts = []
    if facts.volume_m3 is not None and facts.volume_m3 > _ASK_FROM_M3:
        doubts.append(
            Doubt("large-volume", "volume_m3", "That is a hall, not a room: is it cubic metres, furniture taken out?")
        )
    if facts.air_changes_h is not None and facts.air_changes_h > _ASK_FROM_CHANGES:
        doubts.append(
            Doubt("many-changes", "air_changes_h", "Few rooms change their air that often: is it times in an hour?")
        )
    ask_unless_sure(doubts, sure)


@action(roles=ENGINEERS)
def change_kept(*, by: Person, place: Place, version: int, kept: Sequence[Wanted]) -> Place:
    """Write down what is kept in a place from now on, all of it; what is not named is there no more.

    Changed if `version` is stale. Refused if a substance is named twice, or anything but cylinders is called empty.
    """
    held = still_as_read(place, version)
    if not held.is_active:
        raise Refused("This place is not kept any more. Take it up again first.")
    if len(kept) > MOST_KEPT:
        raise Refused(f"At most {MOST_KEPT} things in one place: part it into shelves.")
    found: dict[tuple[int, bool], Wanted] = {}
    for row, wanted in enumerate(kept):
        key = (wanted.substance.pk, wanted.empties)
        if key in found:
            raise Refused("It is named twice.", field=f"kept.{row}.substance")
        if wanted.empties and wanted.substance.form != Form.GAS:
            raise Refused("Only cylinders are told apart as empty.", field=f"kept.{row}.empties")
        if wanted.amount is not None and not 0 < round(wanted.amount) <= MOST_AMOUNT:
            raise Refused("Give an amount above zero, or leave it empty.", field=f"kept.{row}.amount")
        if wanted.holds_stock:
            _stock_stands_here(wanted.substance, held, row)
        found[key] = replace(wanted, note=words(wanted.note, field=f"kept.{row}.note", longest=120))
    before = {(old.substance_id, old.empties): old for old in held.kept.all()}
    for key, wanted in found.items():
        amount = None if wanted.amount is None else round(wanted.amount)
        facts = {"amount": amount, "note": wanted.note, "holds_stock": wanted.holds_stock}
        if key in before:  # what stays is the same row, so that an answer about it holds on
            Kept.objects.filter(pk=before.pop(key).pk).update(**facts)
        else:
            Kept.objects.create(place=held, substance=wanted.substance, empties=wanted.empties, **facts)
    for old in before.values():
        opened = Container.objects.filter(place=held, substance=old.substance_id, ended_at=None).first()
        if opened is not None and not old.empties:
            raise Refused(f"{opened} stands open here. Finish it or move it first, then take it off the list.")
    Kept.objects.filter(pk__in=[old.pk for old in before.values()]).delete()
    held.version += 1
    held.save(update_fields=["version"])
    return held


def _stock_stands_here(substance: Substance, place: Place, row: int) -> None:
    """See that its stock is a liquid's, and stands nowhere else."""
    if substance.form != Form.LIQUID:
        raise Refused("Only of liquids the stock is counted here.", field=f"kept.{row}.holds_stock")
    elsewhere = Kept.objects.filter(substance=substance, holds_stock=True).exclude(place=place).select_related("place")
    if (other := elsewhere.first()) is not None:
        raise Refused(
            f"Its stock stands in “{other.place.name}” by what is written down. Change that first.",
            field=f"kept.{row}.holds_stock",
        )


@action(roles=ENGINEERS)
def stop_place(*, by: Person, place: Place) -> Place:
    """Take a place off the list. Refused while something is kept in it, or another place lies in it."""
    held = Place.objects.select_for_update().get(pk=place.pk)
    if not held.is_active:
        raise Changed("It is off the list already.")
    if held.kept.exists():
        raise Refused("Something is still kept in it. Write down first where that is now.")
    if held.holds.filter(is_active=True).exists():
        raise Refused("Other places lie within it. Say first where they are.")
    return _switched(held, is_active=False)


@action(roles=ENGINEERS)
def resume_place(*, by: Person, place: Place) -> Place:
    """Put a place back on the list. Refused while the place around it is off it."""
    held = Place.objects.select_for_update(of=("self",)).select_related("within").get(pk=place.pk)
    if held.is_active:
        raise Changed("It is on the list already.")
    if held.within is not None and not held.within.is_active:
        raise Refused(f"It lies within “{held.within.name}”, which is off the list. Put that back first.")
    return _switched(held, is_active=True)


def _switched(place: Place, *, is_active: bool) -> Place:
    place.is_active = is_active
    place.version += 1
    place.save(update_fields=["is_active", "version"])
    return place


@action(roles=ENGINEERS)
def answer_finding(*, by: Person, key: str, because: str, until: date) -> FindingAnswer:
    """Sign that the shop knows of things that stand together, why they stay, and through which day at the longest.

    Refused if they stand together no more, or for a day that is past or over a year away. A later answer counts in
    place of an earlier one; one until today lets the concern come back tomorrow.
    """
    because = words(because, field="because", longest=300, needed=True)
    today = clock.today()
    if not today <= until <= today + timedelta(days=LONGEST_DAYS):
        raise Refused("Give a day from today on, at most a year away.", field="until")
    found = next((one for one in queries.layout().together if one.key == key), None)
    if found is None:
        raise Refused("These two do not stand together any more: there is nothing left to answer.")
    return FindingAnswer.objects.create(
        key=key, words=found.words[:300], because=because, until=until, at=clock.now(), by=by
    )

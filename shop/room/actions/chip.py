"""Chip after the trap: a can started, chip wetted and stored in it, the can handed over."""

from collections.abc import Collection
from datetime import datetime

from django.db import IntegrityError
from django.db.models import F, Sum

from shop import clock
from shop.people.models import HANDS, Person
from shop.press.action import action
from shop.press.rules import CHANGED, happened_at, one_of_its_name, words
from shop.refusal import Changed, Doubt, Refused, ask_unless_sure
from shop.room.models import ChipCan, ChipStored
from shop.room.queries.chip import TAKEN_BACK_WITHIN, to_store
from shop.room.wording import said, unit_slip

#: The most that is stored at once, g: more chip than a room of lathes cuts in a year.
MOST_G = 20_000.0
#: Asked about is chip of more than so many times what may have been emptied, or LITTLE_G: our own choice.
FAR_MORE, LITTLE_G = 2.0, 50.0
_TWICE = "A can of that mark is in use already. Add what tells this one from it."


def _limits(limit_g: int | None, limit_days: int | None) -> dict[str, int | None]:
    if limit_g is not None and not 1 <= limit_g <= MOST_G:
        raise Refused("Give the grams above nought, or leave it empty for no limit.", field="limit_g")
    if limit_days is not None and not 1 <= limit_days <= 3650:
        raise Refused("Give the days above nought, or leave it empty for no limit.", field="limit_days")
    return {"limit_g": limit_g, "limit_days": limit_days}


@action(roles=HANDS)
def start_chip_can(
    *,
    by: Person,
    mark: str,
    where: str = "",
    limit_g: int | None = None,
    limit_days: int | None = None,
    at: datetime | None = None,
) -> ChipCan:
    """Say that a waste can for wetted chip is in use from now on. Refused: a mark that another can in use has."""
    mark = words(mark, field="mark", longest=40, needed=True)
    in_use = ChipCan.objects.filter(mark__iexact=mark, handed_at=None)
    if in_use.exists():
        raise Refused(_TWICE, field="mark")
    with one_of_its_name(_TWICE, field="mark"):
        return ChipCan.objects.create(
            mark=mark,
            where=words(where, field="where", longest=120),
            started_at=happened_at(at),
            started_by=by,
            **_limits(limit_g, limit_days),
        )


@action(roles=HANDS)
def change_chip_can(
    *,
    by: Person,
    can: ChipCan,
    version: int,
    where: str = "",
    limit_g: int | None = None,
    limit_days: int | None = None,
) -> ChipCan:
    """Change where a can stands, and its limits. Changed if `version` is stale; refused once it is handed over."""
    if can.handed_at is not None:
        raise Refused(f"{can.mark} was handed over.")
    values = {"where": words(where, field="where", longest=120), **_limits(limit_g, limit_days)}
    if not ChipCan.objects.filter(pk=can.pk, version=version).update(**values, version=F("version") + 1):
        raise Changed(CHANGED)
    return ChipCan.objects.get(pk=can.pk)


@action(roles=HANDS)
def store_chip(
    *,
    by: Person,
    can: ChipCan,
    grams: float,
    wetted: bool,
    at: datetime | None = None,
    note: str = "",
    sure: Collection[str] = (),
) -> ChipStored:
    """Say that chip was wetted and stored in a can; grams: reckoned dry, as the trap's meter told.

    Refused: chip that is not wetted, a can that was handed over, a moment before its start, no chip at all. Asked
    about: far more than was emptied, and more than the can is to hold.
    """
    at = happened_at(at)
    if not wetted:
        raise Refused("Chip is put by wetted through, never dry. Wet it first, then tick that it is.", field="wetted")
    if not 0 < grams <= MOST_G:
        raise Refused("Give the grams of chip that went in, above nought.", field="grams")
    held = ChipCan.objects.select_for_update().get(pk=can.pk)
    if held.handed_at is not None:
        raise Refused(f"{held.mark} was handed over. Store it in one that is here.", field="can")
    if at < held.started_at:
        raise Refused(f"{held.mark} was not in use then. Give a later time.", field="at")
    ask_unless_sure(_much(held, grams, by), sure)
    mg = max(1, round(1000 * grams))
    return ChipStored.objects.create(can=held, mg=mg, at=at, recorded_at=clock.now(), by=by, note=note.strip())


def _much(can: ChipCan, grams: float, by: Person) -> list[Doubt]:
    waits = to_store().holds
    most = max(LITTLE_G, FAR_MORE * waits.high)
    doubts = []
    if grams > most:
        slip = unit_slip("mass", grams, by, lambda other: 0 < other <= most)
        than = (
            f"{said('mass', waits.g, by)} were emptied and are not down as stored"
            if waits.mg
            else "nothing was emptied that is not down as stored"
        )
        doubts.append(
            Doubt(
                key=f"grams:much:{grams:g}",
                field="grams",
                sentence=f"{said('mass', grams, by)} is much: {than}. {slip or 'Is the number right?'}",
            )
        )
    holds = (can.stored.aggregate(sum=Sum("mg"))["sum"] or 0) / 1000 + grams
    if can.limit_g is not None and holds > can.limit_g:
        doubts.append(
            Doubt(
                key=f"can:over:{can.pk}:{grams:g}",
                field="can",
                sentence=(
                    f"{can.named} would hold {said('mass', holds, by)} then; its limit is "
                    f"{said('mass', can.limit_g, by)}. Start another can, or is it really in this one?"
                ),
            )
        )
    return doubts


@action(roles=HANDS)
def take_back_chip(*, by: Person, stored: ChipStored, why: str) -> ChipStored:
    """Take an entry back that was written by mistake: a new one names it and makes up for it; both stay."""
    why = words(why, field="why", longest=300, needed=True)
    if stored.undoes_id is not None:
        raise Refused("This entry takes another one back. Write a new one instead.")
    held = ChipCan.objects.select_for_update().get(pk=stored.can_id)
    if held.handed_at is not None:
        raise Refused(f"{held.mark} was handed over since: what went with it stays as it was written.")
    if ChipStored.objects.filter(undoes=stored).exists():
        raise Refused("This entry was taken back already.")
    try:
        return ChipStored.objects.create(
            can=held, mg=-stored.mg, at=clock.now(), recorded_at=clock.now(), by=by, note=why, undoes=stored
        )
    except IntegrityError as raced:
        raise Refused("This entry was taken back already.") from raced


@action(roles=HANDS)
def hand_over_chip(*, by: Person, can: ChipCan, taken_by: str, papers: str = "", at: datetime | None = None) -> ChipCan:
    """Say who took a can away, and by which papers. Refused: twice, and for a moment before chip was put in it."""
    at = happened_at(at)
    taken_by = words(taken_by, field="taken_by", longest=120, needed=True)
    papers = words(papers, field="papers", longest=200)
    held = ChipCan.objects.select_for_update().get(pk=can.pk)
    if held.handed_at is not None:
        raise Refused(f"{held.mark} was handed over already.")
    last = held.stored.filter(undone_by=None, undoes=None).order_by("-at").first()
    if at < max(held.started_at, last.at if last else held.started_at):
        raise Refused("Chip was put in it after that. Give a later time.", field="at")
    if last is None or not (held.stored.aggregate(sum=Sum("mg"))["sum"] or 0):
        raise Refused(f"Nothing is written down as stored in {held.mark}. Write that down first.")
    ChipCan.objects.filter(pk=held.pk).update(
        handed_at=at,
        handed_by=by,
        handed_noted_at=clock.now(),
        taken_by=taken_by,
        papers=papers,
        version=F("version") + 1,
    )
    return ChipCan.objects.get(pk=held.pk)


@action(roles=HANDS)
def take_back_can(*, by: Person, can: ChipCan, why: str) -> ChipCan:
    """Take back that a can was handed over, where that was written by mistake: it is in use again, with what it holds.

    The record keeps who had written it, and why it was taken back. Refused: a can that is here, one whose handing over
    was written down longer than TAKEN_BACK_WITHIN ago, and while another of the same mark is in use.
    """
    words(why, field="why", longest=300, needed=True)
    held = ChipCan.objects.select_for_update().get(pk=can.pk)
    if held.handed_at is None:
        raise Refused(f"{held.named} is here.")
    if not held.may_come_back(clock.now() - TAKEN_BACK_WITHIN):
        raise Refused(
            "It was written down as handed over more than a day ago, and stays so. If it is here all the same, start "
            "it as another can."
        )
    if ChipCan.objects.filter(mark__iexact=held.mark, handed_at=None).exists():
        raise Refused(f"Another can marked {held.mark} is in use by now.")
    with one_of_its_name(f"Another can marked {held.mark} is in use by now.", field=""):
        ChipCan.objects.filter(pk=held.pk).update(
            handed_at=None, handed_by=None, handed_noted_at=None, taken_by="", papers="", version=F("version") + 1
        )
    return ChipCan.objects.get(pk=held.pk)

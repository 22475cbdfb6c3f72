"""How noisy a silent groove was: writing a level down, and striking one out."""

from collections.abc import Collection
from datetime import datetime

from django.db.models import Q

from shop import clock
from shop.cutting import noise, rules
from shop.cutting.actions.lists import LEVEL_DB
from shop.cutting.models import CuttingLimits, Fitting, Life, NoiseLevel, Side, Stylus
from shop.cutting.wording import level_words
from shop.people.models import HANDS, Person
from shop.press.action import action
from shop.press.rules import happened_at, words
from shop.refusal import Doubt, Refused, ask_unless_sure


@action(roles=HANDS)
def add_noise_level(
    *,
    by: Person,
    stylus: Stylus,
    level_db: float,
    side: Side | None = None,
    at: datetime | None = None,
    note: str = "",
    sure: Collection[str] = (),
) -> NoiseLevel:
    """Write down how noisy a silent groove was: of one of its sides, or of a test cut.

    It belongs to the life that cut the side, or to the one that was in a head at `at`. Refuses a level that no groove
    has, a side of another stylus, a withdrawn one and one that has a level, and a time at which the stylus was in no
    head. Asks about one above 0 dB.
    """
    level_db = rules.between(level_db, *LEVEL_DB, field="level_db", unit="dB")
    at = happened_at(side.at if side is not None and at is None else at)
    note = words(note, field="note", longest=300)
    life = _of_side(stylus, side, at) if side is not None else _in_a_head(stylus, at)
    ask_unless_sure(level_doubts(level_db), sure)
    level = NoiseLevel.objects.create(life=life, side=side, at=at, by=by, level_db=level_db, note=note)
    noise.look_again(life)
    return level


def level_doubts(level_db: float) -> list[Doubt]:
    """A doubt about a silent groove louder than the room's reference, unless its own limit says that they may be."""
    limit_db = CuttingLimits.objects.filter(pk=1).values_list("noise_db", flat=True).first()
    return [] if limit_db is not None and limit_db > 0 else noise.above_reference(level_db, field="level_db")


@action(roles=HANDS)
def strike_noise_level(*, by: Person, level: NoiseLevel, why: str) -> NoiseLevel:
    """Strike out a level that was written down wrongly; it stays to be read, and counts no more."""
    why = words(why, field="why", longest=300, needed=True)
    struck = NoiseLevel.objects.filter(pk=level.pk, struck_at__isnull=True).update(
        struck_at=clock.now(), struck_by=by, struck_why=why
    )
    if not struck:
        raise Refused("That level was struck out already.")
    noise.look_again(level.life)
    return NoiseLevel.objects.select_related("life__stylus").get(pk=level.pk)


def _of_side(stylus: Stylus, side: Side, at: datetime) -> Life:
    held = Side.objects.select_related("life__stylus").get(pk=side.pk)
    if held.life.stylus_id != stylus.pk:
        raise Refused(f"That side was cut by {held.life.stylus}.", field="side")
    if hasattr(held, "withdrawal"):
        raise Refused("That side was withdrawn.", field="side")
    if at < held.at:
        raise Refused(f"That side only ended at {rules.clock_words(held.at)}.", field="at")
    if other := NoiseLevel.objects.filter(side=held, struck_at__isnull=True).first():
        raise Refused(f"That side has a level: {level_words(other.level_db)}. Strike that out first.", field="side")
    return held.life


def _in_a_head(stylus: Stylus, at: datetime) -> Life:
    fitted = Fitting.objects.select_related("life").filter(life__stylus=stylus, fitted_at__lte=at)
    there = fitted.filter(Q(off_at__isnull=True) | Q(off_at__gte=at)).order_by("-fitted_at", "-id").first()
    if there is None:
        raise Refused(
            f"{stylus} was in no head at {rules.clock_words(at)}, so it cut no groove then. Give the time of the test "
            "cut, or the side.",
            field="at",
        )
    return there.life

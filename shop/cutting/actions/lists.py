"""The shop's own lists: lathes, kinds of stylus, reasons for a reject, and its limits for cutting."""

from collections.abc import Collection
from decimal import Decimal

from shop.cutting import noise, rules
from shop.cutting.models import Blame, CostFigures, CuttingLimits, Lathe, RejectReason, StylusKind, Sureness
from shop.people.models import ENGINEERS, Person
from shop.press.action import action
from shop.press.rules import not_taken, one_of_its_name, still_as_read, words
from shop.refusal import Refused, ask_unless_sure
from shop.stock import quality
from shop.stock.rules import cost

#: The bounds of what may be entered for a kind: wide enough for any stylus, narrow enough to catch a slip.
HOURS_EXPECTED = (0.1, 1000.0)
TIP_RADIUS_UM = (0.1, 25.0)
NO_RADIUS = "No tip has a radius of 0. Leave it empty if it is not known."
#: The levels of a silent groove that may be written down, in dB against the shop's own reference.
LEVEL_DB = (-120.0, 20.0)


@action(roles=ENGINEERS)
def add_lathe(*, by: Person, name: str) -> Lathe:
    """Enter a lathe. Refuses a name that is taken."""
    sentence = "There is a lathe of that name."
    name = not_taken(Lathe, _name(name, 60), field="name", sentence=sentence)
    with one_of_its_name(sentence):
        return Lathe.objects.create(name=name)


@action(roles=ENGINEERS)
def change_lathe(*, by: Person, lathe: Lathe, version: int, name: str, is_active: bool) -> Lathe:
    """Rename a lathe or take it out of use. Refuses to take one out of use with a stylus in its head."""
    held = still_as_read(lathe, version)
    sentence = "There is another lathe of that name."
    held.name = not_taken(Lathe, _name(name, 60), field="name", sentence=sentence, but=held)
    if not is_active and (fitted := held.fittings.filter(off_at__isnull=True).select_related("life__stylus").first()):
        raise Refused(f"{fitted.life.stylus} is in its head. Take that off first.", field="is_active")
    held.is_active = is_active
    held.version += 1
    with one_of_its_name(sentence):
        held.save()
    return held


@action(roles=ENGINEERS)
def add_stylus_kind(
    *, by: Person, name: str, expected_h: float, sureness: str = Sureness.ROUGH, tip_radius_um: float | None = None
) -> StylusKind:
    """Enter a kind of stylus with the hours this shop expects of a fresh edge, and how sure it is of them."""
    sentence = "There is a kind of that name."
    kind = StylusKind(
        name=not_taken(StylusKind, _name(name, 80), field="name", sentence=sentence),
        **_expectation(expected_h, sureness, tip_radius_um),
    )
    with one_of_its_name(sentence):
        kind.save()
    return kind


@action(roles=ENGINEERS)
def change_stylus_kind(
    *,
    by: Person,
    kind: StylusKind,
    version: int,
    name: str,
    expected_h: float,
    sureness: str,
    tip_radius_um: float | None = None,
    is_active: bool,
) -> StylusKind:
    """Change a kind's name or what is expected of it. What its styli are judged by changes at once."""
    held = still_as_read(kind, version)
    sentence = "There is another kind of that name."
    held.name = not_taken(StylusKind, _name(name, 80), field="name", sentence=sentence, but=held)
    for field, value in _expectation(expected_h, sureness, tip_radius_um).items():
        setattr(held, field, value)
    held.is_active = is_active
    held.version += 1
    with one_of_its_name(sentence):
        held.save()
    return held


@action(roles=ENGINEERS)
def add_reject_reason(*, by: Person, name: str, blame: str) -> RejectReason:
    """Enter a reason for rejecting a side, and what it speaks against."""
    sentence = "That reason is in the list already."
    reason = RejectReason(
        name=not_taken(RejectReason, _name(name, 60), field="name", sentence=sentence), blame=_blame(blame)
    )
    with one_of_its_name(sentence):
        reason.save()
    return reason


@action(roles=ENGINEERS)
def change_reject_reason(
    *, by: Person, reason: RejectReason, version: int, name: str, blame: str, is_active: bool
) -> RejectReason:
    """Reword a reason or take it off the list; sides that were rejected for it keep it."""
    held = still_as_read(reason, version)
    blamed = held.blame
    sentence = "Another reason has that name."
    held.name = not_taken(RejectReason, _name(name, 60), field="name", sentence=sentence, but=held)
    held.blame = _blame(blame)
    held.is_active = is_active
    held.version += 1
    with one_of_its_name(sentence):
        held.save()
    if held.blame != blamed:
        quality.look_at_all_again()
    return held


@action(roles=ENGINEERS)
def change_limits(
    *,
    by: Person,
    version: int,
    care_below: float,
    hold_below: float,
    days_ahead: int,
    noise_db: float | None = None,
    plating_days: int | None = None,
    sure: Collection[str] = (),
) -> CuttingLimits:
    """Set the shop's own limits: chances from 0 to 1, days from 1 to 365, and the level above which an edge counts as
    noisy (None for none), against which every open life's levels are held anew. plating_days None: what becomes of
    masters is not kept here. Asks about a noise limit above 0 dB, louder than the room's own reference."""
    CuttingLimits.objects.get_or_create(pk=1)
    held = still_as_read(CuttingLimits(pk=1), version)
    held.care_below = rules.between(care_below, 0, 1, field="care_below")
    held.hold_below = rules.between(hold_below, 0, 1, field="hold_below")
    if hold_below > care_below:
        raise Refused("Hold must begin at or below the chance for care.", field="hold_below")
    held.days_ahead = int(rules.between(days_ahead, 1, 365, field="days_ahead", unit="days"))
    held.plating_days = (
        None if plating_days is None else int(rules.between(plating_days, 1, 365, field="plating_days", unit="days"))
    )
    noise_before = held.noise_db
    held.noise_db = None if noise_db is None else rules.between(noise_db, *LEVEL_DB, field="noise_db", unit="dB")
    if held.noise_db is not None and held.noise_db != noise_before:
        ask_unless_sure(noise.above_reference(held.noise_db, field="noise_db"), sure)
    held.version += 1
    held.save()
    if held.noise_db != noise_before:
        noise.look_at_all_again()
    return held


@action(roles=ENGINEERS)
def change_cost_figures(
    *,
    by: Person,
    version: int,
    gas_side: Decimal | None = None,
    care_hour: Decimal | None = None,
    change_stylus: Decimal | None = None,
    spoiled_side: Decimal | None = None,
) -> CostFigures:
    """Say what gas costs for a side and care for an hour of cutting, the work of changing a stylus, and a side that one
    spoils besides its blank; in the room's currency, None for not known."""
    CostFigures.objects.get_or_create(pk=1)
    held = still_as_read(CostFigures(pk=1), version)
    held.gas_side = cost(gas_side, field="gas_side")
    held.care_hour = cost(care_hour, field="care_hour")
    held.change_stylus = cost(change_stylus, field="change_stylus")
    held.spoiled_side = cost(spoiled_side, field="spoiled_side")
    held.version += 1
    held.save()
    return held


def _name(text: str, longest: int) -> str:
    return words(text, field="name", longest=longest, needed=True)


def _blame(blame: str) -> str:
    if blame not in Blame.values:
        raise Refused("Choose what it speaks against.", field="blame")
    return blame


def tip_radius(radius_um: float | None) -> float | None:
    """The radius of a tip; None, not 0, is how one says that it is not known."""
    if radius_um is None:
        return None
    if radius_um == 0:
        raise Refused(NO_RADIUS, field="tip_radius_um")
    return rules.between(radius_um, *TIP_RADIUS_UM, field="tip_radius_um", unit="µm")


def _expectation(expected_h: float, sureness: str, tip_radius_um: float | None) -> dict[str, float | str | None]:
    if sureness not in Sureness.values:
        raise Refused("Choose how sure the shop is.", field="sureness")
    return {
        "expected_h": rules.between(expected_h, *HOURS_EXPECTED, field="expected_h", unit="hours"),
        "sureness": sureness,
        "tip_radius_um": tip_radius(tip_radius_um),
    }

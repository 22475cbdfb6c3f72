"""Taking readings, inside whichever action they belong to: what is refused, what is asked about, the row that is added.

Plain functions, not actions: a reading taken alone (actions.take_readings) and one taken with a morning check go the
same way.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from shop import clock
from shop.calc import gas
from shop.people.fields import PREFERENCE
from shop.people.models import Person, Units
from shop.refusal import Doubt, Refused, ask_unless_sure
from shop.room import hours, queries
from shop.room.contents import GAS_C
from shop.room.gauge import READ_WITHIN_BAR, Losing, before_of, gauge_doubts, more_words
from shop.room.kinds import KINDS
from shop.room.models import Cylinder, Reading, ReadingKind
from shop.room.since import sides_later, sides_since
from shop.room.wording import moment_words, said, unit_slip, when

#: For how long a reading is one to compare the next with.
COMPARED_FOR = timedelta(days=7)
#: A reading entered later than this after it was taken is asked about: our own choice.
ENTERED_WITHIN = timedelta(days=3)


def impossible(kind: ReadingKind, value: float, reader: Units) -> str:
    """Why a value (in the stored unit) cannot be, in the reader's units; "" if it can.

    Here and in doubts the sentence does not name the reading: it stands at its box, and after its name in the summary.
    """
    about = KINDS[kind]
    low, high = about.possible
    if low <= value <= high:
        return ""
    if about.quantity == "humidity":
        return "That is always between 0 and 100\u00a0%."
    edge = (
        f"below {said(about.quantity, low, reader)}" if value < low else f"above {said(about.quantity, high, reader)}"
    )
    sentence = f"It cannot be {edge}."
    if about.quantity == "suction" and low <= -value <= high:
        return f"{sentence} Suction is written without the minus: {said(about.quantity, -value, reader)}."
    slip = unit_slip(about.quantity, value, reader, lambda other: about.plausible[0] <= other <= about.plausible[1])
    return f"{sentence} {slip}".strip()


def doubts_about(
    kind: ReadingKind,
    value: float,
    *,
    at: datetime,
    by: Units,
    cylinder: Cylinder | None = None,
    celsius: float | None = None,
    leave_out: Reading | None = None,
    field: str = "",
) -> list[Doubt]:
    """What looks wrong about a value that is possible: empty if nothing does.

    by: whose units the sentences speak. cylinder: of a gauge reading. celsius: the temperature taken with a gauge;
    without it the room's read nearest to `at` counts. leave_out: the reading that this one corrects. field: where
    the form shows it; the kind's own name if not given. A doubt's key holds the value: confirming it confirms no other.
    """
    field = field or str(kind)
    if kind == ReadingKind.NITROGEN_BAR:
        if cylinder is None:
            raise ValueError("a gauge reading names its cylinder")
        earlier = queries.gauge_before(cylinder, at, leave_out=leave_out)
        warm_then = queries.celsius_of(earlier) if earlier else None
        warm_now = queries.celsius_near(at) if celsius is None else celsius
        found = gauge_doubts(
            cylinder=cylinder,
            gauge_bar=value,
            celsius=_of_gas(warm_now),
            at=at,
            before=before_of(cylinder, earlier, _of_gas(warm_then)),
            reader=by,
            field=field,
            losing=_losing(cylinder, earlier, warm_then, at, warm_now) if earlier else None,
        )
        if found:
            return found
        more = more_later(cylinder, value, warm_now, at=at, by=by, leave_out=leave_out)
        return [Doubt(key=f"{field}:more-later:{value:g}", field=field, sentence=more)] if more else []
    return _implausible(kind, value, by, field) or _jumped(kind, value, at, by, leave_out, field)


def _losing(
    cylinder: Cylinder, earlier: Reading, warm_then: float | None, at: datetime, warm_now: float | None
) -> Losing:
    """What would be lost between an earlier reading of a gauge and one at `at`. Where one temperature is not known, the
    other is taken for it. The room's habit is asked for where the gauge fell by enough to need it."""
    litres = cylinder.water_volume_l
    then_c, now_c = (warm_then, warm_now) if None not in (warm_then, warm_now) else (warm_then or warm_now,) * 2
    was = queries.stood(litres, earlier.at, earlier.value, then_c, sides_since=sides_since(earlier))
    habits: list[gas.GasHabit] = []

    def losing(bar: float) -> gas.GasLoss | None:
        if bar + READ_WITHIN_BAR >= earlier.value:
            return None
        now = queries.stood(litres, at, bar, now_c, sides_since=sides_later(earlier))
        if not habits:
            habits.append(queries.kept_habit())
        return next(iter(gas.gas_losses([was, now], habits[0])), None)

    return losing


def more_later(
    cylinder: Cylinder,
    gauge_bar: float,
    celsius: float | None,
    *,
    at: datetime,
    by: Units,
    leave_out: Reading | None = None,
) -> str:
    """Why a gauge cannot have stood so low then: read after that, it showed more than that gas explains; "" if not.

    celsius: the temperature at that moment, or None: then that of the later reading.
    """
    later = queries.gauge_after(cylinder, at, leave_out=leave_out)
    if later is None:
        return ""
    warm_now, warm_later = _of_gas(celsius), _of_gas(queries.celsius_of(later))
    return more_words(cylinder, gauge_bar, warm_now, later, warm_later, by)


@dataclass(frozen=True)
class Taking:
    """A reading about to be taken. cylinder: whose gauge it is; corrects: the one it replaces; field: of the form."""

    kind: ReadingKind
    value: float
    at: datetime
    cylinder: Cylinder | None = None
    corrects: Reading | None = None
    field: str = ""


def ask_about(
    takings: Sequence[Taking],
    *,
    by: Units,
    sure: Collection[str],
    celsius: float | None = None,
    also: Iterable[Doubt] = (),
) -> None:
    """Ask (Doubtful) at once about all that looks wrong in readings taken together, less what is in `sure`.

    celsius: the room's temperature among them. The gauge is judged by it, and so is let be while it is itself in
    doubt. also: doubts about other things of the same form.
    """
    found = {
        taking.kind: doubts_about(
            taking.kind,
            taking.value,
            at=taking.at,
            by=by,
            cylinder=taking.cylinder,
            celsius=celsius,
            leave_out=taking.corrects,
            field=taking.field,
        )
        for taking in takings
    }
    if any(doubt.key not in sure for doubt in found.get(ReadingKind.ROOM_C, ())):
        found.pop(ReadingKind.NITROGEN_BAR, None)
    ask_unless_sure([*(doubt for doubts in found.values() for doubt in doubts), *also], sure)


def _of_gas(celsius: float | None) -> float | None:
    """A room temperature that a cylinder can have; None for one that cannot be reckoned with."""
    return celsius if celsius is not None and GAS_C[0] <= celsius <= GAS_C[1] else None


def _implausible(kind: ReadingKind, value: float, reader: Units, field: str) -> list[Doubt]:
    about = KINDS[kind]
    low, high = about.plausible
    if low <= value <= high:
        return []
    slip = unit_slip(about.quantity, value, reader, lambda other: low <= other <= high)
    if about.quantity == "humidity" and value <= 1 and low <= 100 * value <= high:
        slip = f"Did you mean {said(about.quantity, 100 * value, reader)}, written as a share of 1?"
    usual = f"It is mostly between {said(about.quantity, low, reader)} and {said(about.quantity, high, reader)}."
    shown = said(about.quantity, value, reader)
    lead = "" if about.quantity in PREFERENCE else "That looks wrong. "
    return [
        Doubt(
            key=f"{field}:unlikely:{value:g}",
            field=field,
            sentence=f"{lead}{slip}" if slip else f"{shown} looks wrong. {usual} Read it again.",
        )
    ]


def _jumped(
    kind: ReadingKind, value: float, at: datetime, reader: Units, leave_out: Reading | None, field: str
) -> list[Doubt]:
    about = KINDS[kind]
    earlier = queries.reading_before(kind, at, leave_out=leave_out)
    if about.jump is None or earlier is None or at - earlier.at > COMPARED_FOR:
        return []
    if abs(value - earlier.value) <= about.jump:
        return []
    return [
        Doubt(
            key=f"{field}:jumped:{value:g}",
            field=field,
            sentence=(
                f"It was {said(about.quantity, earlier.value, reader)} {when(earlier)} and is now "
                f"{said(about.quantity, value, reader)}. Is that right?"
            ),
        )
    ]


def late(kinds: Iterable[ReadingKind], at: datetime, cylinder: Cylinder | None) -> list[Doubt]:
    """What looks wrong about the moment: one of these kinds was read after it already, or it is long gone by."""
    later = queries.latest_after(at, kinds=kinds, cylinder=cylinder)
    if later is not None:
        name = KINDS[ReadingKind(later.kind)].name
        lead = f"{name} was read after that already, {when(later)}."
    elif clock.now() - at > ENTERED_WITHIN:
        lead = f"That is {(clock.today() - clock.day_of(at)).days} days ago."
    else:
        return []
    return [
        Doubt(key=f"at:late:{at.isoformat()}", field="at", sentence=f"{lead} Was it read {moment_words(at)}, as typed?")
    ]


def take(
    *,
    kind: ReadingKind,
    value: float,
    at: datetime,
    by: Person,
    cylinder: Cylinder | None = None,
    corrects: Reading | None = None,
    beside_c: float | None = None,
    note: str = "",
    field: str = "",
) -> Reading:
    """Add one reading, in the stored unit of its kind. Refused where it cannot be or lies in the future.

    cylinder: the one whose gauge it is, beside_c: the temperature read beside it, for gauge readings only; one that
    corrects another keeps that one's. field: which form field a refusal belongs to.
    """
    now = clock.now()
    if at > now:
        raise Refused("That is in the future. Give the time at which it was read.", field="at")
    if sentence := impossible(kind, value, by):
        raise Refused(sentence, field=field or str(kind))
    if beside_c is None and corrects is not None:
        beside_c = corrects.beside_c
    taken = Reading.objects.create(
        kind=kind,
        value=value,
        at=at,
        recorded_at=now,
        by=by,
        cylinder=cylinder if kind == ReadingKind.NITROGEN_BAR else None,
        beside_c=beside_c if kind == ReadingKind.NITROGEN_BAR else None,
        corrects=corrects,
        note=note,
    )
    if corrects is None:
        hours.count_in([taken])
    else:
        hours.add_up(corrects)
    return taken


def take_all(
    *,
    values: Mapping[ReadingKind, float],
    at: datetime,
    by: Person,
    sure: Collection[str] = (),
    note: str = "",
) -> dict[ReadingKind, Reading]:
    """Add several readings of one moment; a gauge reading goes to the cylinder connected then.

    All that is doubtful is asked at once (Doubtful, less what is in `sure`), and nothing is added before it is
    confirmed. Fields of a form are named as the kinds are.
    """
    if at > clock.now():
        raise Refused("That is in the future. Give the time at which it was read.", field="at")
    for kind, value in values.items():
        if sentence := impossible(kind, value, by):
            raise Refused(sentence, field=str(kind))
    cylinder = None
    if ReadingKind.NITROGEN_BAR in values:
        cylinder = queries.cylinder_at(at)
        if cylinder is None:
            raise Refused(
                "No cylinder was connected then. Connect it first; its gauge can be read after that.",
                field=ReadingKind.NITROGEN_BAR,
            )
    ask_about(
        [Taking(kind, value, at, cylinder=cylinder) for kind, value in values.items()],
        by=by,
        sure=sure,
        celsius=values.get(ReadingKind.ROOM_C),
        also=late(values, at, cylinder),
    )
    return {
        kind: take(kind=kind, value=value, at=at, by=by, cylinder=cylinder, note=note) for kind, value in values.items()
    }

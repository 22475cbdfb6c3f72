"""The vacuum line: baselines of a clean line, its parts, the shop's rules for it."""

from collections.abc import Collection
from datetime import date

from django.db.models import F

from shop import clock
from shop.calc import vacuum
from shop.duties.models import Duty
from shop.people.models import ENGINEERS, Person
from shop.press.action import action
from shop.press.rules import CHANGED, not_taken, one_of_its_name, still_as_read, words
from shop.refusal import Changed, Doubt, Refused, ask_unless_sure
from shop.room.kinds import DEW_POINT
from shop.room.models import SUCTION, LineBaseline, LinePart, LineRules, ReadingKind
from shop.room.queries.readings import readings
from shop.room.queries.vacuum import BY_EYE, cleaned_at, line_rules
from shop.room.wording import said
from shop.wording import in_full

_TWICE = "The line has a part of that name already."


@action(roles=ENGINEERS)
def take_baseline(
    *,
    by: Person,
    kind: ReadingKind,
    since: date,
    until: date | None = None,
    conditions: str,
    sure: Collection[str] = (),
) -> LineBaseline:
    """Let the readings that were taken of a point by eye, from one day through another stand for the clean line.

    Refused: a kind that is no suction, days that are turned round or to come, too few readings. Asked about: fewer than
    make a good one, readings from before the line was last cleaned.
    """
    until = until or clock.today()
    if kind not in SUCTION:
        raise Refused("Only suction has a baseline.", field="kind")
    if until > clock.today():
        raise Refused("That is in the future.", field="until")
    if since > until:
        raise Refused("The last day is before the first.", field="until")
    conditions = words(conditions, field="conditions", longest=200, needed=True)
    start, end = clock.day_bounds(since)[0], clock.day_bounds(until)[1]
    taken = list(
        readings()
        .filter(kind=kind, at__gte=start, at__lt=end, **BY_EYE)
        .order_by("at", "id")
        .values_list("at", "value")
    )
    if len(taken) < vacuum.FEWEST:
        raise Refused(
            f"{len(taken)} reading{'' if len(taken) == 1 else 's'} in those days: it takes {vacuum.FEWEST} at least, "
            f"and {vacuum.GOOD} make a good one.",
            field="since",
        )
    doubts = []
    if len(taken) < vacuum.GOOD:
        doubts.append(
            Doubt(
                key=f"since:few:{len(taken)}",
                field="since",
                sentence=f"{len(taken)} readings are few: the charts then signal later. Take them all the same?",
            )
        )
    cleaned = cleaned_at()
    day = clock.day_of(cleaned) if cleaned else None
    if day is not None and day > since:
        doubts.append(
            Doubt(
                key=f"since:before-cleaning:{since}",
                field="since",
                sentence=f"The line was cleaned on {in_full(day)}, after that. Was it clean before too?",
            )
        )
    ask_unless_sure(doubts, sure)
    try:
        found = vacuum.baseline_of([value for _, value in taken])
    except ValueError as wrong:  # a confirmed reading can be beyond what any line does
        raise Refused(f"These readings make no baseline. {wrong}", field="since") from wrong
    return LineBaseline.objects.create(
        kind=kind,
        target=found.target,
        sd=found.sd,
        count=found.count,
        first_at=taken[0][0],
        last_at=taken[-1][0],
        conditions=conditions,
        at=clock.now(),
        by=by,
    )


@action(roles=ENGINEERS)
def change_line_part(
    *, by: Person, part: LinePart, version: int, name: str, note: str = "", duty: Duty | None = None, is_active: bool
) -> LinePart:
    """Change what a part of the line is called, which care sees to it, and whether the line has it."""
    held = still_as_read(part, version)
    held.name = not_taken(LinePart, words(name, field="name", longest=60, needed=True), sentence=_TWICE, but=held)
    held.note, held.duty, held.is_active = words(note, field="note", longest=200), duty, is_active
    held.version += 1
    with one_of_its_name(_TWICE):
        held.save()
    return held


@action(roles=ENGINEERS)
def change_line_rules(
    *, by: Person, version: int, talc_days: int, talc_dew_c: float | None = None, talc_duty: Duty | None = None
) -> LineRules:
    """Set the shop's own rules for talc. version: of the row that was seen, 0 where there was none."""
    low, high = DEW_POINT.possible
    if talc_dew_c is not None and not low <= talc_dew_c <= high:
        edges = (said("temperature", edge, by) for edge in (low, high))
        raise Refused(f"Give a dew point between {' and '.join(edges)}.", field="talc_dew_c")
    if not 1 <= talc_days <= 365:
        raise Refused("Give the days that a treatment holds, 1 to 365.", field="talc_days")
    values = {"talc_dew_c": talc_dew_c, "talc_days": talc_days, "talc_duty": talc_duty}
    if version == 0:
        _, done = LineRules.objects.get_or_create(pk=1, defaults=values)
    else:
        done = bool(LineRules.objects.filter(pk=1, version=version).update(**values, version=F("version") + 1))
    if not done:
        raise Changed(CHANGED)
    return line_rules()

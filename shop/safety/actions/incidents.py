"""What happened and nearly happened: reported by whoever saw it, and what came of it."""

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import date, datetime

from shop import clock
from shop.duties.actions import begin_duty
from shop.duties.models import Duty
from shop.duties.rules import MOST_GRACE, Facts
from shop.people.models import EVERYONE, HANDS, Person
from shop.press.action import action
from shop.press.rules import happened_at, words
from shop.refusal import Doubt, NotAllowed, Refused, ask_unless_sure
from shop.safety.models import HazardSheet, Incident, IncidentKind, IncidentNote, Place, Substance
from shop.wording import in_full

#: A duty that falls due on one day and never again (RFC 5545, 3.3.10).
_ONCE = "FREQ=DAILY;COUNT=1"
#: Where a refusal of a duty's fact is said, by the fact.
_SAID_AT = {"name": "duty_name", "starts_on": "due_on", "for_person": "for_whom", "for_role": "for_whom"}
_NOT_YOURS = "Your role here lets you add a word. What follows, what a sheet learns and the end of it is an engineer's."


@action(roles=EVERYONE, unsigned=lambda typed: not typed.get("signed", True))
def report_incident(
    *,
    by: Person | None,
    kind: str,
    what: str,
    near_miss: bool = False,
    hurt: str = "",
    done: str = "",
    place: Place | None = None,
    substance: Substance | None = None,
    at: datetime | None = None,
    signed: bool = True,
) -> Incident:
    """Tell of something that happened or nearly did. Whoever has signed in may, visitors too.

    signed: False for a report that holds no name: then it is kept nowhere who gave it. Refuses a time to come, and a
    near miss in which somebody was hurt.
    """
    if kind not in IncidentKind.values:
        raise Refused("Choose what sort of thing it was.", field="kind")
    injury = words(hurt, field="hurt", longest=500)
    if near_miss and injury:
        raise Refused("If somebody was hurt, it happened. Choose that above, or leave this empty.", field="hurt")
    return Incident.objects.create(
        kind=kind,
        near_miss=near_miss,
        what=words(what, field="what", longest=2000, needed=True),
        hurt=injury,
        done=words(done, field="done", longest=1000),
        place=place,
        substance=substance,
        at=happened_at(at),
        told_at=clock.now(),
        by=by,
    )


@dataclass(frozen=True)
class FollowUp:
    """Something that is to be done because of a report: what, by when, and for which role or person, if any."""

    name: str
    due_on: date
    for_role: str = ""
    for_person: Person | None = None


@action(roles=HANDS)
def note_incident(
    *,
    by: Person,
    incident: Incident,
    text: str,
    follow_up: FollowUp | None = None,
    sheet: HazardSheet | None = None,
    closes: bool = False,
    sure: Collection[str] = (),
) -> IncidentNote:
    """Write down what came of a report.

    1. anybody who works here adds a word; what follows, a lesson for a sheet and the end of it are an engineer's;
    2. asks where this opens a closed report again, or closes one of which something is still to be done; 3. a follow-up
    becomes a duty that falls due once, on its day; 4. keeps the note. closes: nothing is left to do about it.
    """
    if (follow_up is not None or sheet is not None or closes) and not by.is_engineer:
        raise NotAllowed(_NOT_YOURS)
    said = words(text, field="text", longest=1000, needed=True)
    held = Incident.objects.select_for_update(of=("self",)).get(pk=incident.pk)
    ask_unless_sure(_doubts(held, follow_up, closes=closes), sure)
    duty = _begun(held, follow_up) if follow_up is not None else None
    return IncidentNote.objects.create(
        incident=held, text=said, duty=duty, sheet=sheet, closes=closes, at=clock.now(), by=by
    )


def _doubts(incident: Incident, follow_up: FollowUp | None, *, closes: bool) -> Iterator[Doubt]:
    last = incident.notes.order_by("pk").last()
    if last is not None and last.closes and not closes:
        yield Doubt("reopens", "text", f"It was closed on {in_full(clock.day_of(last.at))}. Does this open it again?")
    if closes:
        due = Duty.objects.filter(incident_notes__incident=incident, due_on__isnull=False)
        waiting = [*due.values_list("name", flat=True), *([follow_up.name] if follow_up is not None else [])]
        if waiting:
            yield Doubt("waiting", "closes", f"Still to be done: {', '.join(waiting)}. Close it all the same?")


def _begun(incident: Incident, follow_up: FollowUp) -> Duty:
    ahead = (follow_up.due_on - clock.today()).days
    if ahead < 0:
        raise Refused("That day is over. Give today or a day to come.", field="due_on")
    if ahead > MOST_GRACE:
        raise Refused("That is more than a year away. Give a nearer day.", field="due_on")
    told = f"{incident} of {in_full(clock.day_of(incident.at))}"
    try:
        return begin_duty(
            Facts(
                name=follow_up.name,
                why=f"It follows from {told[0].lower()}{told[1:]}.",
                rule=_ONCE,
                starts_on=follow_up.due_on,
                early_days=ahead,  # it is to be done by then: done sooner, it is done
                for_role=follow_up.for_role,
                for_person=follow_up.for_person,
                source=told,
            )
        )
    except Refused as no:
        raise Refused(no.sentence, field=_SAID_AT.get(no.field or "", no.field)) from no

"""Everything morning writes: checks, corrections, overrulings, and the room's own list of questions."""

from collections.abc import Collection, Sequence
from datetime import datetime

from django.db.models import F, Max

from shop import clock, concern
from shop.morning.answers import Given, concerns_of_answers, field_name, in_full
from shop.morning.concerns import concerns_of_plan
from shop.morning.models import Answer, AnswerKind, Check, Overruling, PutAway, Question, Verdict
from shop.morning.plan import plan_of_day
from shop.morning.queries import standing
from shop.morning.verdict import verdict_of
from shop.people.models import ENGINEERS, HANDS, Person
from shop.people.queries import the_room
from shop.press.action import action
from shop.press.rules import CHANGED
from shop.recall import looking
from shop.refusal import Changed, Refused
from shop.room import readings
from shop.room.models import Cylinder, Reading, ReadingKind
from shop.room.queries import cylinder_at

# Checks ---------------------------------------------------------------------------------------------------------------


@action(roles=HANDS)
def make_check(*, by: Person, answers: Sequence[Given], note: str = "", sure: Collection[str] = ()) -> Check:
    """Sign the morning check.

    1. holds the answers against the room's list; 2. asks about readings that look wrong; 3. takes the readings;
    4. plans the day and gathers every concern, with what was just read; 5. keeps the check, its verdict and answers.
    """
    return _sign(by=by, answers=answers, note=note, sure=sure, corrects=None)


@action(roles=HANDS)
def correct_check(
    *, by: Person, check: Check, answers: Sequence[Given], note: str, sure: Collection[str] = ()
) -> Check:
    """Sign a check anew in place of an earlier one of the same day, which stays as it was given and is named.

    A reading with the same value is the same reading; another value corrects it. Refused unless `note` says what was
    put right; once the day is over (its verdict was about that morning); and, as Changed, if it was corrected already.
    """
    held = Check.objects.select_for_update().get(pk=check.pk)
    if held.day != clock.today():
        raise Refused(
            "The day of that check is over, so it stays as it was given. A wrong reading is put right under Readings."
        )
    if Check.objects.filter(corrects=held).exists():
        raise Changed("That check has been corrected already. Open the one that took its place.")
    if not note.strip():
        raise Refused("Say what is put right, and why.", field="note")
    return _sign(by=by, answers=answers, note=note, sure=sure, corrects=held)


def _sign(*, by: Person, answers: Sequence[Given], note: str, sure: Collection[str], corrects: Check | None) -> Check:
    now = clock.now()
    given = in_full(answers, Question.objects.filter(is_active=True))
    taken = _take_readings(given, at=now, by=by, sure=sure, corrects=corrects)
    lines = [
        Answer(
            question=answer.question,
            place=answer.question.place,
            text=answer.question.text,
            what_to_do=answer.question.what_to_do,
            grade_if_no=answer.question.grade_if_no,
            yes=answer.yes,
            reading=taken.get(answer.question.pk),
            note=answer.note,
        )
        for answer in given
    ]
    with looking():  # everything is written that they look at
        plan = plan_of_day(clock.day_of(now), now)
        gathered = concern.gather(now, leave_out=["morning"])
    found = concern.gravest_first([*gathered, *concerns_of_answers(lines), *concerns_of_plan(plan)])
    check = Check.objects.create(
        day=clock.day_of(now),
        at=now,
        by=by,
        verdict=verdict_of(found),
        concerns=[one.stored() for one in found],
        plan=plan,
        signed_as=by.name,
        room_name=the_room().name,
        note=note.strip(),
        corrects=corrects,
    )
    for line in lines:
        line.of = check
    Answer.objects.bulk_create(lines)
    return check


def _take_readings(
    given: Sequence[Given], *, at: datetime, by: Person, sure: Collection[str], corrects: Check | None
) -> dict[int, Reading]:
    """The readings among the answers, by question: taken now, or those a correction leaves as they were.

    A changed one corrects the old, at the old one's moment and for its cylinder. All doubts are asked at once.
    """
    earlier = _earlier_readings(corrects)
    kept: dict[int, Reading] = {}
    fresh: dict[int, readings.Taking] = {}
    for answer in given:
        if answer.value is None:
            continue
        old = earlier.get(answer.question.pk)
        if old is not None and old.value == answer.value:
            kept[answer.question.pk] = old
        else:
            fresh[answer.question.pk] = readings.Taking(
                ReadingKind(answer.question.reading),
                answer.value,
                old.at if old else at,
                cylinder=_cylinder(answer, old, at),
                corrects=old,
                field=field_name(answer.question),
            )
    for one in fresh.values():
        if sentence := readings.impossible(one.kind, one.value, by):
            raise Refused(sentence, field=one.field)
    celsius = next((a.value for a in given if a.question.reading == ReadingKind.ROOM_C), None)
    readings.ask_about(list(fresh.values()), by=by, sure=sure, celsius=celsius)
    for question, one in fresh.items():
        kept[question] = readings.take(
            kind=one.kind,
            value=one.value,
            at=one.at,
            by=by,
            cylinder=one.cylinder,
            corrects=one.corrects,
            field=one.field,
        )
    return kept


def _cylinder(answer: Given, corrects: Reading | None, at: datetime) -> Cylinder | None:
    """Whose gauge it is: for a gauge reading only."""
    if answer.question.reading != ReadingKind.NITROGEN_BAR:
        return None
    cylinder = corrects.cylinder if corrects else cylinder_at(at)
    if cylinder is None:
        raise Refused(
            "No cylinder is connected. Connect one under Room, or leave the gauge out and say why.",
            field=field_name(answer.question),
        )
    return cylinder


def _earlier_readings(corrects: Check | None) -> dict[int, Reading]:
    """The readings of the check being corrected, by question, each as it stands after corrections made elsewhere."""
    if corrects is None:
        return {}
    answers = Answer.objects.filter(of=corrects, reading__isnull=False).select_related("reading__cylinder")
    return {answer.question_id: standing(answer.reading) for answer in answers if answer.reading}


# Overruling -----------------------------------------------------------------------------------------------------------


@action(roles=ENGINEERS)
def overrule_check(*, by: Person, check: Check, reason: str) -> Overruling:
    """Keep an engineer's word that the day goes on in spite of the verdict, and why.

    Refused for a verdict that is clear, for a day that is over, and for a check already corrected or overruled.
    """
    held = Check.objects.select_for_update().get(pk=check.pk)
    if not reason.strip():
        raise Refused("Give the reason; it is kept with the check.", field="reason")
    if held.verdict == Verdict.CLEAR:
        raise Refused("That verdict is already clear to cut; there is nothing to overrule.")
    if held.day != clock.today():
        raise Refused("The day of that check is over; there is nothing left to overrule.")
    if Check.objects.filter(corrects=held).exists():
        raise Changed("That check was corrected meanwhile. Overrule the one that took its place, if it still needs it.")
    if Overruling.objects.filter(of=held).exists():
        raise Changed("That verdict was overruled already.")
    return Overruling.objects.create(of=held, at=clock.now(), by=by, signed_as=by.name, reason=reason.strip())


# The room's own list --------------------------------------------------------------------------------------------------


@action(roles=ENGINEERS)
def add_question(
    *,
    by: Person,
    place: str,
    text: str,
    kind: str,
    reading: str = "",
    why: str = "",
    grade_if_no: int,
    what_to_do: str = "",
    source: str = "",
) -> Question:
    """Put a question at the end of the list. Refused if the list has that reading already, or none is named for one."""
    if kind == AnswerKind.READING and not reading:
        raise Refused("Choose what is read.", field="reading")
    if kind == AnswerKind.YES_NO:
        reading = ""
    _asked_once(reading)
    last = Question.objects.aggregate(last=Max("order"))["last"] or 0
    return Question.objects.create(
        order=last + 10,
        place=place,
        text=text,
        kind=kind,
        reading=reading,
        why=why,
        grade_if_no=grade_if_no,
        what_to_do=what_to_do,
        source=source,
    )


@action(roles=ENGINEERS)
def change_question(
    *,
    by: Person,
    question: Question,
    version: int,
    place: str,
    text: str,
    why: str,
    grade_if_no: int,
    what_to_do: str,
    source: str,
) -> Question:
    """Word or weigh a question otherwise from now on. Checks already signed keep their wording.

    version: the one that was on the page; Changed if somebody saved another meanwhile.
    """
    done = Question.objects.filter(pk=question.pk, version=version).update(
        place=place,
        text=text,
        why=why,
        grade_if_no=grade_if_no,
        what_to_do=what_to_do,
        source=source,
        version=F("version") + 1,
    )
    if not done:
        raise Changed(CHANGED)
    return Question.objects.get(pk=question.pk)


@action(roles=ENGINEERS)
def switch_question(*, by: Person, question: Question, on: bool) -> Question:
    """Ask a question from the next check on, or leave it out. Nothing is lost: it can be switched back."""
    held = Question.objects.select_for_update().get(pk=question.pk)
    if on and not held.is_active:
        _asked_once(held.reading)
    held.is_active = on
    held.version += 1
    held.save(update_fields=["is_active", "version"])
    return held


@action(roles=ENGINEERS)
def move_question(*, by: Person, question: Question, up: bool) -> Question:
    """Move a question one place up or down the list; at the end of it, it stays where it is."""
    listed = list(Question.objects.select_for_update().order_by("order", "id"))
    here = next(place for place, one in enumerate(listed) if one.pk == question.pk)
    there = here - 1 if up else here + 1
    if 0 <= there < len(listed):
        listed[here], listed[there] = listed[there], listed[here]
    for place, one in enumerate(listed, 1):
        one.order = place * 10
    Question.objects.bulk_update(listed, ["order"])
    return Question.objects.get(pk=question.pk)


def _asked_once(reading: str) -> None:
    if reading and Question.objects.filter(reading=reading, is_active=True).exists():
        raise Refused("The list asks for that reading already.", field="reading")


# What an empty room needs first ---------------------------------------------------------------------------------------


@action(roles=HANDS)
def put_away_first_things(*, by: Person) -> PutAway:
    """Put the list of first things away, for everybody, though not each of them is done. Once more changes nothing."""
    put_away, _ = PutAway.objects.get_or_create(pk=1, defaults={"at": clock.now(), "by": by})
    return put_away

"""Files that bring in what is kept elsewhere: sent, asked about, taken in, left. The work itself is in stock/sheets."""

from shop import clock
from shop.jobs.soon import soon
from shop.people.models import ENGINEERS, Person
from shop.press.action import action
from shop.refusal import Changed, Refused
from shop.stock.models import Intake, IntakeState, PastUse, SheetKind
from shop.stock.sheets import files, work
from shop.wording import in_full

#: Files up to this many bytes, and intakes up to this many rows, are worked off while the person waits.
AT_ONCE_BYTES, AT_ONCE_ROWS = 200_000, 2_000


@action(roles=ENGINEERS)
def send_sheet(*, by: Person, kind: str, file: files.SentFile) -> Intake:
    """Keep a file that was sent, to be read and checked; nothing of it is taken in yet.

    kind: of SheetKind. Refuses an empty file and one over files.MOST_BYTES.
    """
    if kind not in SheetKind.values:
        raise Refused("Choose what the file holds.", field="kind")
    if file.size > files.MOST_BYTES:
        most = files.MOST_BYTES // (1024 * 1024)
        raise Refused(f"That file is larger than {most} MB. Send it in parts, one after another.", field="file")
    if file.size == 0:
        raise Refused("That file is empty.", field="file")
    intake = Intake.objects.create(
        kind=kind,
        name=file.name,
        size=file.size,
        digest=file.digest,
        file=file.keep(),
        sent_at=clock.now(),
        by=by,
    )
    if intake.size > AT_ONCE_BYTES:
        soon(work.JOB)
    return intake


@action(roles=ENGINEERS)
def answer_sheet(*, by: Person, intake: Intake, answers: dict[str, str]) -> Intake:
    """Answer what the file asks; it is read anew with that."""
    fresh = _in_state(intake, IntakeState.ASKS, "That file asks nothing any more.")
    asked = {question["name"]: [value for value, _ in question["choices"]] for question in fresh.told["asks"]}
    for name, values in asked.items():
        if answers.get(name) not in values:
            raise Refused("Choose one.", field=name)
        fresh.answers[name] = answers[name]
    fresh.state = IntakeState.READING
    fresh.save(update_fields=["answers", "state"])
    if fresh.size > AT_ONCE_BYTES:
        soon(work.JOB)
    return fresh


@action(roles=ENGINEERS)
def take_in_sheet(*, by: Person, intake: Intake) -> Intake:
    """Let what is new in a file come in, in the name of who presses: all of it or nothing."""
    fresh = _in_state(intake, IntakeState.READY, "That file does not wait to be taken in any more.")
    if not fresh.new:
        raise Refused("Nothing in that file is new here. Leave it.")
    fresh.state, fresh.taken_by = IntakeState.TAKING, by
    fresh.save(update_fields=["state", "taken_by"])
    if fresh.rows > AT_ONCE_ROWS:
        soon(work.JOB)
    return fresh


@action(roles=ENGINEERS)
def drop_sheet(*, by: Person, intake: Intake) -> Intake:
    """Leave a file that has not been taken in; it is let go of."""
    waiting = (IntakeState.ASKS, IntakeState.READY)
    fresh = Intake.objects.select_for_update(of=("self",)).get(pk=intake.pk)
    if fresh.state not in waiting:
        raise Changed("That file does not wait any more.")
    kept, fresh.file, fresh.state = fresh.file, "", IntakeState.DROPPED
    fresh.save(update_fields=["file", "state"])
    files.remove(kept)
    return fresh


@action(roles=ENGINEERS)
def withdraw_past_use(*, by: Person, intake: Intake) -> Intake:
    """Take the past use that came with a file out again: it stands in no ledger, so nothing else hangs on it."""
    fresh = Intake.objects.select_for_update(of=("self",)).get(pk=intake.pk)
    if not fresh.past_use.exists():
        raise Refused("No past use came with that file, or it was taken out already.")
    PastUse.objects.filter(intake=fresh).delete()
    said = f"Its past use was taken out again by {by.name} on {in_full(clock.today())}."
    fresh.told["notes"] = [*fresh.told.get("notes", []), said]
    fresh.save(update_fields=["told"])
    return fresh


def _in_state(intake: Intake, state: IntakeState, sentence: str) -> Intake:
    fresh = Intake.objects.select_for_update(of=("self",)).get(pk=intake.pk)
    if fresh.state != state:
        raise Changed(sentence)
    return fresh

"""Signing others off, withdrawing that, and the authority that comes with it."""

from collections.abc import Sequence
from datetime import date

from shop import clock
from shop.people import authority
from shop.people.models import ENGINEERS, HANDS, Person
from shop.press.action import action
from shop.press.rules import not_after_today, words
from shop.refusal import Changed, Doubt, Refused, ask_unless_sure
from shop.safety.queries import versions_in_force
from shop.training.actions.acts import last_day, runs_until
from shop.training.models import (
    SIGNED,
    Act,
    Authority,
    AuthorityWithdrawn,
    Enrolment,
    How,
    SelfSigning,
    SignOff,
    SignOffWithdrawn,
    Step,
)
from shop.training.queries.acts import held_as_long, on_day
from shop.training.queries.programmes import ways_to
from shop.training.queries.progress import courses, enrolments, under_way
from shop.training.queries.signing import SIGN_OFF, missing_for, why_not_apart, why_not_sign
from shop.training.wording import NOT_SIGNED
from shop.wording import in_full

_NOT_ON_IT = "They do not go through this programme now. Put them on it first."

_STEP_CHANGED = "The step was changed while it stood here. Read it as it is now, and sign that."


@action(roles=HANDS)
def sign_off(
    *,
    by: Person,
    step: Step,
    edition: int,
    person: Person,
    on: date,
    how: str,
    signed_in: Person,
    note: str = "",
    give: bool = False,
    until: date | None = None,
    sure: Sequence[str] = (),
) -> SignOff:
    """Sign that somebody watched, did, showed or talked over a step: one time a press.

    by: whoever signs, who gave their password or personal code (how) just now; signed_in: on whose device; edition:
    the step's, as the signer read it. give: with it goes the authority for the step's act, until a day (None: by the
    act's months), if nothing that leads to it is missing; none where they hold it that long already.

    1. refuses signing for oneself, also through a second account; 2. refuses a signer who does not hold today what it
    takes, with why; 3. refuses a step that is not asked for, that ends by itself, or that waits for others, named;
    4. refuses a step that was changed since the signer read it, by its edition; 5. asks about a day before their first;
    6. keeps the sign-off, and gives the authority.
    """
    if by.pk == person.pk:
        raise Refused("Nobody signs for themselves.", field="signer")
    if no := why_not_apart(by, person):
        raise Refused(no, field="signer")
    enrolment = (
        Enrolment.objects.select_for_update(of=("self",))
        .filter(programme=step.programme_id, person=person, ended_at__isnull=True)
        .first()
    )
    fresh = Step.objects.select_for_update(of=("self",)).select_related("programme", "act").get(pk=step.pk)
    if no := why_not_sign(by, fresh):
        raise Refused(no, field="signer")
    _is_to_be_signed(fresh, person, enrolment)
    assert enrolment is not None
    if fresh.edition != edition:
        raise Changed(_STEP_CHANGED)
    on = not_after_today(on, field="on")
    note = words(note, field="note", longest=500)
    before = []
    if on < enrolment.starts_on:
        sentence = f"That is before {person.name}'s first day here, {in_full(enrolment.starts_on)}. Is it right?"
        before = [Doubt(key="before", field="on", sentence=sentence)]
    ask_unless_sure(before, sure)
    made = SignOff.objects.create(
        step=fresh,
        edition=fresh.edition,
        person=person,
        on=on,
        note=note,
        sheet_version=versions_in_force().filter(sheet__slug=fresh.sheet).first() if fresh.sheet else None,
        how=How(how),
        at=clock.now(),
        by=by,
    )
    if give:
        _give_with(made, until)
    return made


def _is_to_be_signed(step: Step, person: Person, enrolment: Enrolment | None) -> None:
    if not step.programme.is_active:
        raise Refused("This programme is stopped; nothing of it is signed. What was signed stays.")
    if enrolment is None or not person.is_active:
        raise Refused(_NOT_ON_IT)
    if not step.is_active:
        raise Refused("This step is stopped; nobody is asked for it any more.")
    if step.kind not in SIGNED:
        raise Refused(NOT_SIGNED)
    line = courses([enrolment])[0].line_of(step)
    assert line is not None
    if line.waits_for:
        raise Refused(f"First comes: {', '.join(before.title for before in line.waits_for)}.")


def _give_with(made: SignOff, until: date | None) -> Authority | None:
    """The authority that comes with a sign-off: only where every step that leads to it is done.

    None where they hold it until that day or later: then there is nothing to give.
    """
    if made.step.act is None:
        raise Refused("No act comes with this step.", field="give")
    act = Act.objects.select_for_update().get(pk=made.step.act.pk)
    if not act.is_active:
        raise Refused("That act is stopped; nobody needs an authority for it.", field="give")
    missing = missing_for(act, made.person, courses(under_way(made.person)))
    if missing is None or missing:
        named = ", ".join(step.title for step in missing or ())
        raise Refused(f"It is not to be given yet. Still missing: {named}.", field="give")
    today = clock.today()
    last = runs_until(act, today)
    until = last_day(act, today, until)
    if last is not None and (until is None or until > last):
        raise Refused(
            f"By sign-off it is given until {in_full(last)} at most; only the owner gives it for longer.", field="until"
        )
    if held_as_long(act, made.person, until):
        return None
    return Authority.objects.create(
        act=act,
        person=made.person,
        starts_on=today,
        until=until,
        note=f"All its steps are done; the last that was signed: {made.step.title}."[:300],
        sign_off=made,
        at=made.at,
        by=made.by,
    )


@action(roles=HANDS)
def note_self_signing(*, by: Person, step: Step, person: Person) -> SelfSigning:
    """Keep that this account was to sign for another of the same human. Done by the page after it refused that."""
    return SelfSigning.objects.create(step=step, person=person, at=clock.now(), by=by)


@action(roles=ENGINEERS)
def withdraw_sign_off(*, by: Person, sign_off: SignOff, why: str) -> SignOffWithdrawn:
    """Let a sign-off count no more, from now on, with the reason; it stays on record. Twice is refused.

    By whoever signed it, an owner, or somebody who may sign others off. What came with it and rests on it goes too: an
    authority given by sign-off is taken back from today where its steps are not all done any more. One that the owner
    gave stays, for it rests on the owner's word.
    """
    held = SignOff.objects.select_for_update(of=("self",)).select_related("step", "person").get(pk=sign_off.pk)
    if SignOffWithdrawn.objects.filter(sign_off=held).exists():
        raise Changed("It was withdrawn already.")
    if held.person_id == by.pk:
        raise Refused("It is about you: somebody else withdraws it.")
    if not (by.is_owner or held.by_id == by.pk or authority.holds(by, SIGN_OFF, clock.today())):
        raise Refused("Whoever signed it, somebody who may sign others off, or an owner withdraws it.")
    why = words(why, field="why", longest=300, needed=True)
    made = SignOffWithdrawn.objects.create(sign_off=held, why=why, at=clock.now(), by=by)
    _take_back_with(made)
    return made


def _take_back_with(made: SignOffWithdrawn) -> None:
    """Take back what was given by sign-off and rests on a step that is not done any more, whichever way led to it."""
    gone, today = made.sign_off, clock.today()
    given = Authority.objects.filter(on_day(today), sign_off__isnull=False, person=gone.person).select_related("act")
    latest = {one.programme_id: one for one in enrolments().filter(person=gone.person).order_by("pk")}
    lines = [line for course in courses(latest.values()) for line in course.lines] if given else []
    done = {line.step.pk for line in lines if line.standing.was_done}
    for one in given:
        ways = ways_to(one.act, person=gone.person, done=done)
        if ways and all(gone.step_id in [step.pk for step in way.missing] for way in ways):
            why = f"It rested on “{gone.step.title}”, signed for {in_full(gone.on)}, which was withdrawn: {made.why}"
            AuthorityWithdrawn.objects.create(authority=one, from_day=today, why=why[:300], at=made.at, by=made.by)

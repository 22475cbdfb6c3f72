"""Reading who may sign others off, and why somebody may not."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import BooleanField, ExpressionWrapper

from shop import clock
from shop.people import authority
from shop.people.models import HANDS, Person
from shop.people.queries import alike_to, same_human
from shop.recall import recalled
from shop.training.models import Act, Authority, SignOff, Step
from shop.training.queries.acts import Held, acts, held_now, holders, on_day
from shop.training.queries.programmes import ways_to
from shop.training.queries.progress import Course, courses, done_steps, under_way
from shop.wording import in_full

#: The authority that signing others off takes.
SIGN_OFF = "sign-off"


def recall_holders(day: date) -> None:
    """Read once who holds which act on that day, for a page that asks about many. One query."""
    now = ExpressionWrapper(on_day(day), output_field=BooleanField())
    found: dict[str, set[int] | None] = dict.fromkeys([SIGN_OFF, *Act.objects.values_list("slug", flat=True)])
    for act, person, holds in Authority.objects.annotate(now=now).values_list("act__slug", "person", "now"):
        kept = found.get(act) or set()
        found[act] = kept | {person} if holds else kept
    for act, people in found.items():
        holders.tell(None if people is None else frozenset(people), act, day)


@recalled
def hands() -> list[Person]:
    """Who works here, by name."""
    return list(Person.objects.filter(is_active=True, role__in=HANDS).order_by("name", "pk"))


def asked_of(step: Step) -> list[str]:
    """The acts that whoever signs this step must hold: to sign others off, and what the step is part of."""
    return [SIGN_OFF, *([step.act.slug] if step.act is not None and step.act.is_active else [])]


def who_may_sign(step: Step, person: Person, among: list[Person]) -> list[Person]:
    """Those of these people who hold today what signing this step takes, save the person's own accounts."""
    found = [one for one in among if one.human != person.human]
    for act in asked_of(step):
        found = authority.holding(found, act, clock.today())
    return found


def to_choose_from(step: Step, person: Person, among: list[Person]) -> list[Person]:
    """Whom the page of signing a step names: who may sign it, save accounts that may be the same human's as this one's.

    One query more than `who_may_sign`.
    """
    alike = alike_to(person)
    return [one for one in who_may_sign(step, person, among) if one not in alike]


def to_be_told(step: Step, person: Person, among: list[Person]) -> list[Person]:
    """Whose press the page takes though it does not name them, for it is told why it is refused, and an attempt to sign
    for oneself is kept: whose authority is over since, and who may sign others but may be the same human."""
    others = [one for one in among if one.pk != person.pk]
    may = others
    for act in asked_of(step):
        may = authority.holding(may, act, clock.today())
    once = set(Authority.objects.filter(act__slug__in=asked_of(step)).values_list("person", flat=True))
    return [one for one in others if one in may or one.pk in once]


def why_not_sign(signer: Person, step: Step) -> str:
    """Why this person may not sign the step today, in a sentence; "" if they may. Says so where it ran out."""
    today = clock.today()
    for act in asked_of(step):
        if not authority.holds(signer, act, today):
            what = Act.objects.filter(slug=act).values_list("name", flat=True).first() or authority.act_words(act)
            last = Authority.objects.filter(act__slug=act, person=signer, starts_on__lte=today).select_related(
                "withdrawn"
            )
            return f"{signer.name} {_why(last.order_by('-id').first(), what)} Ask somebody who holds it."
    return ""


def _why(last: Authority | None, what: str) -> str:
    if last is None:
        return f"does not hold the authority “{what}”."
    withdrawn = getattr(last, "withdrawn", None)
    if withdrawn is not None:
        return f"holds the authority “{what}” no more: it was taken back on {in_full(withdrawn.from_day)}."
    assert last.until is not None
    return f"holds the authority “{what}” no more: it ran out on {in_full(last.until)}."


def why_not_apart(signer: Person, person: Person) -> str:
    """Why these two accounts may be one human's, in a sentence; "" if nothing speaks for it."""
    if same_human(signer, person):
        return f"{signer.name} ({signer.sign_in}) and {person.name} are accounts of one person. Somebody else signs."
    if signer in alike_to(person):
        return (
            f"{signer.name} ({signer.sign_in}) and {person.name} look like accounts of one person. Somebody else "
            "signs, or an owner says first that they are two."
        )
    return ""


# What comes with it, and what there is of it -----------------------------------------------------------------------


def missing_for(act: Act, person: Person, of: Sequence[Course], *, also: Collection[int] = ()) -> list[Step] | None:
    """What is missing before the act may be given by sign-off, on the shortest way there; None where no programme of
    this person's leads to it. also: numbers of steps to be taken as done."""
    ways = ways_to(act, person=person, done=done_steps(person, of) | set(also))
    mine = {course.enrolment.programme_id for course in of}
    return next((way.missing for way in ways if way.programme.pk in mine), None)


def may_come_with(step: Step, course: Course) -> Act | None:
    """The act that may be given with the next sign-off of a step, if nothing else that leads to it is missing."""
    line = course.line_of(step)
    if line is None or step.act is None or not step.act.is_active or line.waits_for:
        return None
    is_last = line.standing.was_done or line.standing.count + 1 >= step.times
    person = course.enrolment.person
    if not authority.is_open_to(person, step.act.slug):
        return None
    of = courses(under_way(person))
    return step.act if is_last and missing_for(step.act, person, of, also=[step.pk]) == [] else None


def signed_of(step: Step, person: Person) -> list[SignOff]:
    """Every sign-off of a step for this person, those that count no more among them, latest first."""
    found = SignOff.objects.filter(step=step, person=person)
    return list(found.select_related("by", "person", "sheet_version", "withdrawn__by"))


@dataclass(frozen=True)
class Alone:
    """What somebody may do alone, and what not: each act with until when, and with who else may."""

    alone: list[tuple[Act, Held | None]]
    beside: list[tuple[Act, list[Person]]]


def alone(person: Person) -> Alone:
    """What this person may do alone today, and whom they need for the rest."""
    today = clock.today()
    held = {one.act.pk: one for one in held_now([person])}
    people = [one for one in hands() if one.pk != person.pk]
    may, beside = [], []
    for act in acts():
        if authority.holds(person, act.slug, today):
            may.append((act, held.get(act.pk)))
        elif authority.is_open_to(person, act.slug):
            beside.append((act, authority.holding(people, act.slug, today)))
    return Alone(may, beside)

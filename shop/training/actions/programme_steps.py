"""Steps of a programme: adding one, changing, moving, stopping it and taking it up again; and the questions of one."""

from collections.abc import Iterable, Sequence
from typing import Any

from shop import clock
from shop.calc import order
from shop.people.models import OWNERS, Person
from shop.press.action import action
from shop.press.rules import still_as_read, words
from shop.refusal import Changed, Doubt, Refused, ask_unless_sure
from shop.training import editions
from shop.training.actions.programmes import tell_change
from shop.training.models import Programme, Question, Step, StepKind
from shop.training.programmes import (
    COLUMNS,
    MOST_STEPS,
    OF_SUBSTANCE,
    Facts,
    WantedQuestion,
    checked,
    checked_questions,
)

_AGAIN = "Say what changed: those who did it are told."


@action(roles=OWNERS)
def add_step(
    *, by: Person, programme: Programme, facts: Facts, after: Step | None = None, sure: Sequence[str] = ()
) -> Step:
    """Ask for something more. after: the step that it follows in the list, None for the end of it.

    Where it needs a later one, it follows that.
    """
    held = _held(programme)
    if held.steps.count() >= MOST_STEPS:
        raise Refused(f"A programme has at most {MOST_STEPS} steps. Begin another one beside it.")
    told = checked(facts, held)
    ask_unless_sure(_about_its_day(told), sure)
    listed = list(held.steps.all())
    place = listed.index(after) if after in listed else len(listed) - 1
    step = Step.objects.create(programme=held, order=0, **_columns(told))
    step.needs.set(told.needs)
    _keep_order([*listed[: place + 1], step, *listed[place + 1 :]], _needs(held))
    editions.keep_step(step, by=by)
    tell_change(held, f"“{step.title}” was added.", by=by, step=step)
    return Step.objects.get(pk=step.pk)


@action(roles=OWNERS)
def change_step(
    *,
    by: Person,
    step: Step,
    version: int,
    facts: Facts,
    substance: bool = False,
    note: str = "",
    sure: Sequence[str] = (),
) -> Step:
    """Let it ask otherwise from now on; what is on record keeps the words it was made under.

    1. checks the facts, and that no loop comes of what it needs; 2. counts its edition up where `substance` says so, or
    where something else is asked than before (its kind, how many times), with `note` for those who did it; 3. keeps
    its words as they now are, and tells those under way in a sentence.
    """
    held = _held(step.programme)
    fresh = still_as_read(step, version)
    told = checked(facts, held, fresh)
    columns = _columns(told)
    changed = [name for name in COLUMNS if getattr(fresh, name) != columns[name]]
    needs = {one.pk for one in fresh.needs.all()} != {one.pk for one in told.needs}
    note = words(note, field="note", longest=300)
    told_of = [COLUMNS[name] for name in changed] + (["what it needs"] if needs else [])
    if not told_of and not (substance and note):
        raise Refused("Nothing in it is changed.")
    if substance and not note:
        raise Refused(_AGAIN, field="note")
    ask_unless_sure(_about_its_day(told), sure)
    was = fresh.title
    for name, value in columns.items():
        setattr(fresh, name, value)
    if anew := substance or any(name in OF_SUBSTANCE for name in changed):
        _count_up(fresh, note or f"Changed: {_listed(told_of)}.")
    fresh.version += 1
    fresh.save()
    fresh.needs.set(told.needs)
    if needs:
        _keep_order(list(held.steps.all()), _needs(held))
    editions.keep_step(fresh, by=by)
    what = f"Changed: {_listed(told_of)}." if told_of else ""
    tell_change(
        held, " ".join(filter(None, [f"“{was}”.", what, note, "Asked anew." if anew else ""])), by=by, step=fresh
    )
    return fresh


@action(roles=OWNERS)
def move_step(*, by: Person, step: Step, version: int, after: Step | None) -> Step:
    """Put it behind another step of its programme, or first of all. Refused before what it needs, or after what needs
    it."""
    held = _held(step.programme)
    fresh = still_as_read(step, version)
    others = [one for one in held.steps.all() if one.pk != fresh.pk]
    if after is not None and after not in others:
        raise Refused("That step is not in this programme, or is this very one.", field="after")
    place = others.index(after) + 1 if after is not None else 0
    if place == list(held.steps.all()).index(fresh):
        raise Refused("It stands there already.", field="after")
    needs = _needs(held)
    late = [one for one in others[place:] if one.pk in needs[fresh.pk]]
    if late:
        raise Refused(f"It needs {_named(late)}, which would then come after it.", field="after")
    early = [one for one in others[:place] if fresh.pk in needs[one.pk]]
    if early:
        raise Refused(f"{_named(early)} needs it, and would then come before it.", field="after")
    _number([*others[:place], fresh, *others[place:]])
    Step.objects.filter(pk=fresh.pk).update(version=fresh.version + 1)
    where = f"behind “{after.title}”" if after is not None else "to the beginning"
    tell_change(held, f"“{fresh.title}” was moved {where}.", by=by, step=fresh)
    return Step.objects.get(pk=fresh.pk)


@action(roles=OWNERS)
def stop_step(*, by: Person, step: Step, version: int, why: str, sure: Sequence[str] = ()) -> Step:
    """Ask for it no more, and keep why. Its records stay, and what it needs is still needed by what needs it."""
    held = _held(step.programme)
    fresh = still_as_read(step, version)
    if not fresh.is_active:
        raise Changed("It is stopped already.")
    why = words(why, field="why", longest=150, needed=True)
    ask_unless_sure(_about_its_act(fresh, held), sure)
    _switch(fresh, on=False)
    tell_change(held, f"“{fresh.title}” is asked for no more. {why}", by=by, step=fresh)
    return fresh


def _about_its_act(step: Step, programme: Programme) -> Iterable[Doubt]:
    if step.act is None:
        return []
    others = programme.steps.filter(act=step.act, is_active=True).exclude(pk=step.pk)
    if others.exists():
        said = f"“{step.act.name}” is then reached without it, by the other steps that lead there."
    else:
        said = f"No step of this programme leads to “{step.act.name}” then; only the owner gives it."
    return [Doubt("act", "why", said, confirm="Stop it all the same.")]


@action(roles=OWNERS)
def resume_step(*, by: Person, step: Step, version: int) -> Step:
    """Ask for it again, at the place it had. Records from before count as far as its edition is the same."""
    held = _held(step.programme)
    fresh = still_as_read(step, version)
    if fresh.is_active:
        raise Changed("It is not stopped.")
    _switch(fresh, on=True)
    tell_change(held, f"“{fresh.title}” is asked for again.", by=by, step=fresh)
    return fresh


@action(roles=OWNERS)
def change_questions(
    *,
    by: Person,
    step: Step,
    version: int,
    questions: Sequence[WantedQuestion],
    substance: bool = False,
    note: str = "",
) -> Step:
    """Ask these questions, in this order; those left out are asked no more, and their answers stay.

    One whose choices or right answer differ is another question: its edition counts up, and it is asked anew. With
    `substance` that goes for every one that was reworded, and the step's own edition counts up with `note`.
    """
    held = _held(step.programme)
    fresh = still_as_read(step, version)
    if fresh.kind != StepKind.ANSWER:
        raise Refused("This step asks no questions. Change what kind of step it is first.")
    kept = {one.pk: one for one in fresh.questions.all()}
    told = checked_questions(questions, kept)
    note = words(note, field="note", longest=300)
    if substance and not note:
        raise Refused(_AGAIN, field="note")
    changes = _ask(fresh, told, kept, substance=substance, by=by)
    if not changes and not substance:
        raise Refused("Nothing in it is changed.")
    if substance:
        _count_up(fresh, note)
    fresh.version += 1
    fresh.save()
    if substance:
        editions.keep_step(fresh, by=by)
    what = f"“{fresh.title}”. Questions: {_listed(changes)}." if changes else f"“{fresh.title}”."
    tell_change(held, f"{what} {note}".strip(), by=by, step=fresh)
    return fresh


def _ask(
    step: Step, told: Sequence[WantedQuestion], kept: dict[int, Question], *, substance: bool, by: Person
) -> list[str]:
    """Put the questions in place, and say how many were added, changed and left out, and whether they moved."""
    counts = {"added": 0, "changed": 0, "left out": 0}
    before = [pk for pk, _ in sorted(kept.items(), key=lambda pair: (pair[1].order, pair[0]))]
    reworded: list[Question] = []
    for place, wanted in enumerate(told, 1):
        words_now = {"text": wanted.text, "choices": wanted.choices, "right": wanted.right, "reason": wanted.reason}
        one = kept.get(wanted.kept) if wanted.kept is not None else None
        if one is None:
            reworded.append(Question.objects.create(step=step, order=place * 10, **words_now))
            counts["added"] += 1
            continue
        differs = {name for name, said in words_now.items() if getattr(one, name) != said}
        if differs:
            counts["changed"] += 1
            one.edition += bool(differs & {"choices", "right"} or substance)
            reworded.append(one)
        elif not one.is_active:
            counts["added"] += 1
        for name, said in words_now.items():
            setattr(one, name, said)
        one.order, one.is_active = place * 10, True
        one.save()
    named = [one.kept for one in told if one.kept is not None]
    gone = [pk for pk, one in kept.items() if one.is_active and pk not in named]
    counts["left out"] = Question.objects.filter(pk__in=gone).update(is_active=False)
    editions.keep_questions(reworded, by=by)
    said = [f"{count} {what}" for what, count in counts.items() if count]
    return [*said, "in another order"] if named != [pk for pk in before if pk in named] else said


# What several of them do ----------------------------------------------------------------------------------------------


def _held(programme: Programme) -> Programme:
    """The programme, locked: what its steps need is changed by one at a time, or two could close a loop together."""
    return Programme.objects.select_for_update().get(pk=programme.pk)


def _columns(told: Facts) -> dict[str, Any]:
    return {name: getattr(told, name) for name in COLUMNS}


def _needs(programme: Programme) -> dict[int, set[int]]:
    return {step.pk: {one.pk for one in step.needs.all()} for step in programme.steps.prefetch_related("needs")}


def _keep_order(steps: Sequence[Step], needs: dict[int, set[int]]) -> None:
    """Number the steps as they are listed, but each behind what it needs."""
    by_number = {step.pk: step for step in steps}
    _number([by_number[pk] for pk in order.in_order({step.pk: needs[step.pk] for step in steps})])


def _number(steps: Sequence[Step]) -> None:
    for place, step in enumerate(steps, 1):
        step.order = place * 10
    Step.objects.bulk_update(steps, ["order"])


def _count_up(step: Step, note: str) -> None:
    step.edition, step.edition_note, step.edition_at = step.edition + 1, note[:300], clock.now()


def _switch(step: Step, *, on: bool) -> None:
    step.is_active, step.version = on, step.version + 1
    step.save(update_fields=["is_active", "version"])


def _about_its_day(told: Facts) -> Iterable[Doubt]:
    late = [one for one in told.needs if told.day is not None and one.day is not None and one.day > told.day]
    if not late:
        return []
    said = f"It is expected by day {told.day}, but {_named(late)}, which comes first, only by day {late[-1].day}."
    return [Doubt("day", "day", said)]


def _named(steps: Sequence[Step]) -> str:
    return _listed([f"“{step.title}”" for step in steps])


def _listed(things: Sequence[str]) -> str:
    return " and ".join(filter(None, [", ".join(things[:-1]), things[-1]])) if things else ""

"""Putting an entry right: by another that takes its place and names it. The old one stays as it was signed."""

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from datetime import datetime

from shop import clock
from shop.duties import effects, standing
from shop.duties.actions.entries import (
    NOTHING_DONE,
    StepDone,
    doubts_of,
    hold,
    is_bare,
    keep_lines,
    lines_of,
    record,
    touch_it,
)
from shop.duties.models import Entry, EntryKind, Touched
from shop.people import authority
from shop.people.models import HANDS, Person
from shop.press.action import action
from shop.press.rules import happened_at, words
from shop.refusal import Changed, Refused, ask_unless_sure


@action(roles=HANDS)
def correct_entry(
    *,
    by: Person,
    entry: Entry,
    note: str,
    steps: Sequence[StepDone] = (),
    amounts: Mapping[int, int] | None = None,
    at: datetime | None = None,
    under: Person | None = None,
    sure: Collection[str] = (),
) -> Entry:
    """Put a duty that was done on record anew, in place of an earlier entry, which is named and stays.

    1. refuses an entry that was put right already, and one that is not of something done; 2. asks about what looks
    wrong in steps and readings; 3. keeps the new entry; 4. undoes and does again what it touches, where time or amount
    are other than they were; 5. works out anew when it is due. at: None for the time it had.
    """
    note = words(note, field="note", longest=500, needed=True)
    old = _standing(entry)
    if old.kind != EntryKind.DONE:
        raise Refused("Only what was done is put right. Strike this one out, and record it anew.")
    moment = happened_at(at) if at is not None else old.at
    held, touches = hold(old.duty)
    first = chain_of(old)[-1]
    authority.check(held.authority, by=first.by, under=under, day=clock.day_of(moment))
    lines = lines_of(held, steps)
    if held.is_critical and is_bare(steps):
        raise Refused(f"{NOTHING_DONE} Strike the entry out instead.")
    ask_unless_sure(doubts_of(steps, by), sure)
    fresh = record(held, EntryKind.DONE, at=moment, by=by, under=under, note=note, due_on=old.due_on, corrects=old)
    keep_lines(fresh, lines, steps)
    before = touched_of(old)
    for touch in touches:
        amount = (amounts or {}).get(touch.pk, touch.amount)
        rows = before.pop((touch.kind, touch.target), [])
        if rows and moment == old.at and sum(row.amount or 0 for row in rows) == (amount or 0):
            continue  # as it was: nothing is moved to and fro
        _undo(fresh, rows)
        touch_it(fresh, touch, amount)
    standing.look_again(held)
    standing.keep(held)
    return fresh


@action(roles=HANDS)
def strike_entry(*, by: Person, entry: Entry, note: str) -> Entry:
    """Record that an entry was a mistake altogether: it was not done, or not put off. What it touched is undone."""
    note = words(note, field="note", longest=500, needed=True)
    old = _standing(entry)
    if old.kind == EntryKind.STRUCK:
        raise Changed("That entry strikes out another. Record what was really done instead.")
    held, _ = hold(old.duty)
    fresh = record(held, EntryKind.STRUCK, at=old.at, by=by, note=note, corrects=old)
    for rows in touched_of(old).values():
        _undo(fresh, rows)
    standing.look_again(held)
    standing.keep(held)
    return fresh


def _standing(entry: Entry) -> Entry:
    """The entry, if no other took its place."""
    if Entry.objects.filter(corrects=entry.pk).exists():
        raise Changed("That entry was put right already. Open the one that took its place.")
    return Entry.objects.select_related("duty", "corrects", "by").get(pk=entry.pk)


def chain_of(entry: Entry) -> list[Entry]:
    """The entry and those it took the place of, latest first."""
    chain = [entry]
    while chain[-1].corrects_id is not None:
        chain.append(Entry.objects.select_related("by", "under").get(pk=chain[-1].corrects_id))
    return chain


def touched_of(entry: Entry) -> dict[tuple[str, int | None], list[Touched]]:
    """What it and those before it really did elsewhere and is not undone, by kind and target."""
    found: dict[tuple[str, int | None], list[Touched]] = defaultdict(list)
    for row in Touched.objects.filter(entry__in=chain_of(entry), undoes=None, undone_by=None):
        found[row.kind, row.target].append(row)
    return found


def _undo(fresh: Entry, rows: Sequence[Touched]) -> None:
    for row in rows:
        effect = effects.of_kind(row.kind)
        made = effect.undo(row.ref, by=fresh.by, note=f"{fresh.duty.name}: put right") if effect else None
        Touched.objects.create(
            entry=fresh,
            kind=row.kind,
            target=row.target,
            target_name=row.target_name,
            amount=row.amount,
            ref=made.ref if made else row.ref,
            undoes=row,
        )

"""Writing the room's own sheets, approving them, and saying that one has read them."""

from collections.abc import Sequence
from typing import Any

from dateutil.relativedelta import relativedelta
from django.db import IntegrityError, transaction
from django.db.models import F

from shop import clock
from shop.people import authority
from shop.people.models import ENGINEERS, HANDS, OWNERS, Person
from shop.press.action import action
from shop.press.rules import CHANGED, not_taken, one_of_its_name, still_as_read, words
from shop.refusal import Changed, Doubt, Refused, ask_unless_sure
from shop.safety import facts, queries
from shop.safety.facts import Facts
from shop.safety.models import (
    HazardSheet,
    SafetyRules,
    SecondPerson,
    SheetRead,
    SheetVersion,
    SheetWithdrawn,
    Substance,
)
from shop.safety.queries import APPROVE

TWICE = "There is a sheet of that title already. Open it, or give this one another title."
SLUG_TWICE = "Another sheet has that address. Take another word."
#: Words that other pages beside the sheets go by.
_TAKEN = {"add", "reading", "rules"}
_NO_DRAFT = "There is no draft of it: somebody approved or dropped it. Start one from the version in force."


# Writing --------------------------------------------------------------------------------------------------------------


@action(roles=ENGINEERS)
def add_sheet(*, by: Person, title: str, slug: str, substance: Substance | None = None) -> HazardSheet:
    """Begin a sheet on a substance or on an act. It is in force for nobody until a draft of it was approved."""
    title = not_taken(HazardSheet, words(title, field="title", longest=80, needed=True), field="title", sentence=TWICE)
    slug = not_taken(HazardSheet, slug.lower(), field="slug", sentence=SLUG_TWICE)
    if slug in _TAKEN:
        raise Refused(SLUG_TWICE, field="slug")
    last = HazardSheet.objects.order_by("-order").values_list("order", flat=True).first() or 0
    with one_of_its_name(TWICE, field="title"):
        return HazardSheet.objects.create(title=title, slug=slug, substance=substance, order=min(last + 10, 32_000))


@action(roles=ENGINEERS)
def write_sheet(*, by: Person, sheet: HazardSheet, version: int, title: str, note: str, parts: Facts) -> HazardSheet:
    """Keep what was written as the sheet's draft, whole or not. Changed if somebody else wrote since `version`.

    What is in force stays as it is. note: what is new. Refused if nothing is written, or nothing that is new.
    """
    title = words(title, field="title", longest=80, needed=True)
    note = words(note, field="note", longest=300)
    written = _checked(parts)
    if not written:
        raise Refused("Nothing is written yet. Put in one fact at least.", field="can_hurt")
    held = still_as_read(sheet, version)
    not_taken(HazardSheet, title, field="title", sentence=TWICE, but=held)
    in_force = queries.version_in_force(held)
    if in_force is not None and (in_force.title, in_force.parts) == (title, written):
        raise Refused("Nothing in it is new: it is what is in force, word for word.", field="title")
    held.title, held.draft, held.draft_note = title, written, note
    held.draft_by, held.draft_at = by, clock.now()
    held.version += 1
    with one_of_its_name(TWICE, field="title"):
        held.save(update_fields=["title", "draft", "draft_note", "draft_by", "draft_at", "version"])
    return held


def _checked(parts: Facts) -> dict[str, Any]:
    """The parts as they are kept, read once more from what would be typed for them."""
    kept = {}
    for part, told in parts.items():
        try:
            kept[part] = facts.read_part(facts.typed_part(told))
        except facts.BadLines as wrong:
            raise Refused(str(wrong), field=part.replace("-", "_")) from wrong
    return facts.to_store(kept)


@action(roles=ENGINEERS)
def drop_draft(*, by: Person, sheet: HazardSheet, version: int) -> HazardSheet:
    """Let go of a draft of a sheet that has an approved version. A sheet that has none is stopped instead."""
    held = still_as_read(sheet, version)
    if not held.draft:
        raise Refused(_NO_DRAFT)
    if not held.versions.exists():
        raise Refused("It is all that there is of this sheet. Stop the sheet instead.")
    _clear_draft(held)
    return held


def _clear_draft(sheet: HazardSheet) -> None:
    sheet.draft, sheet.draft_note, sheet.draft_by, sheet.draft_at = {}, "", None, None
    sheet.version += 1
    sheet.save(update_fields=["draft", "draft_note", "draft_by", "draft_at", "version"])


@action(roles=ENGINEERS)
def stop_sheet(*, by: Person, sheet: HazardSheet) -> HazardSheet:
    """Let a sheet be in force no more. Its versions and who read them stay. Refused if it is stopped already."""
    if not HazardSheet.objects.filter(pk=sheet.pk, is_active=True).update(is_active=False, version=F("version") + 1):
        raise Changed("It is stopped already.")
    return HazardSheet.objects.get(pk=sheet.pk)


@action(roles=ENGINEERS)
def resume_sheet(*, by: Person, sheet: HazardSheet) -> HazardSheet:
    """Keep a sheet again. Its latest version is in force again, if its approval has not run out meanwhile."""
    if not HazardSheet.objects.filter(pk=sheet.pk, is_active=False).update(is_active=True, version=F("version") + 1):
        raise Changed("It is not stopped.")
    return HazardSheet.objects.get(pk=sheet.pk)


# Approving ------------------------------------------------------------------------------------------------------------


@action(roles=ENGINEERS)
def approve_sheet(
    *, by: Person, sheet: HazardSheet, version: int, why_alone: str = "", sure: Sequence[str] = ()
) -> SheetVersion:
    """Put the draft in force as the sheet's next version, which nobody can change.

    1. refuses somebody without the authority, and a draft that is not the one read (Changed); 2. refuses empty needed
    parts; 3. by the shop's rule refuses the only author, or takes why it had to be; 4. asks about facts without a
    source; 5. keeps the version, which takes the place of the one before, and clears the draft.
    """
    why_alone = words(why_alone, field="why_alone", longest=300)
    day = clock.today()
    if not authority.holds(by, APPROVE, day):
        raise Refused("You do not hold the authority to approve sheets. Ask somebody who does.")
    held = still_as_read(sheet, version)
    if not held.draft:
        raise Refused(_NO_DRAFT)
    if not held.is_active:
        raise Refused("This sheet is no longer kept. Take it up again first.")
    written = facts.of_stored(held.draft)
    if missing := facts.missing_parts(written, of_substance=held.substance_id is not None):
        named = ", ".join(f"“{part.label}”" for part in missing)
        raise Refused(f"It says nothing yet under {named}. Write that first.")
    is_author = held.draft_by_id == by.pk
    if is_author:
        why_alone = _alone(by, why_alone)
    ask_unless_sure(_unsourced(written), sure)
    rules = queries.safety_rules()
    last = held.versions.order_by("-number").values_list("number", flat=True).first() or 0
    made = SheetVersion.objects.create(
        sheet=held,
        number=last + 1,
        title=held.title,
        parts=held.draft,
        note=held.draft_note,
        written_by=held.draft_by,
        by=by,
        at=clock.now(),
        until=day + relativedelta(months=rules.approval_months) if rules.approval_months else None,
        only_author=is_author,
        why_alone=why_alone if is_author else "",
    )
    _clear_draft(held)
    return made


def _alone(by: Person, why_alone: str) -> str:
    """Why whoever wrote it approves it too, as the shop's rule wants it; Refused where somebody else has to."""
    rule = queries.safety_rules().second_person
    if rule == SecondPerson.NO:
        return why_alone
    others = queries.others_who_approve(by)
    if others or rule == SecondPerson.ALWAYS:
        who = f"Ask {' or '.join(person.name for person in others)}" if others else "There is nobody else who may"
        raise Refused(f"You wrote it, and by the shop's rule somebody else approves it. {who}.")
    if not why_alone:
        raise Refused(
            "You wrote it, and there is nobody else who may approve it. Write why it had to be you.", field="why_alone"
        )
    return why_alone


def _unsourced(written: Facts) -> list[Doubt]:
    """One doubt for all facts that do not say where they are from."""
    bare = [fact.text for told in written.values() for fact in told if not fact.is_sourced]
    if not bare:
        return []
    count = "One fact does not say where it is" if len(bare) == 1 else f"{len(bare)} facts do not say where they are"
    sentence = f"{count} from. The first: “{bare[0]}” Approve it all the same?"
    return [Doubt(key="unsourced", field="", sentence=sentence)]


@action(roles=ENGINEERS)
def withdraw_version(*, by: Person, version: SheetVersion, why: str) -> SheetWithdrawn:
    """Take the version in force out of force, before another is approved; the sheet then has none."""
    why = words(why, field="why", longest=300, needed=True)
    HazardSheet.objects.select_for_update().get(pk=version.sheet_id)
    in_force = queries.version_in_force(version.sheet)
    if in_force is None or in_force.pk != version.pk:
        raise Changed("That version is not in force any more.")
    return SheetWithdrawn.objects.create(version=version, why=why, at=clock.now(), by=by)


# Reading --------------------------------------------------------------------------------------------------------------


@action(roles=HANDS)
def confirm_sheet_read(*, by: Person, version: SheetVersion) -> SheetRead:
    """That this person has read the version in force. A new version asks again. Refused a second time."""
    in_force = queries.version_in_force(version.sheet)
    if in_force is None or in_force.pk != version.pk:
        raise Changed("That version is not in force any more. Open the sheet again, and read what is.")
    try:
        with transaction.atomic():
            return SheetRead.objects.create(version=version, by=by, at=clock.now())
    except IntegrityError as twice:
        raise Changed("You have said so already.") from twice


# The shop's rules -----------------------------------------------------------------------------------------------------


@action(roles=OWNERS)
def change_safety_rules(
    *, by: Person, version: int, second_person: str, approval_months: int, sheet_years: int
) -> SafetyRules:
    """Set who may approve, how long that holds (0: it does not run out), and when a supplier's sheet is asked for anew.

    version: 0 where nobody has set them yet. What was approved keeps its date. Changed if `version` is stale.
    """
    if second_person not in SecondPerson.values:
        raise Refused("Choose one of these.", field="second_person")
    if not 0 <= approval_months <= 120:
        raise Refused("Give months from 0 to 120; 0 is without end.", field="approval_months")
    if not 1 <= sheet_years <= 30:
        raise Refused("Give years from 1 to 30.", field="sheet_years")
    values = {"second_person": second_person, "approval_months": approval_months, "sheet_years": sheet_years}
    if version == 0:
        rules, done = SafetyRules.objects.get_or_create(pk=1, defaults=values)
    else:
        done = bool(SafetyRules.objects.filter(pk=1, version=version).update(**values, version=F("version") + 1))
        rules = queries.safety_rules()
    if not done:
        raise Changed(CHANGED)
    return rules

"""The room's own sheets: written as drafts, approved as versions nobody can change, withdrawn, read."""

from datetime import date
from uuid import uuid4

import pytest
from django.db import IntegrityError, connection, transaction

from shop.people import authority
from shop.people.models import Role
from shop.refusal import Changed, Doubtful, NotAllowed, Refused
from shop.safety import actions, queries
from shop.safety.models import HazardSheet, SheetVersion
from shop.training import queries as training
from tests.makers import make_person
from tests.safety.hazard_sheets import (
    approve,
    fact,
    make_in_force,
    make_sheet,
    make_substance,
    read,
    set_rules,
    write,
    written,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def holders():
    """`holders(*people)`: they alone hold the authority to approve sheets."""
    yield lambda *people: authority.register_holders(
        lambda act, day: frozenset(person.pk for person in people) if act == "approve-sheet" else frozenset()
    )
    authority.register_holders(training.holders)


# Adding and writing ---------------------------------------------------------------------------------------------------


def test_a_sheet_begins_without_anything_in_force(engineer):
    sheet = make_sheet(engineer, " Hot  lamp ", "Hot-Lamp")
    assert (sheet.title, sheet.slug, sheet.draft, sheet.is_active) == ("Hot lamp", "hot-lamp", {}, True)
    assert queries.version_in_force(sheet) is None
    assert queries.state_of(sheet).words == "Draft, not in force"
    assert make_sheet(engineer, "Cold lamp", "cold-lamp").order > sheet.order


@pytest.mark.parametrize(
    ("title", "slug", "field"),
    [
        ("HOT LAMP", "other", "title"),
        ("Other", "hot-lamp", "slug"),
        ("Other", "HOT-lamp", "slug"),
        ("Other", "reading", "slug"),
        (" ", "other", "title"),
    ],
)
def test_title_and_address_are_there_once(engineer, title, slug, field):
    make_sheet(engineer)
    with pytest.raises(Refused) as refused:
        make_sheet(engineer, title, slug)
    assert refused.value.field == field
    assert HazardSheet.objects.count() == 1


def test_a_draft_is_kept_whole_or_not_and_is_in_force_for_nobody(engineer, at):
    sheet = make_sheet(engineer)
    with at("2025-03-03 09:00"):
        kept = write(engineer, sheet, {"never": [fact("Never touch it.", from_memory=True)]}, note="First try")
    assert kept.draft == {
        "never": [{"text": "Never touch it.", "source": "common practice, no source", "from_memory": True}]
    }
    assert (kept.draft_by, kept.draft_note, kept.version) == (engineer, "First try", sheet.version + 1)
    assert kept.draft_at.isoformat().startswith("2025-03-03T09:00")
    assert queries.version_in_force(sheet) is None


def test_a_draft_written_over_a_newer_one_is_refused(engineer, owner):
    sheet = make_sheet(engineer)
    write(owner, sheet)
    with pytest.raises(Changed):
        write(engineer, sheet, version=sheet.version)
    sheet.refresh_from_db()
    assert sheet.draft_by == owner


def test_an_empty_draft_is_refused_and_so_are_lines_too_long(engineer):
    sheet = make_sheet(engineer)
    with pytest.raises(Refused) as refused:
        write(engineer, sheet, {"never": []})
    assert refused.value.field == "can_hurt"
    with pytest.raises(Refused) as refused:
        write(engineer, sheet, {"if-fire": [fact("x" * 301)]})
    assert (refused.value.field, "300 characters" in refused.value.sentence) == ("if_fire", True)
    sheet.refresh_from_db()
    assert sheet.draft == {}


def test_what_is_in_force_word_for_word_is_no_new_draft(engineer, owner):
    version = make_in_force(engineer, owner)
    with pytest.raises(Refused, match="Nothing in it is new"):
        write(engineer, version.sheet)
    assert write(engineer, version.sheet, title="Hot lamps").title == "Hot lamps"


def test_a_draft_is_dropped_where_something_was_approved(engineer, owner):
    version = make_in_force(engineer, owner)
    sheet = write(engineer, version.sheet, written(never="Never look into it. [a]"))
    dropped = actions.drop_draft(by=engineer, once=uuid4(), sheet=sheet, version=sheet.version)
    assert (dropped.draft, dropped.draft_by) == ({}, None)
    assert queries.version_in_force(sheet) == version
    with pytest.raises(Refused, match="no draft"):
        actions.drop_draft(by=engineer, once=uuid4(), sheet=sheet, version=dropped.version)
    other = write(engineer, make_sheet(engineer, "Cold lamp", "cold-lamp"))
    with pytest.raises(Refused, match="Stop the sheet"):
        actions.drop_draft(by=engineer, once=uuid4(), sheet=other, version=other.version)


# Approving ------------------------------------------------------------------------------------------------------------


def test_an_approved_draft_is_in_force_as_it_was_read(engineer, owner, at):
    sheet = write(engineer, make_sheet(engineer), note="All of it")
    with at("2025-01-31 10:00"):
        version = approve(owner, sheet)
    assert (version.number, version.title, version.parts, version.note) == (1, "Hot lamp", sheet.draft, "All of it")
    assert (version.written_by, version.by, version.only_author) == (engineer, owner, False)
    assert version.until == date(2027, 1, 31)
    sheet.refresh_from_db()
    assert (sheet.draft, sheet.draft_by, sheet.draft_note) == ({}, None, "")
    with at("2027-01-31 23:00"):
        assert queries.version_in_force(sheet) == version
    with at("2027-02-01 00:30"):
        assert queries.version_in_force(sheet) is None
        assert queries.state_of(sheet).words == "Run out, not in force"


def test_the_shop_sets_how_long_an_approval_holds(engineer, owner, at):
    set_rules(approval_months=1)
    with at("2025-01-31 10:00"):
        assert make_in_force(engineer, owner).until == date(2025, 2, 28)
        set_rules(approval_months=0)
        assert make_in_force(engineer, owner, "Cold lamp").until is None


def test_a_new_version_takes_the_place_of_the_one_before_which_stays(engineer, owner):
    first = make_in_force(engineer, owner)
    second = approve(owner, write(engineer, first.sheet, written(never="Never look into it. [a]")))
    assert second.number == 2
    assert queries.version_in_force(first.sheet) == second
    assert list(queries.versions_in_force()) == [second]
    assert [one.number for one in queries.versions_of(first.sheet)] == [2, 1]


def test_what_is_approved_is_never_changed_not_by_the_database_either(engineer, owner):
    version = make_in_force(engineer, owner)
    for statement in ("UPDATE safety_sheetversion SET title = 'x'", "DELETE FROM safety_sheetversion"):
        with pytest.raises(IntegrityError), transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(statement)
    assert SheetVersion.objects.get().title == version.title


@pytest.mark.parametrize("left", ["can_hurt", "before", "never", "if_fire", "wear"])
def test_a_draft_that_lacks_a_needed_part_is_refused(engineer, owner, left):
    sheet = write(engineer, make_sheet(engineer), written(**{left: ""}))
    with pytest.raises(Refused, match="says nothing yet under"):
        approve(owner, sheet)
    assert not SheetVersion.objects.exists()


def test_on_a_substance_more_is_needed_than_on_an_act(engineer, owner):
    less = written(if_eyes="", waste="")
    assert approve(owner, write(engineer, make_sheet(engineer), less)).number == 1
    on_it = write(engineer, make_sheet(engineer, "Quill", "quill", substance=make_substance()), less)
    with pytest.raises(Refused, match="“If it is in the eyes”, “Waste”"):
        approve(owner, on_it)


def test_a_fact_without_a_source_is_asked_about(engineer, owner):
    sheet = write(engineer, make_sheet(engineer), written(never="Never look into it.\nNor touch it."))
    with pytest.raises(Doubtful) as asked:
        approve(owner, sheet)
    assert "2 facts do not say where they are from" in asked.value.sentence
    assert "Never look into it." in asked.value.sentence
    assert approve(owner, sheet, sure=["unsourced"]).number == 1


def test_from_memory_is_an_answer_to_where_it_is_from(engineer, owner):
    assert approve(owner, write(engineer, make_sheet(engineer), written(never="Never touch it. [from memory]"))).number


def test_a_draft_that_changed_meanwhile_is_not_approved_unread(engineer, owner):
    sheet = write(engineer, make_sheet(engineer))
    write(engineer, sheet, written(never="Never look into it. [a]"))
    with pytest.raises(Changed):
        approve(owner, sheet, version=sheet.version)
    assert not SheetVersion.objects.exists()


def test_approving_twice_makes_one_version(engineer, owner):
    sheet, token = write(engineer, make_sheet(engineer)), uuid4()
    first, again = (actions.approve_sheet(by=owner, once=token, sheet=sheet, version=sheet.version) for _ in range(2))
    assert first == again
    with pytest.raises(Refused, match="no draft"):
        approve(owner, sheet)
    assert SheetVersion.objects.count() == 1


# Who approves ---------------------------------------------------------------------------------------------------------


def test_whoever_wrote_it_is_refused_where_somebody_else_may(engineer, owner):
    sheet = write(engineer, make_sheet(engineer))
    with pytest.raises(Refused, match=f"somebody else approves it. Ask {owner.name}"):
        approve(engineer, sheet, why_alone="I was in a hurry.")
    assert not SheetVersion.objects.exists()


def test_the_only_one_who_may_says_why_and_that_is_kept(engineer):
    sheet = write(engineer, make_sheet(engineer))
    with pytest.raises(Refused) as refused:
        approve(engineer, sheet)
    assert refused.value.field == "why_alone"
    version = approve(engineer, sheet, why_alone="I work alone.")
    assert (version.only_author, version.why_alone) == (True, "I work alone.")


def test_the_shop_may_always_want_a_second_person(engineer):
    set_rules(second_person="always")
    with pytest.raises(Refused, match="nobody else who may"):
        approve(engineer, write(engineer, make_sheet(engineer)), why_alone="I work alone.")


def test_or_never(engineer, owner):
    set_rules(second_person="no")
    version = approve(engineer, write(engineer, make_sheet(engineer)))
    assert (version.only_author, version.why_alone) == (True, "")


def test_starter_content_has_no_author_here(owner):
    sheet = make_sheet(owner)
    HazardSheet.objects.update(draft=write(owner, sheet).draft, draft_by=None)
    version = approve(owner, sheet)
    assert (version.written_by, version.only_author) == (None, False)


def test_approving_takes_the_authority(engineer, owner, holders):
    sheet = write(owner, make_sheet(owner))
    holders(owner)
    with pytest.raises(Refused, match="do not hold the authority"):
        approve(engineer, sheet)
    holders(engineer)
    assert approve(engineer, sheet).by == engineer


def test_somebody_else_counts_only_with_the_authority_and_while_active(engineer, owner, holders):
    holders(engineer)
    sheet = write(engineer, make_sheet(engineer))
    assert approve(engineer, sheet, why_alone="Orla may not.").only_author
    holders(engineer, owner)
    owner.is_active = False
    owner.save()
    assert queries.others_who_approve(engineer) == []


# Withdrawing, stopping ------------------------------------------------------------------------------------------------


def test_a_withdrawn_version_leaves_nothing_in_force_not_the_one_before_either(engineer, owner):
    first = make_in_force(engineer, owner)
    second = approve(owner, write(engineer, first.sheet, written(never="Never look. [a]")))
    with pytest.raises(Changed):
        actions.withdraw_version(by=engineer, once=uuid4(), version=first, why="Old.")
    with pytest.raises(Refused):
        actions.withdraw_version(by=engineer, once=uuid4(), version=second, why=" ")
    gone = actions.withdraw_version(by=engineer, once=uuid4(), version=second, why="It names the wrong glove.")
    assert (gone.by, gone.why) == (engineer, "It names the wrong glove.")
    assert queries.version_in_force(first.sheet) is None
    assert queries.state_of(first.sheet).words == "Withdrawn, not in force"
    with pytest.raises(Changed):
        actions.withdraw_version(by=engineer, once=uuid4(), version=second, why="Again.")
    third = approve(owner, write(engineer, first.sheet))
    assert (third.number, queries.version_in_force(first.sheet)) == (3, third)


def test_a_stopped_sheet_is_not_in_force_and_can_be_taken_up_again(engineer, owner):
    version = make_in_force(engineer, owner)
    sheet = actions.stop_sheet(by=engineer, once=uuid4(), sheet=version.sheet)
    assert (sheet.is_active, queries.version_in_force(sheet)) == (False, None)
    assert queries.sheets_for_duties(None) == {}
    with pytest.raises(Changed):
        actions.stop_sheet(by=engineer, once=uuid4(), sheet=sheet)
    with pytest.raises(Refused, match="no longer kept"):
        approve(owner, write(engineer, sheet, written(never="Never. [a]")))
    back = actions.resume_sheet(by=engineer, once=uuid4(), sheet=sheet)
    assert queries.version_in_force(back) == version
    with pytest.raises(Changed):
        actions.resume_sheet(by=engineer, once=uuid4(), sheet=sheet)


# Reading --------------------------------------------------------------------------------------------------------------


def test_a_version_is_read_once_and_a_new_one_asks_again(engineer, owner, assistant):
    first = make_in_force(engineer, owner)
    assert list(queries.still_to_read(assistant)) == [first]
    done = read(assistant, first)
    assert (done.by, done.version) == (assistant, first)
    assert list(queries.still_to_read(assistant)) == []
    assert list(queries.still_to_read(engineer)) == [first]
    with pytest.raises(Changed, match="already"):
        read(assistant, first)
    second = approve(owner, write(engineer, first.sheet, written(never="Never look. [a]")))
    assert list(queries.still_to_read(assistant)) == [second]
    with pytest.raises(Changed, match="not in force any more"):
        read(engineer, first)
    assert [one.by for one in queries.readers_of(first)] == [assistant]


def test_a_visitor_has_nothing_to_read(engineer, owner, visitor):
    version = make_in_force(engineer, owner)
    assert list(queries.still_to_read(visitor)) == []
    with pytest.raises(NotAllowed):
        read(visitor, version)


def test_the_matrix_holds_those_who_work_here_and_what_is_in_force(engineer, owner, assistant, visitor):
    lamp, door = make_in_force(engineer, owner), make_in_force(engineer, owner, "Cold door")
    gone = make_person("gone", "Gil Nobody", Role.ENGINEER, is_active=False)
    done = read(assistant, door)
    found = queries.reading()
    assert found.versions == [lamp, door]
    assert [person for person, _, _ in found.lines] == [assistant, engineer, owner]
    assert gone not in [person for person, _, _ in found.lines]
    assert found.lines[0] == (assistant, [(lamp, None), (door, done)], 1)
    assert [open_ for _, _, open_ in found.lines] == [1, 2, 2]


# Rules, and who may ---------------------------------------------------------------------------------------------------


def test_the_owner_sets_the_rules(owner, engineer):
    assert queries.safety_rules().version == 0
    values = {"second_person": "no", "approval_months": 6, "sheet_years": 2}
    set_ = actions.change_safety_rules(by=owner, once=uuid4(), version=0, **values)
    assert (set_.second_person, set_.approval_months, set_.sheet_years, set_.version) == ("no", 6, 2, 1)
    again = actions.change_safety_rules(by=owner, once=uuid4(), version=1, **values | {"approval_months": 0})
    assert (again.approval_months, again.version) == (0, 2)
    for version in (0, 1):
        with pytest.raises(Changed):
            actions.change_safety_rules(by=owner, once=uuid4(), version=version, **values)
    with pytest.raises(NotAllowed):
        actions.change_safety_rules(by=engineer, once=uuid4(), version=2, **values)


@pytest.mark.parametrize(
    ("field", "value"),
    [("second_person", "maybe"), ("approval_months", 121), ("approval_months", -1), ("sheet_years", 0)],
)
def test_rules_have_their_bounds(owner, field, value):
    values = {"second_person": "no", "approval_months": 6, "sheet_years": 2} | {field: value}
    with pytest.raises(Refused) as refused:
        actions.change_safety_rules(by=owner, once=uuid4(), version=0, **values)
    assert refused.value.field == field


def test_hands_and_visitors_write_and_approve_nothing(engineer, owner, assistant, visitor):
    version = make_in_force(engineer, owner)
    sheet = write(engineer, version.sheet, written(never="Never look. [a]"))
    for person in (assistant, visitor):
        for press in (
            lambda by: make_sheet(by, "Other", "other"),
            lambda by: write(by, sheet),
            lambda by: approve(by, sheet),
            lambda by: actions.withdraw_version(by=by, once=uuid4(), version=version, why="x"),
            lambda by: actions.stop_sheet(by=by, once=uuid4(), sheet=sheet),
            lambda by: actions.drop_draft(by=by, once=uuid4(), sheet=sheet, version=sheet.version),
        ):
            with pytest.raises(NotAllowed):
                press(person)
    assert queries.version_in_force(sheet) == version

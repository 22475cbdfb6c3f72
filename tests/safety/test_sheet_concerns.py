"""What worries about sheets: none in force, approvals that end, and who has still to read what."""

from datetime import date
from uuid import uuid4

import pytest

from shop import clock
from shop.concern import Grade
from shop.people.queries import the_room
from shop.recall import looking
from shop.safety import actions
from shop.safety.concerns import concerns
from tests.makers import moment
from tests.safety.hazard_sheets import approve, make_in_force, make_sheet, read, set_rules, write, written

pytestmark = pytest.mark.django_db


@pytest.fixture
def people(at, room_row, request):
    """Owner, engineer and assistant, who have been here since February."""
    with at("2025-02-01 08:00"):
        return [request.getfixturevalue(name) for name in ("owner", "engineer", "assistant")]


def worries(text):
    when = moment(text)
    with clock.moved(when):
        return {one.key: one for one in concerns(when)}


def test_a_room_without_sheets_has_no_such_worry(room_row):
    assert worries("2025-03-03 08:00") == {}


def test_sheets_that_are_not_in_force_are_one_note(people, at):
    engineer = people[1]
    for number in range(5):
        write(engineer, make_sheet(engineer, f"Sheet {number}", f"sheet-{number}"))
    found = worries("2025-03-03 08:00")
    one = found.pop("safety:sheets-not-in-force")
    assert found == {}
    assert (one.grade, one.headline, one.link) == (Grade.NOTE, "5 hazard sheets are not in force", "/hazards/sheets/")
    assert one.reason.startswith("Sheet 0; Sheet 1; Sheet 2; Sheet 3; and 1 more.")
    actions.stop_sheet(by=engineer, once=uuid4(), sheet=make_sheet(engineer, "Old", "old"))
    assert worries("2025-03-03 08:00")["safety:sheets-not-in-force"] == one


def test_a_withdrawn_sheet_is_among_them(people, at):
    owner, engineer, _ = people
    with at("2025-03-03 09:00"):
        version = make_in_force(engineer, owner)
    assert worries("2025-03-03 10:00") == {}
    with at("2025-03-03 11:00"):
        actions.withdraw_version(by=engineer, once=uuid4(), version=version, why="Wrong.")
    assert worries("2025-03-03 12:00")["safety:sheets-not-in-force"].headline == "A hazard sheet is not in force"


def test_an_approval_is_a_note_in_its_last_month_and_a_care_once_it_is_over(people, at):
    owner, engineer, _ = people
    with at("2025-03-03 09:00"):
        version = make_in_force(engineer, owner)
        for person in people:
            read(person, version)
    assert version.until == date(2027, 3, 3)
    assert worries("2027-01-30 23:00") == {}
    (ends,) = worries("2027-01-31 08:00").values()
    assert (ends.key, ends.grade) == (f"safety:approval-ends:{version.sheet_id}", Grade.NOTE)
    assert ends.reason == "Version 1 was approved until 3 March 2027."
    assert ends.by == moment("2027-03-03 00:00")
    assert ends.link == "/hazards/sheets/hot-lamp/"
    assert list(worries("2027-03-03 23:00")) == [ends.key]
    (over,) = worries("2027-03-04 00:30").values()
    assert (over.key, over.grade, over.by) == (f"safety:approval-over:{version.sheet_id}", Grade.CARE, None)
    assert "not in force any more" in over.reason
    with at("2027-03-05 09:00"):
        again = approve(owner, write(engineer, version.sheet, written(never="Never. [a]")))
        for person in people:
            read(person, again)
    assert worries("2027-04-05 09:00") == {}


def test_whoever_has_still_to_read_is_named_after_a_week_with_the_day_it_is_for(people, at, request):
    owner, engineer, assistant = people
    with at("2025-03-03 09:00"):
        lamp, door = make_in_force(engineer, owner), make_in_force(engineer, owner, "Cold door")
        for person in (owner, engineer):
            read(person, lamp)
            read(person, door)
    assert worries("2025-03-09 23:00") == {}
    (one,) = worries("2025-03-10 01:00").values()
    assert (one.key, one.grade) == (f"safety:to-read:{assistant.pk}", Grade.NOTE)
    assert one.headline == "Asta Pellow has 2 hazard sheets still to read"
    assert one.by == moment("2025-03-17 00:00")
    with at("2025-03-11 09:00"):
        read(assistant, lamp)
    assert worries("2025-03-11 10:00")[one.key].headline == "Asta Pellow has 1 hazard sheet still to read"
    with at("2025-03-11 11:00"):
        read(assistant, door)
    assert worries("2025-03-11 12:00") == {}


def test_whoever_is_new_has_their_time_too_and_visitors_and_leavers_are_not_named(people, at, request):
    owner, engineer, assistant = people
    set_rules(approval_months=0)
    with at("2025-02-03 09:00"):
        version = make_in_force(engineer, owner)
        for person in (owner, engineer):
            read(person, version)
    with at("2025-03-03 09:00"):
        request.getfixturevalue("visitor")
        assistant.made_at = clock.now()
        assistant.save()
    assert worries("2025-03-09 23:00") == {}
    found = worries("2025-03-10 01:00")
    assert list(found) == [f"safety:to-read:{assistant.pk}"]
    assert next(iter(found.values())).by == moment("2025-03-17 00:00")
    assistant.is_active = False
    assistant.save()
    assert worries("2025-03-10 10:00") == {}


def test_one_query_however_much_there_is(people, at, django_assert_num_queries):
    owner, engineer, _ = people
    with at("2025-02-03 09:00"):
        for number in range(6):
            make_in_force(engineer, owner, f"Sheet {number}")
            make_sheet(engineer, f"Draft {number}", f"draft-{number}")
    with looking():
        the_room()  # as a page knows it already
        with django_assert_num_queries(1):
            found = worries("2027-01-20 08:00")
    assert len(found) == 1 + 6 + 3

"""The pages of what is due: now, by the month, on paper, and the list."""

from datetime import date
from io import BytesIO
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from pypdf import PdfReader

from shop import clock
from shop.duties import actions, queries
from shop.duties.models import Duty, LateGrade
from shop.duties.rules import WantedStep
from tests.duties.makers import again, do, make_duty, make_meter, make_trap_duty, put_off, read_step, step
from tests.makers import moment

pytestmark = pytest.mark.usefixtures("monday")


def words(client, name, query="", args=()):
    return " ".join(client.get(reverse(f"duties:{name}", args=args) + query).content.decode().split())


@pytest.fixture
def several(engineer, assistant, at):
    """One late, one for today, one that comes, one far off, one of an engineer's."""
    with at("2025-02-20 09:00"):
        late = make_duty(
            engineer, "Walk the ways out", starts_on=date(2025, 2, 24), is_critical=True, late_grade=LateGrade.HOLD
        )
    today = make_duty(engineer, "Wipe the ports", for_role="assistant", late_days=2)
    coming = make_duty(engineer, "Empty the can", rule="FREQ=WEEKLY;BYDAY=FR", for_person=assistant)
    far = make_duty(engineer, "Service", rule="FREQ=YEARLY;BYMONTH=9;BYMONTHDAY=1")
    other = make_duty(engineer, "Level the lathe", rule="FREQ=WEEKLY;BYDAY=WE", for_role="engineer")
    return {"late": late, "today": today, "coming": coming, "far": far, "other": other}


def test_late_today_and_the_week_each_in_its_place(several, assistant, client_of):
    lists = queries.due_lists(clock.now(), assistant, whose="everyones")
    assert [duty.name for duty in lists.late] == ["Walk the ways out"]
    assert [duty.name for duty in lists.today] == ["Wipe the ports"]
    assert [duty.name for duty in lists.week] == ["Level the lathe", "Empty the can"]
    seen = words(client_of(assistant), "due", "?whose=everyones")
    assert seen.index("Walk the ways out") < seen.index("Wipe the ports") < seen.index("Level the lathe")
    assert "Late since Tuesday 25 Feb" in seen
    assert "Due Monday 3 Mar, from 08:00, with grace until Wednesday 5 Mar" in seen
    assert "Service" not in seen


def test_an_assistant_sees_first_what_is_theirs_and_an_engineer_everything(several, assistant, engineer, client_of):
    assert "Level the lathe" not in words(client_of(assistant), "due")
    assert "Level the lathe" in words(client_of(engineer), "due")
    theirs = words(client_of(assistant), "due", "?whose=nonsense")
    assert "Yours and anybody's <b>3</b>" in theirs
    assert "Everyone's <b>4</b>" in theirs


def test_a_visitor_reads_and_has_no_button(several, visitor, client_of):
    seen = words(client_of(visitor), "due")
    assert "Walk the ways out" in seen
    assert "Do it" not in seen


def test_each_has_one_press_that_leads_to_doing_it(several, assistant, client_of):
    seen = words(client_of(assistant), "due")
    assert (
        f'href="{reverse("duties:do-duty", args=[several["today"].pk])}">Do it<span class="unseen">: Wipe the ports'
        in seen
    )


def test_what_a_meter_brings_says_how_sure_that_is(engineer, assistant, at, client_of):
    chip = make_meter()
    for back in range(20, 0, -1):
        with at(f"2025-02-{22 - back:02} 15:00" if back < 22 else "2025-02-01 15:00"):
            step(assistant, "chip", 500)
    duty = make_duty(engineer, "Change the hose", rule="", meter=chip, meter_amount=2000)
    assert duty.expected_on is not None
    Duty.objects.filter(pk=duty.pk).update(
        expected_on=date(2025, 3, 8), expected_low_on=date(2025, 3, 7), expected_high_on=None
    )
    seen = words(client_of(engineer), "due")
    assert "Expected by its meter about Saturday 8 Mar, between 7 Mar and an open end nine times in ten, from" in seen
    assert "0.00 g, due at 2 g<" in seen, "it does not empty the trap, whose limit is another matter"


def test_put_off_it_says_so_and_done_it_is_told_below(several, assistant, at, client_of):
    put_off(assistant, several["today"], date(2025, 3, 6))
    with at("2025-03-03 10:20"):
        do(assistant, several["late"])
        seen = words(client_of(assistant), "due")
    assert "Put off to Thursday 6 Mar" in seen
    assert "Done today" in seen
    assert "10:20 <a" in seen


def test_an_empty_room_is_told_what_to_do_first(engineer, assistant, client_of):
    assert "Add a duty" in words(client_of(engineer), "due")
    seen = words(client_of(assistant), "due")
    assert "Nothing is due today or in the next seven days." in seen
    assert reverse("duties:add-duty") not in seen


def many(count, first=0):
    Duty.objects.bulk_create(
        Duty(
            name=f"Duty {first + n}",
            rule="FREQ=WEEKLY;BYDAY=MO",
            starts_on=date(2025, 3, 3),
            begun_at=clock.now(),
            zone="Europe/Lisbon",
            due_on=date(2025, 3, 3),
            due_at=moment("2025-03-03 08:00"),
            late_at=moment("2025-03-04 00:00"),
        )
        for n in range(count)
    )


@pytest.mark.parametrize("name", ["due", "month", "duties"])
def test_as_many_queries_for_many_as_for_few(engineer, client_of, name):
    client = client_of(engineer)

    def count():
        with CaptureQueriesContext(connection) as seen:
            assert client.get(reverse(f"duties:{name}")).status_code == 200
        return len(seen)

    many(2)
    few = count()
    many(400, first=100)
    assert count() == few <= 12


def test_a_page_lists_so_many_and_says_how_many_more(engineer, client_of):
    many(230)
    assert "30 more are due than are shown here." in words(client_of(engineer), "due")


# The month ------------------------------------------------------------------------------------------------------------


def test_a_month_shows_what_was_done_and_what_is_ahead(several, assistant, at, client_of):
    do(assistant, several["today"])
    found = queries.month_of(date(2025, 3, 1), clock.now())
    days = {day.day: day for week in found.weeks for day in week if day.in_month}
    assert len(days) == 31
    assert [entry.duty.name for entry in days[date(2025, 3, 3)].entries] == ["Wipe the ports"]
    assert [(one.duty.name, one.is_late) for one in days[date(2025, 3, 3)].coming] == [("Walk the ways out", True)]
    assert [one.duty.name for one in days[date(2025, 3, 10)].coming] == ["Walk the ways out", "Wipe the ports"]
    assert [one.duty.name for one in days[date(2025, 3, 7)].coming] == ["Empty the can"]
    seen = words(client_of(assistant), "month")
    assert "<h1>March 2025</h1>" in seen
    assert "Wipe the ports</a> <span>done</span>" in seen


def test_from_the_last_entry_the_month_goes_on_from_when_it_is_due(engineer, assistant):
    duty = make_duty(engineer, rule="FREQ=DAILY;INTERVAL=10", counts_from="entry")
    do(assistant, duty)
    found = queries.month_of(date(2025, 3, 1), clock.now())
    assert [day.day.day for day in found.days if day.coming] == [13, 23]


def test_a_past_month_shows_only_what_was_recorded(several):
    assert queries.month_of(date(2025, 1, 1), clock.now()).days == []


@pytest.mark.parametrize("typed", ["", "2025-13", "x", "0000-01", "9999-12", "2025-3-1", "1066-10"])
def test_a_month_that_is_none_is_the_present_one(assistant, client_of, typed):
    assert "<h1>March 2025</h1>" in words(client_of(assistant), "month", f"?month={typed}")


def test_a_day_lists_so_many_and_says_how_many_more(engineer, client_of):
    many(20)
    assert "and 8 more" in words(client_of(engineer), "month")


# The list -------------------------------------------------------------------------------------------------------------


def test_the_list_can_be_narrowed_and_sorted(several, engineer, client_of):
    client = client_of(engineer)
    seen = words(client, "duties")
    assert seen.index("Walk the ways out") < seen.index("Service")
    assert "Service" not in words(client, "duties", "?state=due")
    assert "Wipe the ports" not in words(client, "duties", "?state=late")
    assert "Service" not in words(client, "duties", "?state=critical")
    assert "Level the lathe" in words(client, "duties", "?words=LATHE")
    assert "No duty fits that." in words(client, "duties", "?words=nothing+so")
    last_first = words(client, "duties", "?sort=-due")
    assert last_first.index("Service") < last_first.index("Walk the ways out")


def test_a_stopped_one_is_on_the_list_of_stopped_ones(several, engineer, client_of):
    actions.stop_duty(by=engineer, once=uuid4(), duty=several["far"], why="Done by the landlord.")
    client = client_of(engineer)
    assert "Service" not in words(client, "duties")
    assert "Service" in words(client, "duties", "?state=stopped")


# Paper ----------------------------------------------------------------------------------------------------------------


def text_of(answer):
    assert answer["Content-Type"] == "application/pdf"
    return " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(answer.content)).pages).split())


def test_the_week_prints_as_a_list_to_tick(several, engineer, assistant, client_of):
    make_duty(engineer, "Read it", steps=(WantedStep("Open it"), read_step()))
    said = text_of(client_of(assistant).get(reverse("duties:due-pdf")))
    for part in (
        "Care this week",
        "Late",
        "Walk the ways out",
        "Open it",
        "Gauge",
        "Level the lathe",
        "for Asta Pellow",
    ):
        assert part in said


def test_one_duty_prints_as_a_card(engineer, assistant, client_of):
    duty = make_trap_duty(
        engineer, make_meter(), why="Chip burns.", steps=(read_step(),), authority="change-cylinder", source="our own"
    )
    said = text_of(client_of(assistant).get(reverse("duties:duty-card", args=[duty.pk])))
    for part in (
        "Empty the trap",
        "Chip burns.",
        "At 5 g on",
        "between 10 bar and 15 bar",
        "change cylinder",
        "our own",
    ):
        assert part in said
    assert "replaces neither the suppliers' safety data sheets" in said


def test_the_meters_page_leads_to_the_duty_that_resets_a_meter(engineer, assistant, client_of):
    chip = make_meter()
    make_meter("cut")
    duty = make_trap_duty(engineer, chip)
    seen = words(client_of(assistant), "meters")
    assert reverse("duties:do-duty", args=[duty.pk]) in seen
    assert "It runs on" in seen
    assert "There is a duty for this" in words(client_of(assistant), "reset-meter", args=[chip.pk])
    assert "Due by it: <a" in words(client_of(assistant), "meter", args=[chip.pk])


def test_a_meter_that_runs_on_is_not_reset(assistant, client_of):
    cut = make_meter("cut")
    answer = client_of(assistant).post(reverse("duties:reset-meter", args=[cut.pk]), {"once": uuid4()})
    assert answer.status_code == 422
    assert "This meter runs on" in answer.content.decode()


def test_kept_columns_are_those_the_page_shows(engineer):
    assert again(make_duty(engineer, late_days=3)).late_on == date(2025, 3, 6)

"""The assistant of the demo room is in the second week, whatever day of the week it is opened on."""

from datetime import date, timedelta
from random import Random

import pytest

from shop import clock
from shop.calc.learning import Stands
from shop.demo.hands import Hands
from shop.demo.learning import Learning
from shop.people.starter import load_starter
from shop.safety.models import HazardSheet
from shop.training import queries
from tests.makers import moment
from tests.safety import hazard_sheets


@pytest.mark.parametrize("weekday", [0, 5])
def test_some_steps_are_signed_and_one_question_comes_round_today(owner, engineer, assistant, weekday):
    load_starter()
    today = date(2026, 3, 16) + timedelta(days=weekday)
    with clock.moved(moment("2026-02-02 09:00")):
        for slug in ("fire", "chip"):
            version = hazard_sheets.approve(owner, HazardSheet.objects.get(slug=slug))
            hazard_sheets.read(assistant, version)
    told = Learning(Hands(Random(1)), today, owner=owner, engineer=engineer, assistant=assistant)
    for days in range(20, 0, -1):
        day = today - timedelta(days=days)
        with clock.moved(moment(f"{day} 18:50")):
            told.evening(day)
    with clock.moved(moment(f"{today} 08:00")):
        (course,) = queries.courses(queries.under_way(assistant))
        assert course.enrolment.starts_on == date(2026, 3, 9)
        assert course.done >= 9
        (asked,) = [line.asked for line in course.next if line.asked and line.asked.asked]
        assert asked.due_on <= today
        assert {line.step.order for line in course.lines if line.standing.stands is Stands.DONE} >= {10, 60, 70, 80}

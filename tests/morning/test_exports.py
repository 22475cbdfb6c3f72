"""Morning checks, carried away."""

import pytest
from django.urls import reverse

from tests.carrying.files import lines
from tests.morning.makers import CAN, EXITS, correct_check, make_check, overrule

pytestmark = pytest.mark.django_db


def test_checks_go_out_answer_by_answer_as_their_page_is_narrowed(asked, client_of, assistant, engineer, visitor):
    first = make_check(assistant, no=(CAN,), notes={CAN: "=lost"}, left_out=("room_rh",))
    second = correct_check(assistant, first, no=(EXITS,))
    overrule(engineer, second)
    client = client_of(visitor)
    found = lines(client, "checks")
    assert [line["Check"] for line in found] == [str(first.pk)] * 6 + [str(second.pk)] * 6
    by_question = {(line["Check"], line["Question"]): line for line in found}
    can = by_question[str(first.pk), CAN]
    assert (can["Answer"], can["Remark"], can["Counts"], can["Signed at"][:10]) == ("no", "'=lost", "no", can["Day"])
    assert by_question[str(first.pk), "Room humidity"]["Answer"] == "left out"
    air = by_question[str(second.pk), "Room temperature"]
    assert (air["Answer"], air["Read"], air["Unit"]) == ("read", "20.0", "°C")
    assert (air["Verdict"], air["Overruled by"], air["Corrects check"]) == ("Hold", engineer.name, str(first.pk))
    assert {line["Check"] for line in lines(client, "checks", "?verdict=hold")} == {str(second.pk)}
    page = client.get(reverse("morning:checks") + "?verdict=hold").content.decode()
    assert 'href="/carry/checks.csv?verdict=hold"' in page

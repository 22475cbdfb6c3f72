"""Duties and their entries, carried away."""

from uuid import uuid4

import pytest
from django.urls import reverse

from shop.duties import actions
from shop.duties.rules import WantedStep
from tests.carrying.files import lines
from tests.duties.makers import do, done, make_duty, read_step
from tests.makers import anyway

pytestmark = pytest.mark.django_db


def test_entries_go_out_step_by_step_each_duty_s_from_its_page(client_of, engineer, assistant, visitor):
    gauge = make_duty(engineer, "Read the line", steps=(read_step(), WantedStep("Wipe it")))
    other = make_duty(engineer)
    do(assistant, other)
    steps = done(gauge, readings={"Gauge": 9.0}, undone=("Wipe it",))
    entry = anyway(actions.do_duty, by=engineer, duty=gauge, steps=steps, note="=late")
    client = client_of(visitor)
    query = f"?duty={gauge.pk}"
    page = client.get(gauge.get_absolute_url()).content.decode()
    assert f'href="/carry/entries.csv{query}"' in page
    told = ("Entry", "Duty", "Signed", "Remark", "Step", "Done", "Read", "Unit", "Not below", "Counts")
    assert [tuple(line[name] for name in told) for line in lines(client, "entries", query)] == [
        (str(entry.pk), gauge.name, engineer.name, "'=late", "Read the gauge", "yes", "9.0", "bar", "10.0", "yes"),
        (str(entry.pk), gauge.name, engineer.name, "'=late", "Wipe it", "no", "", "", "", "yes"),
    ]
    actions.strike_entry(by=engineer, once=uuid4(), entry=entry, note="Another room's.")
    found = lines(client, "entries")
    assert [(line["Duty"], line["What"], line["Counts"]) for line in found if line["Entry"] != str(entry.pk)] == [
        (other.name, "Done", "yes"),
        (gauge.name, "Struck out", "yes"),
    ]
    assert {line["Counts"] for line in found if line["Entry"] == str(entry.pk)} == {"no"}
    assert lines(client, "entries", "?until=2001-01-01") == []


def test_duties_go_out_as_their_page_is_narrowed(client_of, engineer, visitor):
    kept, stopped = make_duty(engineer), make_duty(engineer, "Run the eyewash")
    actions.stop_duty(by=engineer, once=uuid4(), duty=stopped, why="There is none.")
    client = client_of(visitor)
    assert [line["Duty"] for line in lines(client, "duties")] == [kept.name]
    assert [line["Duty"] for line in lines(client, "duties", "?state=stopped")] == [stopped.name]
    assert len(lines(client, "duties", "?state=all")) == 2
    page = client.get(reverse("duties:duties") + "?state=all").content.decode()
    assert stopped.name in page
    assert 'href="/carry/duties.csv?state=all"' in page

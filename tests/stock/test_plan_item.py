"""The figures by which an item is ordered: what they can be, who changes them, and how they are typed."""

import re
from uuid import uuid4

import pytest
from django.urls import reverse

from shop.refusal import Changed, Doubtful, NotAllowed, Refused
from shop.stock import actions
from shop.stock.models import Item
from tests.makers import anyway
from tests.stock.makers import make_item, make_liquid, once

pytestmark = pytest.mark.django_db

FIGURES = {
    "pack_size": 25,
    "minimum_order": 50,
    "service_level": 0.98,
    "cover_weeks": 12,
    "expected_weekly": 6.5,
    "shelf_room": 200,
    "place": "rack by the door",
}
TYPED = {
    "version": "1",
    "pack_size": "25",
    "minimum_order": "50",
    "service_level": "98",
    "cover_weeks": "12",
    "expected_weekly": "6,5",
    "shelf_room": "200",
    "place": " rack  by the door ",
}


def page(item):
    return reverse("stock:plan-item", args=[item.pk])


def test_it_is_planned(engineer):
    item = actions.plan_item(by=engineer, once=once(), item=make_item(engineer, minimum=3), version=1, **FIGURES)
    item.refresh_from_db()
    assert {name: getattr(item, name) for name in FIGURES} == FIGURES
    assert (item.minimum, item.version) == (3, 2)


@pytest.mark.parametrize(
    ("figures", "field"),
    [
        ({"pack_size": 0}, "pack_size"),
        ({"pack_size": 10**9}, "pack_size"),
        ({"minimum_order": -1}, "minimum_order"),
        ({"service_level": 0.49}, "service_level"),
        ({"service_level": 1.0}, "service_level"),
        ({"service_level": float("nan")}, "service_level"),
        ({"cover_weeks": 0}, "cover_weeks"),
        ({"cover_weeks": 53}, "cover_weeks"),
        ({"expected_weekly": 0.0}, "expected_weekly"),
        ({"expected_weekly": -2.0}, "expected_weekly"),
        ({"expected_weekly": float("inf")}, "expected_weekly"),
        ({"shelf_room": 0}, "shelf_room"),
        ({"place": "x" * 61}, "place"),
    ],
)
def test_a_figure_that_can_not_be(engineer, figures, field):
    item = make_item(engineer)
    with pytest.raises(Refused) as refused:
        actions.plan_item(by=engineer, once=once(), item=item, version=1, **figures)
    assert refused.value.field == field
    item.refresh_from_db()
    assert item.version == 1


def test_a_shelf_with_less_room_than_the_smallest_order_is_asked_about(engineer):
    item = make_item(engineer)
    tight = {"item": item, "version": 1, "pack_size": 25, "minimum_order": 30, "shelf_room": 49}
    with pytest.raises(Doubtful, match="smallest order is 50, and the shelf would hold 49") as asked:
        actions.plan_item(by=engineer, once=once(), **tight)
    assert [doubt.field for doubt in asked.value.doubts] == ["shelf_room"]
    assert anyway(actions.plan_item, by=engineer, **tight).shelf_room == 49


def test_engineers_plan_and_nobody_over_another(engineer, assistant):
    item = make_item(engineer)
    with pytest.raises(NotAllowed):
        actions.plan_item(by=assistant, once=once(), item=item, version=1)
    actions.plan_item(by=engineer, once=once(), item=item, version=1, **FIGURES)
    with pytest.raises(Changed):
        actions.plan_item(by=engineer, once=once(), item=item, version=1)


def test_it_is_typed_in_percent_and_twice_is_once(client_of, engineer):
    item = make_item(engineer)
    client = client_of(engineer)
    typed = TYPED | {"once": str(uuid4())}
    for _ in range(2):
        done = client.post(page(item), typed)
        assert done.status_code == 302, done.content.decode()
    item.refresh_from_db()
    assert {name: getattr(item, name) for name in FIGURES} == FIGURES
    assert item.version == 2
    again = client.get(page(item)).content.decode()
    for kept in ('value="98"', 'value="25"', 'value="6.5"', 'value="rack by the door"', 'name="version" value="2"'):
        assert kept in again


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"pack_size": "0"}, "below 1"),
        ({"minimum_order": ""}, "Fill this in."),
        ({"pack_size": "2.5"}, "whole number"),
        ({"minimum_order": "-5"}, "below 0"),
        ({"service_level": "100"}, "above 99.9"),
        ({"service_level": "0.95"}, "below 50"),
        ({"service_level": ""}, "Fill this in."),
        ({"cover_weeks": "two"}, "not a number"),
        ({"cover_weeks": "200"}, "above 52"),
        ({"expected_weekly": "0"}, "above zero, or leave it empty"),
        ({"expected_weekly": "3 kg"}, "plain number"),
        ({"shelf_room": "10"}, "the shelf would hold 10"),
        ({"place": "x" * 61}, "60 characters"),
    ],
)
def test_bad_input_is_refused_at_its_field_and_kept(client_of, engineer, typed, sentence):
    item = make_item(engineer)
    answer = client_of(engineer).post(page(item), TYPED | typed | {"once": str(uuid4())})
    text = answer.content.decode()
    assert answer.status_code == 422
    [field] = typed
    assert sentence in text.split(f'id="id_{field}_error"')[1].split("</p>")[0]
    assert not typed[field] or f'value="{typed[field]}"' in text
    assert Item.objects.get().version == 1


def test_a_stale_save_shows_what_is_saved_now(client_of, engineer, owner):
    item = make_item(engineer)
    actions.plan_item(by=owner, once=once(), item=item, version=1, **FIGURES)
    stale = client_of(engineer).post(page(item), TYPED | {"service_level": "95", "once": str(uuid4())})
    text = stale.content.decode()
    assert stale.status_code == 422
    facts = re.findall(r"<dt>(.*?)</dt><dd>(.*?)</dd>", text.split('id="saved-now"')[1].split("</section>")[0])
    assert ("Service level", "98 %") in facts


@pytest.mark.parametrize("unit", ["l", "gal", "ml"])
def test_a_liquid_reads_back_as_it_was_typed(client_of, engineer, unit):
    """Saving the page as it opened changes no figure, whatever unit it is read in."""
    item = make_liquid(engineer)
    actions.plan_item(
        by=engineer, once=once(), item=item, version=1, pack_size=2505, expected_weekly=35.25, shelf_room=10_000
    )
    engineer.liquid_unit = unit
    engineer.save()
    client = client_of(engineer)
    shown = client.get(page(item)).content.decode()
    typed = dict(re.findall(r'name="(\w+)" value="([^"]*)"', shown))
    assert client.post(page(item), typed).status_code == 302
    item.refresh_from_db()
    assert (item.pack_size, item.shelf_room, item.version) == (2505, 10_000, 3)
    assert item.expected_weekly == pytest.approx(35.25, rel=1e-5)


def test_an_empty_pack_is_no_pack(client_of, engineer):
    item = make_liquid(engineer)
    client = client_of(engineer)
    assert re.search(r'name="pack_size" id=|name="pack_size" (?!value)', client.get(page(item)).content.decode())
    typed = TYPED | {"pack_size": "", "once": str(uuid4())}
    assert client.post(page(item), typed).status_code == 302
    item.refresh_from_db()
    assert (item.pack_size, item.minimum_order) == (1, 50_000)

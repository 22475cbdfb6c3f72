"""What a room with few styli and no worn lives is told: nothing that is not so."""

from collections.abc import Callable
from uuid import uuid4

import pytest
from django.test import Client

from shop.cutting import actions, queries
from shop.cutting.actions import WantedSide
from shop.cutting.models import Life, Stylus, StylusKind
from shop.people.models import Person
from shop.refusal import Refused
from tests.cutting.makers import Bench, address, cut, make_booking, make_stylus, once, start, text

pytestmark = pytest.mark.django_db

ClientOf = Callable[[Person], Client]


def test_where_a_side_starts_and_runs_advice_says_what_it_rests_on(bench: Bench, client_of: ClientOf) -> None:
    make_booking(bench.engineer)
    client = client_of(bench.engineer)
    said = queries.life_outlook(Life.objects.get()).basis.replace("'", "&#x27;")
    assert said.startswith("No life has worn out yet: this rests on the room&#x27;s own guess.")
    assert said in text(client.get(bench.stylus.get_absolute_url()))
    for page in (address("start-side"), start(bench).get_absolute_url()):
        shown = text(client.get(page))
        assert said in shown
        assert "own lives of that kind" not in shown


def test_with_two_kinds_in_the_heads_each_says_what_it_rests_on(bench: Bench, client_of: ClientOf) -> None:
    kind = actions.add_stylus_kind(by=bench.engineer, once=once(), name="Sapphire", expected_h=9, sureness="well")
    lathe = actions.add_lathe(by=bench.engineer, once=once(), name="Other")
    other = make_stylus(bench.engineer, kind, "S-1")
    actions.fit_stylus(by=bench.engineer, once=once(), stylus=other, lathe=lathe)
    page = text(client_of(bench.engineer).get(address("start-side")))
    assert "Ruby, heated: no life has worn out yet" in page
    assert "Sapphire: no life has worn out yet" in page


def test_a_chipped_life_did_end_only_not_by_wear(bench: Bench) -> None:
    cut(bench)
    actions.retire_stylus(by=bench.engineer, once=once(), stylus=bench.stylus, reason="chipped")
    outlook = queries.outlooks([Life(stylus=make_stylus(bench.engineer, bench.kind, "R-2"))])[None]  # type: ignore[index]
    assert outlook.basis.startswith("No life has worn out yet (1 still runs or ended otherwise): this rests on")


def test_the_list_points_below_only_where_something_is_to_fit(bench: Bench, client_of: ClientOf) -> None:
    client = client_of(bench.engineer)
    actions.retire_stylus(by=bench.engineer, once=once(), stylus=bench.stylus, reason="lost")
    page = text(client.get(address("styli")))
    assert "No stylus is in the head of Lathe." in page
    assert "Fit one of those below" not in page
    make_stylus(bench.engineer, bench.kind, "R-2")
    assert "Fit one of those below" in text(client.get(address("styli")))
    assert "Fit one of those below" not in text(client.get(address("styli"), {"state": "retired"}))


@pytest.mark.parametrize(("sides", "them"), [("A", "it"), ("AB", "them")])
def test_one_side_is_it_and_two_are_them(bench: Bench, client_of: ClientOf, sides: str, them: str) -> None:
    make_booking(bench.engineer, [WantedSide(label, 600) for label in sides])
    page = text(client_of(bench.engineer).get(bench.stylus.get_absolute_url()))
    assert f"The chance that it finishes {them} is" in page


def test_what_is_known_is_changed_right_below_it(bench: Bench, client_of: ClientOf) -> None:
    page = text(client_of(bench.engineer).get(bench.stylus.get_absolute_url()))
    places = [page.index(words) for words in ("What is known of it", "Change these", "In the log")]
    assert places == sorted(places)


def test_no_tip_has_a_radius_of_0(bench: Bench, client_of: ClientOf) -> None:
    for radius in (0, 0.0):
        with pytest.raises(Refused, match=r"No tip has a radius of 0\. Leave it empty") as no:
            make_stylus(bench.engineer, bench.kind, "R-2", tip_radius_um=radius)
        assert no.value.field == "tip_radius_um"
        with pytest.raises(Refused, match=r"No tip has a radius of 0\. Leave it empty"):
            actions.add_stylus_kind(by=bench.engineer, once=once(), name="Ruby", expected_h=9, tip_radius_um=radius)
    client = client_of(bench.engineer)
    facts = {"once": str(uuid4()), "mark": "R-3", "kind": bench.kind.pk, "received_on": "2020-01-01"}
    refused = client.post(address("add-stylus"), facts | {"tip_radius_um": "0"})
    assert refused.status_code == 422
    assert "No tip has a radius of 0. Leave it empty if it is not known." in text(refused)
    assert client.post(address("add-stylus"), facts | {"tip_radius_um": ""}).status_code == 302
    assert Stylus.objects.get(mark="R-3").radius_um is None
    assert "radius not known" in text(client.get(Stylus.objects.get(mark="R-3").get_absolute_url()))


def test_a_kind_whose_radius_nobody_knows_is_left_empty(bench: Bench, client_of: ClientOf) -> None:
    client = client_of(bench.engineer)
    facts = {"once": str(uuid4()), "name": "Diamond", "expected_h": "40", "sureness": "rough"}
    refused = client.post(address("add-stylus-kind"), facts | {"tip_radius_um": "0,0"})
    assert (refused.status_code, "No tip has a radius of 0" in text(refused)) == (422, True)
    assert client.post(address("add-stylus-kind"), facts | {"tip_radius_um": ""}).status_code == 302
    assert StylusKind.objects.get(name="Diamond").tip_radius_um is None
    assert cut(bench).chip_mg > 0  # of a tip nobody measured

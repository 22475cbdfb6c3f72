"""Before the head goes down: what is said of the stylus, what starting asks, and when it was pressed."""

import re
from collections.abc import Callable
from datetime import UTC
from typing import Any

import pytest
from django.test import Client

from shop import clock
from shop.cutting import actions, queries
from shop.cutting.models import BookingSide, RunningSide
from shop.people.models import Person
from shop.refusal import Doubtful
from tests.cutting.makers import Bench, address, cut, once, text
from tests.cutting.test_running import second_lathe, start, start_booked, stop, wanted_side
from tests.makers import at
from tests.safety.papers import words

pytestmark = pytest.mark.django_db


@pytest.fixture
def signed_in(bench: Bench, client_of: Callable[[Person], Client]) -> Client:
    return client_of(bench.engineer)


def test_the_same_side_on_a_second_lathe_is_asked_about(bench: Bench) -> None:
    lathe, stylus = second_lathe(bench)
    wanted = wanted_side(bench)
    first = start_booked(bench, wanted)
    with pytest.raises(Doubtful, match=r"runs on Lathe since 10:00 on 3 March\. Cut it on .* as well") as asked:
        start_booked(bench, wanted, lathe=lathe, stylus=stylus)
    [doubt] = asked.value.doubts
    assert doubt.key == f"elsewhere-{first.pk}:stylus"
    stop(bench, first)
    with pytest.raises(Doubtful, match=r"nobody has said what became of it\. Again"):
        start_booked(bench, wanted, lathe=lathe, stylus=stylus)
    assert start_booked(bench, wanted, lathe=lathe, stylus=stylus, sure=[doubt.key]).lathe == lathe


def test_advice_against_this_side_is_asked_about_until_it_is_overruled(bench: Bench) -> None:
    wanted = wanted_side(bench)
    life = bench.stylus.lives.get()
    life.cut_s = 24 * 3600
    life.save(update_fields=["cut_s"])
    limits = {"care_below": 0.999, "hold_below": 0.1, "days_ahead": 14}
    actions.change_limits(by=bench.engineer, once=once(), version=1, **limits)
    with pytest.raises(Doubtful, match="The advice about R-1 is to change it before this side") as asked:
        start_booked(bench, wanted)
    [worn] = asked.value.doubts
    assert "The chance that it lasts to its end is" in worn.sentence
    life.noise_over = True
    life.save(update_fields=["noise_over"])
    with pytest.raises(Doubtful, match="noisier than the shop's own limit"):
        start_booked(bench, wanted, sure=[worn.key])
    actions.overrule_advice(by=bench.engineer, once=once(), stylus=bench.stylus, reason="It is a test of that edge.")
    assert start_booked(bench, wanted).life == life


def test_a_test_cut_with_a_noisy_edge_is_asked_about_too(bench: Bench) -> None:
    bench.stylus.lives.update(noise_jumped=True)
    with pytest.raises(Doubtful, match="is to look its edge over before this side"):
        start(bench)


def test_every_page_says_the_same_of_the_stylus_before_the_head_goes_down(bench: Bench, signed_in: Client) -> None:
    wanted = wanted_side(bench)
    reason = actions.add_reject_reason(by=bench.engineer, once=once(), name="Dragged", blame="edge")
    cut(bench, outcome="rejected", reject_reason=reason)
    [told] = queries.told_of_heads([wanted])
    assert told.sentence.startswith("Look its edge over before the next side")
    assert told.sentence.endswith(", if its edge is whole.")
    assert (told.grade or 0) == 3
    for page in (address("start-side"), address("day-plan")):
        shown = text(signed_in.get(page))
        assert told.sentence in shown, page
        assert "grade-hold" in shown, page
    assert "its edge may be chipped" in text(signed_in.get(address("day-plan")))
    assert "chance to finish" not in text(signed_in.get(address("day-plan")))
    sheet = signed_in.get(address("cut-sheet-pdf", wanted.pk)).content
    assert " ".join(told.sentence.split()) in " ".join(" ".join(words(sheet)).split())
    with pytest.raises(Doubtful) as asked:
        start_booked(bench, wanted)
    run = start_booked(bench, wanted, sure=[doubt.key for doubt in asked.value.doubts])
    assert told.sentence in text(signed_in.get(run.get_absolute_url()))


def test_one_number_is_told_of_a_side(bench: Bench, signed_in: Client) -> None:
    wanted = wanted_side(bench)
    bench.stylus.lives.update(cut_s=5 * 3600)
    [told] = queries.told_of_heads([wanted])
    outlook = queries.life_outlook(queries.fitted_lives()[0].life)
    assert told.chance == outlook.chance(1200)
    run = start_booked(bench, wanted)
    at_the_lathe = queries.plan_of_run(queries.runs().get(pk=run.pk), clock.today(), 0.5).advice[0].words
    assert f"{100 * outlook.chance(1200):.0f}" in at_the_lathe


def test_the_first_press_counts_whatever_is_asked(bench: Bench, signed_in: Client) -> None:
    """Without script: nothing says when it was pressed but the time it came."""
    wanted = wanted_side(bench)
    bench.stylus.lives.update(noise_jumped=True)
    facts = start_typed(bench, wanted)
    asked = signed_in.post(address("start-side"), facts)
    assert asked.status_code == 422
    assert "Pressed at 10:00:00: it counts from then." in text(asked)
    kept = re.search(r'name="pressed_at" value="(\d+)"', text(asked))
    assert kept is not None
    [doubt] = asked.context["form"].doubts
    with at("2025-03-03 10:02:30"):
        refused = signed_in.post(address("start-side"), facts | {"pressed_at": kept[1], "speed": "none"})
        assert refused.status_code == 422
        assert f'name="pressed_at" value="{kept[1]}"' in text(refused)
        done = signed_in.post(address("start-side"), facts | {"pressed_at": kept[1], "sure": doubt.key})
        assert done.status_code == 302
    run = RunningSide.objects.get()
    assert run.started_at.astimezone(UTC).strftime("%M:%S") == "00:00"


def start_typed(bench: Bench, wanted: BookingSide) -> dict[str, Any]:
    fitting = queries.fittings().get(off_at=None)
    return {
        "once": str(once()),
        "wanted": wanted.pk,
        "stylus": fitting.pk,
        "lot": bench.lot.pk,
        "disc_in": "12",
        "speed": "33",
        "width_um": "56",
        "pressed_at": "",
    }

"""Nitrogen that went and that nothing explains: asked about at the box, told until it is known what it was."""

from collections.abc import Callable
from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import DatabaseError, transaction
from django.test import Client
from django.urls import reverse

from shop import clock, concern
from shop.calc import gas
from shop.people.models import Person
from shop.refusal import Doubtful, NotAllowed, Refused
from shop.room import actions, queries
from shop.room.models import Cylinder, ExplainedLoss, GasForecast, GasUse, ReadingHour, ReadingKind
from shop.room.outlook import keep_gas_forecast
from tests.carrying.files import lines
from tests.cutting.makers import cut, make_bench
from tests.makers import at as moved
from tests.room import makers

pytestmark = pytest.mark.django_db


def worries() -> list[concern.Concern]:
    return [each for each in concern.gather(clock.now()) if each.key.startswith("room:gas:gone")]


def lost(by: Person, *bars: float) -> Cylinder:
    """A cylinder read on the mornings from 3 March on, at 20 degrees."""
    with moved("2025-03-03 07:50"):
        cylinder = makers.connected_cylinder(by)
    for day, bar in enumerate(bars):
        with moved("2025-03-03 08:00"):
            when = clock.now() + timedelta(days=day)
        with clock.moved(when):
            makers.take_anyway(by, nitrogen_bar=bar, room_c=20)
    return cylinder


def explain(by: Person, cylinder: Cylinder, what: str = "A hose blew off, shut at once.") -> ExplainedLoss:
    until = queries.losses_of(cylinder).open[-1].last.at
    return actions.explain_loss(by=by, once=uuid4(), cylinder=cylinder, until=until, what=what)


def test_the_box_asks_where_no_side_was_cut(assistant: Person, at: Callable) -> None:
    lost(assistant, 190)
    with at("2025-03-04 08:00"):
        with pytest.raises(Doubtful) as raised:
            makers.take(assistant, nitrogen_bar=150, room_c=20)
        assert raised.value.doubts[0].field == "nitrogen_bar"
        sentence = raised.value.doubts[0].sentence
        assert "much less than yesterday at 08:00 (190\u00a0bar): 2.0\u00a0kg of nitrogen went, and no side" in sentence
        assert "look for a leak" in sentence
        makers.take(assistant, nitrogen_bar=183, room_c=20)


def test_what_sides_take_is_not_asked_about(assistant: Person, at: Callable) -> None:
    GasUse.objects.create(pk=1, side_g=120)
    with at("2025-03-03 07:00"):
        bench = make_bench()
    lost(assistant, 190)
    with at("2025-03-03 11:00"):
        for _ in range(6):
            cut(bench)
    with at("2025-03-04 08:00"):
        makers.take(assistant, nitrogen_bar=174, room_c=20)  # 6 sides at 120 g are some 15 bar
        assert worries() == []
    with at("2025-03-04 12:00"):
        with pytest.raises(Doubtful, match="no side was cut since"):
            makers.take(assistant, nitrogen_bar=150, room_c=20)
        # of the evening before it is asked with the sides that were cut by then
        with at("2025-03-03 18:00"):
            evening = clock.now()
        with pytest.raises(Doubtful, match=r"the 6 sides cut since take some 0\.72.kg"):
            makers.take(assistant, nitrogen_bar=110, at=evening, sure=(f"at:late:{evening.isoformat()}",))


def test_confirmed_it_is_care_until_somebody_writes_what_it_was(
    assistant: Person, engineer: Person, at: Callable
) -> None:
    cylinder = lost(assistant, 190, 150, 149)
    with at("2025-03-05 09:00"):
        (worry,) = worries()
        assert worry.grade == concern.Grade.CARE
        assert worry.headline == "2.0\u00a0kg of nitrogen went, and no use explains it"
        assert "from 190\u00a0bar on 3 Mar at 08:00 to 150\u00a0bar yesterday at 08:00" in worry.reason
        assert "no side was cut in between" in worry.reason
        assert "displaces the air" in worry.reason
        assert worry.what_to_do.startswith("Air the room before anyone stays in it")
        assert {each.text for each in worry.quantities} == {"190\u00a0bar", "150\u00a0bar"}
        assert " safe" not in worry.headline + worry.reason + worry.what_to_do
    with at("2025-03-20 09:00"):
        assert [each.key for each in worries()] == [worry.key]
        written = explain(engineer, cylinder, "  A hose   blew off ")
        assert (written.what, written.by, round(written.gone_g)) == ("A hose blew off", engineer, 2001)
        assert worries() == []
        makers.take_anyway(assistant, nitrogen_bar=100, room_c=20)
        (again,) = worries()
        assert again.key != worry.key
        assert "from 149\u00a0bar" in again.reason


def test_sides_that_are_logged_late_settle_it(assistant: Person, at: Callable) -> None:
    GasUse.objects.create(pk=1, side_g=140)
    with at("2025-03-03 07:00"):
        bench = make_bench()
    lost(assistant, 190, 170)
    with at("2025-03-04 08:10"):
        assert len(worries()) == 1
    with at("2025-03-03 15:00"):
        for _ in range(7):
            cut(bench)
    with at("2025-03-04 08:20"):
        assert worries() == []


def test_a_misreading_put_right_settles_it(assistant: Person, at: Callable) -> None:
    cylinder = lost(assistant, 190, 150)
    with at("2025-03-04 08:20"):
        last = queries.last_gauge(cylinder)
        actions.correct_reading(by=assistant, once=uuid4(), reading=last, value=189, reason="Misread.")
        assert worries() == []


def test_a_standing_test_after_it_settles_it_if_it_could_have_told(assistant: Person, at: Callable) -> None:
    cylinder = lost(assistant, 190, 150)
    with at("2025-03-04 08:30"):
        short = makers.begin_standing_test(assistant, cylinder, 150, 20)
    with at("2025-03-04 08:50"):
        makers.end_standing_test(assistant, short, 150, 20)
        assert len(worries()) == 1  # twenty minutes tell nothing of 2 kg a day
        night = makers.begin_standing_test(assistant, cylinder, 150, 20)
    with at("2025-03-05 08:50"):
        makers.end_standing_test(assistant, night, 149, 20)
        assert worries() == []
        (one,) = queries.losses_of(cylinder).all
        assert one.tested
        assert not one.explained


def test_a_test_that_finds_the_leak_settles_nothing(assistant: Person, at: Callable) -> None:
    cylinder = lost(assistant, 190, 150)
    with at("2025-03-04 18:50"):
        night = makers.begin_standing_test(assistant, cylinder, 150, 20)
    with at("2025-03-05 08:50"):
        makers.end_standing_test(assistant, night, 120, 20)
        (worry,) = worries()
        assert "3.6\u00a0kg" in worry.headline
        assert "in 2 stretches" in worry.reason


def test_it_goes_with_the_cylinder(assistant: Person, at: Callable) -> None:
    cylinder = lost(assistant, 190, 150)
    with at("2025-03-04 18:50"):
        makers.empty_cylinder(assistant, cylinder, sure=("at:not-empty:150",))
        assert worries() == []
        assert len(queries.losses_of(cylinder).open) == 1


def test_in_a_room_of_psi_it_is_told_in_psi(assistant: Person, room_row: object, at: Callable) -> None:
    type(room_row).objects.update(pressure_unit="psi")
    lost(assistant, 190, 150)
    with at("2025-03-04 09:00"):
        (worry,) = worries()
        assert "from 2756\u00a0psi" in worry.reason
        assert "bar" not in worry.reason


def test_no_loss_is_taken_as_use(assistant: Person) -> None:
    """Ten mornings of 3 bar, one night of 60: the pace is that of the mornings."""
    bars = [195 - 3 * day - (60 if day >= 6 else 0) for day in range(12)]
    lost(assistant, *bars)
    with moved("2025-03-14 09:00"):
        rack = queries.cylinder_rack()
        found = queries.gas_outlook(queries.gas_state(clock.now(), rack=rack), rack)
        assert found.losses == 1
        assert found.pace.per_day is not None
        three_bar = 1000 * (gas.nitrogen_mass_kg(50, 123, 20) - gas.nitrogen_mass_kg(50, 120, 20))
        assert found.pace.per_day.middle == pytest.approx(three_bar, rel=0.15)
        assert found.pace.per_day.high < 2 * three_bar
        keep_gas_forecast()
        assert GasForecast.objects.get().spread_g is not None
        assert queries.kept_habit().is_learnt
        assert len(worries()) == 1


def test_an_instrument_that_reads_it_each_minute_is_held_against_the_sides_too(
    assistant: Person, owner: Person, at: Callable
) -> None:
    """Its hours are looked at, once they are over."""
    with at("2025-03-03 07:50"):
        cylinder = makers.connected_cylinder(assistant)
        midnight = clock.now().replace(hour=0, minute=0, second=0, microsecond=0)
    for hour, bar in ((9, 190.0), (12, 190.0), (15, 150.0)):
        ReadingHour.objects.create(
            kind=ReadingKind.NITROGEN_BAR,
            of=cylinder.pk,
            hour=midnight + timedelta(hours=hour),
            count=60,
            total=60 * bar,
            low=bar,
            high=bar,
        )
    with clock.moved(midnight + timedelta(hours=15, minutes=50)):
        assert worries() == []
    with clock.moved(midnight + timedelta(hours=16, minutes=1)):
        (worry,) = worries()
        assert "2.0\u00a0kg of nitrogen went" in worry.headline


def test_what_writing_it_down_refuses(assistant: Person, engineer: Person, visitor: Person, at: Callable) -> None:
    cylinder = lost(assistant, 190, 150)
    with at("2025-03-04 09:00"):
        for stranger in (assistant, visitor):
            with pytest.raises(NotAllowed):
                explain(stranger, cylinder)
        with pytest.raises(Refused, match="Write something") as raised:
            explain(engineer, cylinder, "   ")
        assert raised.value.field == "what"
        until = queries.losses_of(cylinder).open[-1].last.at
        makers.take_anyway(assistant, nitrogen_bar=100, room_c=20)
        with pytest.raises(Refused, match="something else by now"):
            actions.explain_loss(by=engineer, once=uuid4(), cylinder=cylinder, until=until, what="Blown off")
        explain(engineer, cylinder)
        with pytest.raises(Refused, match="open any more"):
            actions.explain_loss(by=engineer, once=uuid4(), cylinder=cylinder, until=until, what="Blown off")
    with pytest.raises(DatabaseError), transaction.atomic():
        ExplainedLoss.objects.update(what="Nothing at all")


def test_the_pages(
    assistant: Person, engineer: Person, visitor: Person, client: Client, client_of: Callable, at: Callable
) -> None:
    cylinder = lost(assistant, 190, 150)
    page = reverse("room:explain-loss", args=[cylinder.pk])
    with at("2025-03-04 09:00"):
        assert client.get(page).status_code == 302
        assert client_of(assistant).get(page).status_code == 403
        assert client_of(engineer).delete(page).status_code == 405
        seen = client_of(visitor).get(cylinder.get_absolute_url()).content.decode()
        assert "Gas that went" in seen
        assert page not in seen
        by_engineer = client_of(engineer)
        assert page in by_engineer.get(cylinder.get_absolute_url()).content.decode()
        shown = by_engineer.get(page)
        typed = {"once": uuid4(), "until": shown.context["form"]["until"].value(), "what": ""}
        refused = by_engineer.post(page, typed)
        assert refused.status_code == 422
        assert "Error:" in refused.content.decode()
        lost_track = by_engineer.post(page, {**typed, "until": "soon", "what": "A hose"})
        assert "lost track" in lost_track.content.decode()
        for _ in range(2):  # a second press is the same record
            done = by_engineer.post(page, {**typed, "what": "A hose blew off"})
            assert done.status_code == 302
        assert ExplainedLoss.objects.count() == 1
        told = by_engineer.get(cylinder.get_absolute_url()).content.decode()
        assert "A hose blew off" in told
        assert "written down what it was" in told
        (line,) = lines(client_of(visitor), "explained-losses")
        assert (line["Cylinder"], line["Gone, g"], line["What it was"]) == ("N-17", "2001", "A hose blew off")
        assert "Nothing that went" in by_engineer.get(page).content.decode()

"""Chip after the trap: cans, what is wetted and stored in them, what waits, who took them."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db import DatabaseError, transaction
from django.test import Client
from django.urls import reverse

from shop import clock, concern
from shop.duties import actions as duties
from shop.duties import meters
from shop.duties.models import Meter
from shop.people.models import Person
from shop.refusal import Changed, Doubtful, NotAllowed, Refused
from shop.room import actions
from shop.room.models import ChipCan, ChipStored, can_named
from shop.room.queries import chip
from tests.carrying.files import lines
from tests.makers import anyway
from tests.makers import at as moved

pytestmark = pytest.mark.django_db


@pytest.fixture
def trap(room_row: object) -> Meter:
    return Meter.objects.create(
        key="chip", name="Chip in the trap", unit="mg", reset_word="trap emptied", care_at=6000, hold_at=12000
    )


def start(by: Person, mark: str = "C-1", **other: Any) -> ChipCan:
    return actions.start_chip_can(by=by, once=uuid4(), mark=mark, **other)


def store(by: Person, can: ChipCan, grams: float = 5.0, **other: Any) -> ChipStored:
    return anyway(actions.store_chip, by=by, **{"can": can, "grams": grams, "wetted": True, **other})


def hand_over(by: Person, can: ChipCan, **other: Any) -> ChipCan:
    return actions.hand_over_chip(by=by, once=uuid4(), can=can, **{"taken_by": "Mill Lane Waste", **other})


def take_back(by: Person, can: ChipCan, why: str = "It is still here.") -> ChipCan:
    return actions.take_back_can(by=by, once=uuid4(), can=can, why=why)


def empty_trap(by: Person, trap: Meter, mg: int) -> None:
    """Chip comes about, and the trap is emptied."""
    with transaction.atomic():
        meters.advance(key="chip", amount=mg, at=clock.now(), by=by)
    duties.reset_meter(by=by, once=uuid4(), meter=trap)


def worries(word: str = "room:chip") -> list[concern.Concern]:
    return [each for each in concern.gather(clock.now()) if each.key.startswith(word)]


def test_what_was_emptied_waits_until_it_is_stored(assistant: Person, trap: Meter) -> None:
    with moved("2025-03-03 17:00"):
        empty_trap(assistant, trap, 4000)  # before there was a can, nobody asks
        assert (chip.to_store().times, worries()) == (0, [])
        can = start(assistant)
    with moved("2025-03-03 18:00"):
        empty_trap(assistant, trap, 5200)
    with moved("2025-03-03 19:00"):
        empty_trap(assistant, trap, 900)
        waits = chip.to_store()
        assert (waits.holds.mg, waits.times) == (6100, 2)
        assert (waits.holds.low, waits.holds.high) == pytest.approx((3.05, 9.15))
        (worry,) = worries()
        assert (worry.key, worry.grade) == ("room:chip:to-store", concern.Grade.NOTE)
        assert "6.1\u00a0g, from 3" in worry.reason
    with moved("2025-03-04 08:00"):
        assert [each.grade for each in worries()] == [concern.Grade.CARE]
        store(assistant, can, 6.1)
        assert worries() == []
        (state,) = chip.can_states()
        assert (state.holds.mg, state.share, state.days) == (6100, None, 1)


def test_an_emptying_that_was_taken_back_does_not_wait(assistant: Person, trap: Meter) -> None:
    with moved("2025-03-03 17:00"):
        start(assistant)
    with moved("2025-03-03 18:00"):
        empty_trap(assistant, trap, 5200)
        tick = chip.emptyings().get()
        with transaction.atomic():
            meters.undo_reset(tick=tick, by=assistant)
        assert chip.to_store().times == 0
        assert worries() == []


def test_a_can_fills_up_and_stands_too_long(assistant: Person, trap: Meter) -> None:
    with moved("2025-03-03 17:00"):
        can = start(assistant, limit_g=10, limit_days=30)
        store(assistant, can, 7.9)
        assert worries() == []
        store(assistant, can, 0.2)
        assert [(each.grade, "nearly full" in each.headline) for each in worries()] == [(concern.Grade.NOTE, True)]
        store(assistant, can, 2.0)
        assert [each.grade for each in worries()] == [concern.Grade.CARE]
    with moved("2025-03-27 17:00"):
        by_days = worries("room:chip:can-days")
        assert [(each.grade, "gone by 2 April" in each.headline) for each in by_days] == [(concern.Grade.NOTE, True)]
    with moved("2025-04-03 17:00"):
        assert [each.grade for each in worries("room:chip:can-days")] == [concern.Grade.CARE]
        hand_over(assistant, can)
        assert worries() == []


def test_an_entry_is_taken_back_and_both_stay(assistant: Person, trap: Meter) -> None:
    with moved("2025-03-03 17:00"):
        can = start(assistant)
    with moved("2025-03-03 18:00"):
        empty_trap(assistant, trap, 5200)
    with moved("2025-03-03 19:00"):
        wrong = store(assistant, can, 52.0)
        back = actions.take_back_chip(by=assistant, once=uuid4(), stored=wrong, why=" Comma  missed ")
        assert (back.mg, back.note, back.undoes) == (-52000, "Comma missed", wrong)
        assert chip.can_states()[0].holds.mg == 0
        assert chip.to_store().holds.mg == 5200
        for stored in (wrong, back):
            with pytest.raises(Refused):
                actions.take_back_chip(by=assistant, once=uuid4(), stored=stored, why="Again.")
        with pytest.raises(Refused, match="Nothing is written down"):
            hand_over(assistant, can)


def test_what_is_refused(assistant: Person, trap: Meter) -> None:
    can = start(assistant, at=clock.now() - timedelta(hours=2))
    for given, field in (
        ({"wetted": False}, "wetted"),
        ({"grams": 0.0}, "grams"),
        ({"grams": 20_001.0}, "grams"),
        ({"at": clock.now() - timedelta(days=1)}, "at"),
        ({"at": clock.now() + timedelta(days=1)}, "at"),
    ):
        with pytest.raises(Refused) as raised:
            store(assistant, can, **given)
        assert raised.value.field == field
    with pytest.raises(Refused, match="in use already") as raised:
        start(assistant, "c-1")
    assert raised.value.field == "mark"
    for given in ({"limit_g": 0}, {"limit_days": 0}):
        with pytest.raises(Refused):
            start(assistant, "C-2", **given)
    store(assistant, can)
    with pytest.raises(Refused, match="after that"):
        hand_over(assistant, can, at=clock.now() - timedelta(hours=1))
    with pytest.raises(Refused):
        hand_over(assistant, can, taken_by=" ")
    gone = hand_over(assistant, can, papers="R 17")
    assert (gone.handed_by, gone.taken_by, gone.papers) == (assistant, "Mill Lane Waste", "R 17")
    for act in (lambda: store(assistant, gone), lambda: hand_over(assistant, gone)):
        with pytest.raises(Refused, match="handed over"):
            act()
    with pytest.raises(Refused, match="stays as it was written"):
        actions.take_back_chip(by=assistant, once=uuid4(), stored=ChipStored.objects.get(), why="No.")
    with pytest.raises(Refused, match="handed over"):
        actions.change_chip_can(by=assistant, once=uuid4(), can=gone, version=2)
    start(assistant, "C-1")  # its mark is free again


def test_much_more_than_was_emptied_or_than_the_can_is_to_hold_is_asked_about(assistant: Person, trap: Meter) -> None:
    with moved("2025-03-03 17:00"):
        can = start(assistant, "Chip can 2", limit_g=250)
    with moved("2025-03-03 18:00"):
        empty_trap(assistant, trap, 12_000)

    def asked(grams: float) -> dict[str, str]:
        with pytest.raises(Doubtful) as raised:
            actions.store_chip(by=assistant, once=uuid4(), can=can, grams=grams, wetted=True)
        return {doubt.field: doubt.sentence.replace("\u00a0", " ") for doubt in raised.value.doubts}

    with moved("2025-03-03 19:00"):
        found = asked(300.0)
        assert found["grams"].startswith("300.0 g is much: 12.0 g were emptied and are not down as stored.")
        assert found["can"].startswith("Chip can 2 would hold 300.0 g then; its limit is 250.0 g.")
        assert set(asked(51.0)) == {"grams"}
        actions.store_chip(by=assistant, once=uuid4(), can=can, grams=18.0, wetted=True)  # within what it may have been
    with moved("2025-03-03 20:00"):
        assert "nothing was emptied that is not down as stored" in asked(60.0)["grams"]
        store(assistant, can, 231.0)
        assert set(asked(2.0)) == {"can"}
        assert store(assistant, can, 2.0).grams == 2.0  # sure of it


def test_a_handing_over_is_taken_back_for_a_day(assistant: Person, trap: Meter, client: Client) -> None:
    client.force_login(assistant)
    page = reverse("room:chip")
    with moved("2025-03-03 17:00"):
        can = start(assistant)
        store(assistant, can, 7.0)
        with pytest.raises(Refused, match="C-1 is here"):
            take_back(assistant, can)
        hand_over(assistant, can, papers="R 17")
        assert reverse("room:take-back-can", args=[can.pk]) in client.get(page).content.decode()
        with pytest.raises(Refused) as raised:
            take_back(assistant, can, " ")
        assert raised.value.field == "why"
        other = start(assistant, "c-1")
        with pytest.raises(Refused, match="Another can marked C-1"):
            take_back(assistant, can)
    with moved("2025-03-04 16:00"):
        store(assistant, other)
        hand_over(assistant, other)
        here = take_back(assistant, can)
        assert (here.handed_at, here.handed_by, here.taken_by, here.papers) == (None, None, "", "")
        assert chip.can_states()[0].holds.mg == 7000
        actions.take_back_chip(by=assistant, once=uuid4(), stored=ChipStored.objects.get(can=can), why="Misread.")
    with moved("2025-03-05 17:00"):
        with pytest.raises(Refused, match="more than a day ago"):
            take_back(assistant, other)
        assert reverse("room:take-back-can", args=[other.pk]) not in client.get(page).content.decode()


def test_who_takes_a_handing_over_back(
    client_of: Callable[[Person], Client], assistant: Person, visitor: Person, trap: Meter
) -> None:
    can = start(assistant)
    store(assistant, can)
    hand_over(assistant, can)
    back = reverse("room:take-back-can", args=[can.pk])
    client = client_of(assistant)
    assert "Written down as handed over" in client.get(back).content.decode()
    assert client.put(back).status_code == 405
    assert client_of(visitor).post(back, {"once": str(uuid4()), "why": "x"}).status_code == 403
    assert Client().post(back).status_code == 302
    typed = {"once": str(uuid4()), "why": "It is still in the yard."}
    for _ in range(2):  # twice is once
        assert client.post(back, typed).status_code == 302
    can.refresh_from_db()
    assert (can.handed_at, can.version) == (None, 3)
    with pytest.raises(NotAllowed):
        take_back(visitor, can)


def test_a_mark_that_says_can_is_not_called_a_can_twice() -> None:
    assert [can_named(mark) for mark in ("C-1", "Can 3", "chip can 2", "Canister")] == [
        "Can C-1",
        "Can 3",
        "chip can 2",
        "Can Canister",
    ]


def test_entries_stay_as_they_were_written(assistant: Person, trap: Meter) -> None:
    store(assistant, start(assistant))
    for act in (lambda: ChipStored.objects.update(mg=1), lambda: ChipStored.objects.all().delete()):
        with pytest.raises(DatabaseError), transaction.atomic():
            act()


def test_a_stale_save_is_told(assistant: Person, trap: Meter) -> None:
    can = start(assistant)
    changed = actions.change_chip_can(by=assistant, once=uuid4(), can=can, version=1, limit_g=200, where="Yard")
    assert (changed.limit_g, changed.where, changed.version) == (200, "Yard", 2)
    with pytest.raises(Changed):
        actions.change_chip_can(by=assistant, once=uuid4(), can=can, version=1)


def test_the_pages(client_of: Callable[[Person], Client], assistant: Person, visitor: Person, trap: Meter) -> None:
    page = reverse("room:chip")
    words = client_of(visitor).get(page).content.decode()
    assert "Water in plenty" in words
    for never in ("UN 0", "UN 1", "UN 2", "H2", "smother", "foam", "CO2"):
        assert never not in words.partition("<main")[2].replace("chip-cautions", "")
    client = client_of(assistant)
    for _ in range(2):  # twice is once
        token = "b8f1c3de-93e1-4d0c-a4d5-4e1f0a2b3c4d"
        typed = {"once": token, "mark": "C-1", "limit_g": "300 g"}
        assert client.post(reverse("room:start-chip-can"), typed).status_code == 302
    can = ChipCan.objects.get()
    empty_trap(assistant, trap, 5200)
    form = client.get(reverse("room:store-chip"))
    assert form.context["form"]["grams"].initial == 5.2
    typed = {"once": str(uuid4()), "can": str(can.pk), "grams": "5.2"}
    assert client.post(reverse("room:store-chip"), typed).status_code == 422
    assert client.post(reverse("room:store-chip"), {**typed, "once": str(uuid4()), "wetted": "on"}).status_code == 302
    shown = client.get(page).content.decode()
    assert "all that was emptied is down as stored" in shown
    assert "Take back" in shown
    assert "Take back" not in client_of(visitor).get(page).content.decode()
    stored = ChipStored.objects.get()
    back = reverse("room:take-back-chip", args=[stored.pk])
    assert client.get(back).status_code == 200
    assert client.put(back).status_code == 405
    assert client_of(visitor).post(back, {"once": str(uuid4()), "why": "x"}).status_code == 403
    assert Client().post(back).status_code == 302
    gone = reverse("room:hand-over-chip", args=[can.pk])
    assert client.post(gone, {"once": str(uuid4()), "taken_by": "Mill Lane Waste"}).status_code == 302
    assert "Mill Lane Waste" in client.get(page).content.decode()
    (line,) = lines(client, "chip-stored")
    assert (line["Can"], line["Chip reckoned dry, g"]) == ("C-1", "5.2")
    (line,) = lines(client, "chip-cans")
    assert (line["Taken by"], line["Limit, g"]) == ("Mill Lane Waste", "300")
    with pytest.raises(NotAllowed):
        start(visitor)


def test_its_list_asks_no_more_of_the_database(client_of, visitor, assistant, trap, django_assert_max_num_queries):
    can = start(assistant)
    for _ in range(30):
        store(assistant, can)
    client = client_of(visitor)
    client.get(reverse("room:chip"))
    with django_assert_max_num_queries(12):
        client.get(reverse("room:chip"))

"""The demo room is built by the actions a person would press, keeps the ledger's promises, and ends as it should."""

from datetime import date, timedelta
from random import Random

import pytest

from shop import clock, concern
from shop.concern import Concern, Grade
from shop.cutting.models import Fitting, Life, Side
from shop.demo import cast, story, upkeep
from shop.demo.story import KEPT_H, Story
from shop.demo.weather import Weather
from shop.duties.models import Duty, Entry, EntryKind
from shop.morning.models import Check
from shop.people.models import Person, Role
from shop.stock.models import Inspection, Movement, Order
from shop.stock.queries import ledger_faults, orders_under_way, usable_lots

pytestmark = pytest.mark.django_db


def tell(today: date, days: int, monkeypatch: pytest.MonkeyPatch) -> list[Concern]:
    """Build the last `days` of the story and give what the room worries about at its end."""
    monkeypatch.setattr(story, "DAYS", days)
    seen: list[tuple[int, int]] = []
    told = Story(today)
    told.build(lambda done, total: seen.append((done, total)))
    assert seen[-1] == (days, days)
    with clock.in_zone(cast.ZONE), clock.moved(told._at(today, 7, 50)):
        return concern.gather(clock.now())


def test_a_short_story_adds_up_and_ends_with_a_hold_and_a_care(monkeypatch: pytest.MonkeyPatch) -> None:
    wednesday = date(2026, 11, 25)
    found = {one.key: one for one in tell(wednesday, 60, monkeypatch)}

    assert ledger_faults() == []
    assert Side.objects.count() > 80
    assert Movement.objects.filter(kind="received").count() >= len(cast.SHELVES)
    for life in Life.objects.all():
        sides = Side.objects.filter(life=life, withdrawal__isnull=True)
        assert life.cut_s == sum(side.cut_s for side in sides)
        assert life.sides == len(sides)
    assert Check.objects.exclude(day=wednesday).count() > 30
    assert not Check.objects.filter(day=wednesday).exists(), "the check is left to whoever opens the demo"

    assert {"draft", "sent", "received"} <= set(Order.objects.values_list("state", flat=True))
    assert {one.grade for key, one in found.items() if key.startswith("stock:late:")} == {Grade.CARE}
    assert any(not order.is_late(wednesday) for order in orders_under_way())
    assert Inspection.objects.exists()

    care = {kind: Entry.objects.filter(kind=kind).count() for kind in EntryKind}
    assert care[EntryKind.DONE] > 60
    assert care[EntryKind.PUT_OFF] >= 1
    assert Entry.objects.filter(corrects__isnull=False).exists()
    late, put_off = (Duty.objects.get(name=name) for name in (upkeep.LATE, upkeep.PUT_OFF))
    assert found[f"duties:due:{late.pk}"].grade == Grade.CARE
    assert put_off.put_off_until == wednesday + timedelta(days=2)
    assert not Duty.objects.get(name=upkeep.EYEWASH).is_active

    assert found["cutting:blanks:14"].grade == Grade.HOLD
    assert sum(lot.on_hand for lot in usable_lots(day=wednesday, blank_in=14)) == 3
    fitted = Fitting.objects.get(off_at=None).life
    assert KEPT_H * 3600 < fitted.cut_s < (KEPT_H + 0.6) * 3600
    stylus = {key: one.grade for key, one in found.items() if one.subject == fitted.stylus.mark}
    assert stylus.pop(f"cutting:life:{fitted.pk}") == Grade.CARE
    assert set(stylus.values()) <= {Grade.NOTE}


def test_it_can_end_on_a_sunday(monkeypatch: pytest.MonkeyPatch) -> None:
    found = tell(date(2026, 11, 29), 30, monkeypatch)
    assert concern.worst(found) == Grade.HOLD
    assert ledger_faults() == []


def test_everybody_of_the_cast_can_sign_in(monkeypatch: pytest.MonkeyPatch) -> None:
    tell(date(2026, 11, 25), 2, monkeypatch)
    assert {person.role for person in Person.objects.all()} == set(Role)
    assert all(person.check_password(cast.PASSWORD) for person in Person.objects.all())


def test_the_weather_is_the_same_for_the_same_seed_and_stays_in_a_room() -> None:
    days = [date.fromordinal(date(2026, 1, 1).toordinal() + n) for n in range(400)]
    first, again = ([Weather(Random(seed)).on(day) for day in days] for seed in (7, 7))
    assert first == again
    kept = Weather(Random(7))
    year = [kept.on(day) for day in days]
    assert min(air.celsius for air in year) > 14
    assert max(air.celsius for air in year) < 28
    assert all(20 <= air.humidity <= 80 for air in year)

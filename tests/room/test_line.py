"""The vacuum line: baselines, charts against them, what they speak for, its parts, talc in damp air."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db import DatabaseError, transaction
from django.test import Client
from django.urls import reverse

from shop import clock, concern
from shop.duties import actions as duties
from shop.duties import meters
from shop.duties.models import Duty, Meter
from shop.people.models import Person
from shop.people.starter import load_starter
from shop.refusal import Changed, Doubtful, NotAllowed, Refused
from shop.room import actions
from shop.room.models import LineBaseline, LinePart, LineRules, ReadingKind
from shop.room.queries import vacuum
from tests.carrying.files import lines
from tests.makers import anyway, moment
from tests.makers import at as moved
from tests.room import makers

pytestmark = pytest.mark.django_db

CONDITIONS = "Pump warm, hose open, a 14 inch disc."


@pytest.fixture
def line_meter(room_row: object) -> Meter:
    return Meter.objects.create(key="line", name="Vacuum line", unit="s", reset_word="line cleaned")


def read(by: Person, first: str, values: list[float], kind: str = "chip_kpa") -> None:
    """A value each morning from the first day on."""
    for day, value in enumerate(values):
        with clock.moved(moment(f"{first} 08:00") + timedelta(days=day)):
            makers.take_anyway(by, **{kind: value})


def baseline(by: Person, since: date, until: date, kind: ReadingKind = ReadingKind.CHIP_KPA) -> LineBaseline:
    return anyway(actions.take_baseline, by=by, kind=kind, since=since, until=until, conditions=CONDITIONS)


#: Twenty mornings of a clean line, mean 14.5.
CLEAN = [14.5, 14.6, 14.4, 14.5, 14.7, 14.3, 14.5, 14.6, 14.4, 14.5] * 2


def clean_line(by: Person, kind: ReadingKind = ReadingKind.CHIP_KPA, values: list[float] | None = None) -> None:
    read(by, "2025-03-03", values or CLEAN, str(kind))
    with moved("2025-03-22 18:00"):
        baseline(by, date(2025, 3, 3), date(2025, 3, 22), kind)


def worries(word: str = "room:line") -> list[concern.Concern]:
    return [each for each in concern.gather(clock.now()) if each.key.startswith(word)]


# Baselines ------------------------------------------------------------------------------------------------------------


def test_a_baseline_is_the_mean_and_spread_of_those_days(engineer: Person, line_meter: Meter) -> None:
    clean_line(engineer)
    kept = LineBaseline.objects.get()
    assert (kept.count, kept.conditions) == (20, CONDITIONS)
    assert kept.target == pytest.approx(14.5)
    assert kept.sd == pytest.approx(0.2)  # a dial is not taken to be steadier than the eye before it
    assert (kept.first_at, kept.last_at) == (moment("2025-03-03 08:00"), moment("2025-03-22 08:00"))


def test_a_reading_that_was_corrected_does_not_count(engineer: Person, line_meter: Meter) -> None:
    read(engineer, "2025-03-03", [*CLEAN[:6], 4.5])
    with moved("2025-03-10 18:00"):
        wrong = vacuum.readings().get(value=4.5)
        actions.correct_reading(by=engineer, once=uuid4(), reading=wrong, value=14.5, reason="Misread.", sure=())
        assert baseline(engineer, date(2025, 3, 3), date(2025, 3, 9)).target == pytest.approx(14.5, abs=0.05)


def test_what_a_baseline_refuses_and_asks(engineer: Person, line_meter: Meter) -> None:
    read(engineer, "2025-03-03", CLEAN[:6])

    def take(**given: Any) -> LineBaseline:
        typed = {"kind": ReadingKind.CHIP_KPA, "since": date(2025, 3, 3), "conditions": CONDITIONS}
        return actions.take_baseline(by=engineer, once=uuid4(), **{**typed, **given})

    with moved("2025-03-10 18:00"):
        for given, field in (
            ({"kind": ReadingKind.ROOM_C}, "kind"),
            ({"since": date(2025, 3, 4)}, "since"),
            ({"until": date(2025, 3, 11)}, "until"),
            ({"until": date(2025, 3, 2)}, "until"),
            ({"conditions": " "}, "conditions"),
        ):
            with pytest.raises(Refused) as raised:
                take(**given)
            assert raised.value.field == field
        meters_reset(engineer, line_meter)
        with pytest.raises(Doubtful) as asked:
            take()
        assert [doubt.key for doubt in asked.value.doubts] == ["since:few:6", "since:before-cleaning:2025-03-03"]
        assert take(sure=[doubt.key for doubt in asked.value.doubts]).count == 6


def meters_reset(by: Person, meter: Meter) -> None:
    duties.reset_meter(by=by, once=uuid4(), meter=meter)


def test_a_baseline_stays_as_it_was_taken(engineer: Person, line_meter: Meter) -> None:
    clean_line(engineer)
    for act in (lambda: LineBaseline.objects.update(target=1), lambda: LineBaseline.objects.all().delete()):
        with pytest.raises(DatabaseError), transaction.atomic():
            act()


# Straying -------------------------------------------------------------------------------------------------------------


def test_a_quiet_line_worries_nobody(engineer: Person, line_meter: Meter) -> None:
    clean_line(engineer)
    read(engineer, "2025-03-23", CLEAN)
    with moved("2025-04-12 09:00"):
        assert worries() == []
        (state,) = vacuum.point_states(None)
        assert state.charts is not None
        assert not state.charts.is_out


def test_a_point_that_is_clean_again_speaks_for_nothing(engineer: Person, line_meter: Meter, client: Client) -> None:
    """Eight mornings of 11.5 kPa, then a clean line's readings: no pattern is left, only that it strayed."""
    clean_line(engineer)
    read(engineer, "2025-03-23", [11.5] * 8)
    client.force_login(engineer)
    with moved("2025-03-30 09:00"):
        assert len(worries()) == 1
        assert "fits best" in client.get(reverse("room:line")).content.decode()
    read(engineer, "2025-03-31", [14.4, 14.5, 14.6] * 4)
    with moved("2025-04-11 09:00"):
        assert worries() == []
        page = client.get(reverse("room:line")).content.decode()
        assert "fits best" not in page
        assert "No point strays" in page
        assert "It did from 23 March to" in page


def test_a_hose_that_clogs_slowly_is_a_note_and_one_at_once_is_care(engineer: Person, line_meter: Meter) -> None:
    clean_line(engineer)
    read(engineer, "2025-03-23", [14.5 - 0.08 * day for day in range(14)])
    with moved("2025-04-05 09:00"):
        (worry,) = worries()
        assert worry.grade == concern.Grade.NOTE
        assert worry.key == "room:line:blocked_hose"
        assert "bit by bit" in worry.reason
        assert "kPa" in worry.quantities[0].text
    read(engineer, "2025-04-06", [10.0])
    with moved("2025-04-06 09:00"):
        assert [each.grade for each in worries()] == [concern.Grade.NOTE]  # it strayed before: that it fell is seen to
        meters_reset(engineer, line_meter)
        assert worries() == []
    read(engineer, "2025-04-07", [14.5, 14.4, 10.9, 10.8])
    with moved("2025-04-10 09:00"):
        (worry,) = worries()
        assert worry.grade == concern.Grade.CARE
        assert "at once" in worry.reason


def test_two_points_that_fall_alike_speak_for_pump_or_filter(engineer: Person, line_meter: Meter) -> None:
    clean_line(engineer)
    clean_line(engineer, ReadingKind.HOLD_DOWN_KPA, [36.0 + each - 14.5 for each in CLEAN])
    for day in range(23, 29):
        with moved(f"2025-03-{day} 08:00"):
            makers.take_anyway(engineer, chip_kpa=12.3, hold_down_kpa=30.6)
    with moved("2025-03-28 09:00"):
        (worry,) = worries()
        assert worry.key in ("room:line:tired_pump", "room:line:full_filter")
        assert "It may also be" in worry.reason
        found = vacuum.diagnosis(vacuum.point_states(None))
        assert found is not None
        assert {str(point) for point in found.unread} == {"trap", "pump"}


def test_a_way_that_nothing_explains_is_told_as_that(engineer: Person, line_meter: Meter) -> None:
    clean_line(engineer)
    clean_line(engineer, ReadingKind.HOLD_DOWN_KPA, [36.0 + each - 14.5 for each in CLEAN])
    read(engineer, "2025-03-23", [40.0] * 8, "hold_down_kpa")
    read(engineer, "2025-03-23", CLEAN[:8])
    with moved("2025-03-30 09:00"):
        (worry,) = worries()
        assert worry.key == "room:line:strays"
        assert "no known fault" in worry.headline


# Since when -----------------------------------------------------------------------------------------------------------


def test_hours_and_sides_are_counted_from_the_meters(engineer: Person, line_meter: Meter) -> None:
    for key, unit in (("cut", "s"), ("sides", "n")):
        Meter.objects.create(key=key, name=key, unit=unit)
    for at, seconds in (("2025-03-03 10:00", 1200), ("2025-03-04 10:00", 1800)):
        with moved(at), transaction.atomic():
            meters.advance_all({"cut": seconds, "sides": 1}, at=clock.now(), by=engineer)
    found = vacuum.ran_since({"ever": None, "since": moment("2025-03-03 12:00")})
    assert (found["ever"].hours, found["ever"].sides) == (pytest.approx(3000 / 3600), 2)
    assert (found["since"].hours, found["since"].sides) == (0.5, 1)


# Talc -----------------------------------------------------------------------------------------------------------------


@pytest.fixture
def talc(line_meter: Meter) -> Duty:
    line_meter.delete()
    load_starter()
    rules = LineRules.objects.get()
    assert rules.talc_duty is not None
    return rules.talc_duty


def test_damp_air_asks_for_talc_until_it_is_done(engineer: Person, talc: Duty) -> None:
    with moved("2025-07-03 08:00"):
        makers.take_anyway(engineer, room_c=22.0, room_rh=50.0)  # a dew point of 11.1 °C: below the shop's 12
        assert worries("room:line:talc") == []
        makers.take_anyway(engineer, room_c=23.0, room_rh=55.0)  # 13.5 °C
        (worry,) = worries("room:line:talc")
        assert worry.grade == concern.Grade.CARE
        assert "free of asbestos" in worry.what_to_do
        assert "breathe the dust" in worry.what_to_do
        assert worry.link == reverse("duties:do-duty", args=[talc.pk])
        done_at = clock.now()
        Duty.objects.filter(pk=talc.pk).update(last_entry=made_entry(engineer, talc, done_at))
        assert worries("room:line:talc") == []
    with moved("2025-07-05 08:00"):
        makers.take_anyway(engineer, room_c=23.0, room_rh=55.0)
        assert worries("room:line:talc") == []  # it holds
    with moved("2025-07-07 08:00"):
        assert worries("room:line:talc") == []  # nothing was read today
        makers.take_anyway(engineer, room_c=23.0, room_rh=55.0)
        assert len(worries("room:line:talc")) == 1
        actions.change_line_rules(by=engineer, once=uuid4(), version=1, talc_days=3, talc_dew_c=None, talc_duty=talc)
        assert worries("room:line:talc") == []


def made_entry(by: Person, duty: Duty, at: Any) -> Any:
    from shop.duties.models import Entry

    return Entry.objects.create(duty=duty, kind="done", at=at, recorded_at=at, by=by)


def test_rules_that_make_no_sense_are_refused(engineer: Person, assistant: Person, talc: Duty) -> None:
    for given, field in (({"talc_dew_c": 90.0}, "talc_dew_c"), ({"talc_days": 0}, "talc_days")):
        with pytest.raises(Refused) as raised:
            actions.change_line_rules(by=engineer, once=uuid4(), version=1, **{"talc_days": 3, **given})
        assert raised.value.field == field
    with pytest.raises(Changed):
        actions.change_line_rules(by=engineer, once=uuid4(), version=7, talc_days=3)
    with pytest.raises(NotAllowed):
        actions.change_line_rules(by=assistant, once=uuid4(), version=1, talc_days=3)


# Pages ----------------------------------------------------------------------------------------------------------------


def test_the_page_of_a_room_with_starter_content(
    client_of: Callable[[Person], Client], visitor: Person, engineer: Person, talc: Duty
) -> None:
    clean_line(engineer)
    read(engineer, "2025-03-23", [14.5, 11.0, 11.1])
    with moved("2025-03-25 09:00"):
        words = client_of(visitor).get(reverse("room:line")).content.decode()
        assert "A blocked chip hose fits best" in words
        assert words.count('class="line-sign"') == 8
        assert "line-marked" in words
        assert "free of asbestos" in words
        assert "<svg" in words
        assert "What would tell" not in words or "suction at the trap" in words
        assert "Take a new baseline" not in words
        shown = client_of(engineer).get(reverse("room:line")).content.decode()
        assert "Take a new baseline" in shown
        (row,) = lines(client_of(visitor), "line-baselines")
        assert (row["Point"], row["Readings"]) == ("Chip suction", "20")


def test_its_number_of_queries_does_not_grow(client_of, visitor, engineer, talc, django_assert_max_num_queries) -> None:
    clean_line(engineer)
    client = client_of(visitor)
    client.get(reverse("room:line"))
    with moved("2025-03-25 09:00"), django_assert_max_num_queries(12):
        client.get(reverse("room:line"))


def test_pages_that_write(client_of: Callable[[Person], Client], engineer: Person, assistant: Person, talc: Duty):
    read(engineer, "2025-03-03", CLEAN)
    with moved("2025-03-22 18:00"):
        page = reverse("room:take-baseline", args=["chip_kpa"])
        client = client_of(engineer)
        assert client_of(assistant).get(page).status_code == 403
        assert Client().get(page).status_code == 302
        assert client.put(page).status_code == 405
        typed = {"once": str(uuid4()), "since": "2025-03-03", "conditions": CONDITIONS}
        for _ in range(2):  # twice is once
            assert client.post(page, typed).status_code == 302
        assert LineBaseline.objects.count() == 1
        assert client.get("/room/line/baseline/room_c/").status_code == 404
        part = LinePart.objects.get(kind="trap")
        page = reverse("room:change-line-part", args=[part.pk])
        typed = {"once": str(uuid4()), "version": "1", "name": "Trap by the wall"}
        assert client.post(page, typed).status_code == 302
        part.refresh_from_db()
        assert (part.name, part.is_active, part.duty, part.version) == ("Trap by the wall", False, None, 2)
        assert "Not on this line" in client.get(reverse("room:line")).content.decode()
        assert client.post(page, {**typed, "once": str(uuid4())}).status_code == 422  # stale
        other = {**typed, "once": str(uuid4()), "version": "2", "name": "Filter"}
        assert "already" in client.post(page, other).content.decode()
        assert client_of(assistant).post(page, typed).status_code == 403
        page = reverse("room:change-line-rules")
        typed = {"once": str(uuid4()), "version": "1", "talc_dew_c": "55 F", "talc_days": "5"}
        assert client.post(page, typed).status_code == 302
        assert LineRules.objects.get().talc_dew_c == pytest.approx(12.78, abs=0.01)

"""Silent-groove levels: written down, struck out, where they are going, and what they do to the advice."""

import random

import pytest

from shop import clock
from shop.concern import Grade
from shop.cutting import actions, noise
from shop.cutting.concerns import concerns
from shop.cutting.models import CuttingLimits, Life, NoiseLevel
from shop.refusal import Doubtful, NotAllowed, Refused
from tests.cutting.makers import address, cut, heard, make_booking, make_stylus, once, start, text
from tests.makers import at, moment

pytestmark = pytest.mark.django_db


def limit(bench, noise_db, version=1):
    return actions.change_limits(
        by=bench.engineer,
        once=once(),
        version=version,
        care_below=0.0,
        hold_below=0.0,
        days_ahead=14,
        noise_db=noise_db,
        plating_days=3,
    )


def cut_and_hear(bench, levels):
    """An hour's side at a time, each with its level."""
    for place, level in enumerate(levels):
        with at(f"2025-03-{4 + place:02d} 10:00"):
            side = cut(bench, cut_s=3600, disc_in=12, speed="16", pitch_um=60.0)
            heard(bench.engineer, bench.stylus, level, side=side)


def life():
    return Life.objects.get()


def row(level_db):
    return NoiseLevel(level_db=level_db, at=clock.now())


def noisy():
    return [one for one in concerns(clock.now()) if one.key.startswith("cutting:noise:")]


def test_a_level_counts_the_hours_that_were_cut_by_then(bench):
    sides = [cut(bench, cut_s=1200, at=moment(f"2025-03-03 {hour}")) for hour in ("08:30", "09:00", "09:30")]
    heard(bench.engineer, bench.stylus, -60, side=sides[1])
    heard(bench.engineer, bench.stylus, -59.5, at=moment("2025-03-03 08:40"))
    heard(bench.engineer, bench.stylus, -58)
    found = noise.of_life(life(), None)
    assert [(one.db, round(one.hours * 60)) for one in found.levels] == [(-59.5, 20), (-60, 40), (-58, 60)]
    actions.withdraw_side(by=bench.engineer, once=once(), side=sides[0], reason="not cut")
    assert [round(one.hours * 60) for one in noise.of_life(life(), None).levels] == [0, 20, 40]


def test_a_trend_says_when_it_crosses_the_limit(bench):
    limit(bench, -55.0)
    cut_and_hear(bench, [-62, -61, -60, -59.1, -57.9])
    found = noise.of_life(life(), -55.0)
    assert found.crossing.expected == pytest.approx(2.9, abs=0.15)
    assert found.crossing.soonest < found.crossing.expected < found.crossing.latest
    kept = life()
    assert kept.noise_expected_s == pytest.approx(kept.cut_s + 3600 * found.crossing.expected, abs=1)
    assert kept.noise_soonest_s == pytest.approx(kept.cut_s + 3600 * found.crossing.soonest, abs=1)
    assert not kept.noise_over


def test_few_levels_tell_nothing_and_do_not_count(bench):
    limit(bench, -55.0)
    cut_and_hear(bench, [-62, -61, -60])
    assert noise.of_life(life(), -55.0).crossing is None
    with at("2025-03-08 10:00"):
        side = cut(bench, cut_s=3600, speed="16", pitch_um=60.0)
        heard(bench.engineer, bench.stylus, -59, side=side)
    assert noise.of_life(life(), -55.0).crossing is not None
    assert life().noise_soonest_s is None, "four are shown, but do not count"


def test_over_the_limit_calls_for_care_and_setting_the_limit_looks_again(bench):
    heard(bench.engineer, bench.stylus, -54)
    assert noisy() == []
    limit(bench, -55.0)
    [over] = noisy()
    assert (over.grade, over.headline) == (Grade.CARE, "The silent groove of R-1 is noisier than the shop's limit")
    assert "−55" in over.reason or "-55" in over.reason
    limit(bench, None, version=2)
    assert noisy() == []


def test_a_slow_rise_is_no_jump_and_a_sudden_one_is_until_it_was_looked_over(bench):
    steady = [-64 + 0.4 * hour for hour in range(9)]
    cut_and_hear(bench, steady)
    assert not life().noise_jumped
    with at("2025-03-15 10:00"):
        for _ in range(2):
            heard(bench.engineer, bench.stylus, -64 + 0.4 * 9 + 5)
        assert life().noise_jumped
        [jump] = noisy()
        assert (jump.grade, jump.headline) == (Grade.CARE, "The silent groove of R-1 grew noisier all at once")
        actions.look_over_stylus(by=bench.engineer, once=once(), stylus=bench.stylus, seen="a thread on the tip; gone")
        assert noisy() == []


def test_the_chart_seldom_cries_out_while_nothing_jumps():
    """With what chance alone gives, about one chart of twelve levels in twenty or fewer is ever out."""
    rng = random.Random(8)
    out = 0
    for _ in range(300):
        levels = [noise.Level(row(-62 + 0.5 * hour + rng.gauss(0, 0.8)), float(hour)) for hour in range(12)]
        out += any(point.out for point in noise.read(levels, 12.0, -40.0).chart)
    assert out / 300 < 0.05


def test_a_jump_of_four_db_is_caught_within_three_levels():
    rng = random.Random(9)
    caught = 0
    for _ in range(200):
        heard_db = [-62 + 0.5 * hour + rng.gauss(0, 0.8) + (4 if hour >= 9 else 0) for hour in range(12)]
        levels = [noise.Level(row(db), float(hour)) for hour, db in enumerate(heard_db)]
        caught += any(noise.read(levels[:n], float(n), -40.0).has_jumped for n in (10, 11, 12))
    assert caught / 200 > 0.8


def test_it_may_reach_the_limit_in_todays_sides(bench):
    limit(bench, -55.0)
    cut_and_hear(bench, [-62, -61, -60, -59, -58, -57])
    with at("2025-03-12 09:00"):
        assert noisy() == [], "nothing is to be cut"
        make_booking(bench.engineer, [actions.WantedSide("A", 5000, disc_in=12, speed="16")])
        make_booking(bench.engineer, [actions.WantedSide("B", 5000, disc_in=12, speed="16")])
        [soon] = noisy()
        assert soon.grade == Grade.NOTE
        assert "may reach the shop's noise limit today" in soon.headline


def test_one_struck_out_counts_no_more_and_stays(bench, assistant):
    limit(bench, -55.0)
    wrong = heard(assistant, bench.stylus, -45)
    assert life().noise_over
    struck = actions.strike_noise_level(by=assistant, once=once(), level=wrong, why="meant 54")
    assert (struck.struck_by, struck.struck_why, NoiseLevel.objects.count()) == (assistant, "meant 54", 1)
    assert not life().noise_over
    with pytest.raises(Refused, match="struck out already"):
        actions.strike_noise_level(by=assistant, once=once(), level=wrong, why="again")


def test_what_makes_no_sense_is_refused(bench):
    other = make_stylus(bench.engineer, bench.kind, "R-2")
    side = cut(bench)
    heard(bench.engineer, bench.stylus, -60, side=side)
    for stylus, facts, field in (
        (bench.stylus, {"level_db": 30}, "level_db"),
        (bench.stylus, {"level_db": float("nan")}, "level_db"),
        (bench.stylus, {"side": side}, "side"),
        (other, {"side": side}, "side"),
        (other, {}, "at"),
        (bench.stylus, {"at": moment("2025-03-03 07:00")}, "at"),
        (bench.stylus, {"at": moment("2025-03-03 10:01")}, "at"),
    ):
        with pytest.raises(Refused) as no:
            heard(bench.engineer, stylus, **{"level_db": -60} | facts)
        assert no.value.field == field, facts
    actions.withdraw_side(by=bench.engineer, once=once(), side=side, reason="not cut")
    with pytest.raises(Refused, match="withdrawn"):
        heard(bench.engineer, bench.stylus, -60, side=side)


def test_who_only_looks_writes_nothing_down(bench, visitor):
    with pytest.raises(NotAllowed):
        heard(visitor, bench.stylus, -60)


def test_by_the_pages(bench, client_of, assistant):
    limit(bench, -55.0)
    cut_and_hear(bench, [-62, -61, -60, -59.1, -57.9])
    with at("2025-03-10 10:00"):
        side = cut(bench)
        client = client_of(assistant)
        where = address("add-noise-level", bench.stylus.pk)
        assert f'value="{side.pk}" selected' in text(client.get(f"{where}?side={side.pk}"))
        assert client.post(where, {"once": once(), "level_db": "loud"}).status_code == 422
        facts = {"once": str(once()), "level_db": "-57.5", "side": side.pk}
        for _ in range(2):
            assert client.post(where, facts).status_code == 302
        level = NoiseLevel.objects.get(side=side)
        assert level.level_db == -57.5
        page = text(client.get(bench.stylus.get_absolute_url()))
        for words in (
            "Silent-groove noise",
            "until the shop",
            "All levels of this life",
            "the broken lines are the limits",
        ):
            assert words in page, words
        assert "−57.5" in page
        assert "−57.5\u00a0dB" in text(client.get(side.get_absolute_url()))
        strike = address("strike-noise-level", level.pk)
        assert client.post(strike, {"once": once(), "why": "misread"}).status_code == 302
        assert "It was struck out" in text(client.get(strike))


def test_a_stylus_in_the_drawer_cuts_no_groove(bench):
    spare = make_stylus(bench.engineer, bench.kind, "R-9")
    with pytest.raises(Refused, match="R-9 was in no head at 10:00 on 3 March") as no:
        heard(bench.engineer, spare, -58.0)
    assert no.value.field == "at"
    actions.take_off_stylus(by=bench.engineer, once=once(), stylus=bench.stylus)
    with at("2025-03-03 11:00"):
        with pytest.raises(Refused, match="R-1 was in no head at 11:00"):
            heard(bench.engineer, bench.stylus, -58.0)
        assert heard(bench.engineer, bench.stylus, -58.0, at=moment("2025-03-03 09:30")).life == life()


def test_a_level_above_the_reference_is_asked_about(bench):
    with pytest.raises(Doubtful, match="Is a minus missing") as asked:
        heard(bench.engineer, bench.stylus, 5.0)
    [doubt] = asked.value.doubts
    assert doubt.field == "level_db"
    assert heard(bench.engineer, bench.stylus, 5.0, sure=[doubt.key]).level_db == 5
    assert heard(bench.engineer, bench.stylus, 0.0).level_db == 0


def test_a_limit_above_the_reference_is_asked_about_once_and_speaks_for_such_levels(bench):
    with pytest.raises(Doubtful) as asked:
        limit(bench, 10.0)
    [doubt] = asked.value.doubts
    assert doubt.field == "noise_db"
    facts = {"care_below": 0.0, "hold_below": 0.0, "days_ahead": 14, "noise_db": 10.0}
    by = {"by": bench.engineer, "once": once()}
    version = CuttingLimits.objects.get_or_create(pk=1)[0].version
    kept = actions.change_limits(**by, version=version, **facts, sure=[doubt.key])
    again = actions.change_limits(by=bench.engineer, once=once(), version=kept.version, **facts)
    assert again.noise_db == 10
    assert heard(bench.engineer, bench.stylus, 5.0).level_db == 5


def test_a_level_is_written_down_with_the_side_it_was_measured_on(bench, client_of, assistant):
    with pytest.raises(Refused) as no:
        cut(bench, level_db=-121.0)
    assert no.value.field == "level_db"
    with pytest.raises(Doubtful):
        cut(bench, level_db=3.0)
    side = cut(bench, assistant, level_db=-58.5)
    level = NoiseLevel.objects.get()
    assert (level.side, level.life, level.level_db, level.by, level.at) == (side, life(), -58.5, assistant, side.at)
    assert "\u221258.5\u00a0dB" in text(client_of(assistant).get(side.get_absolute_url()))
    run = start(bench)
    with at("2025-03-03 10:20"):
        actions.stop_side(by=bench.engineer, once=once(), run=run)
        said = {"once": once(), "outcome": "good", "cut_s": "20:00", "lot": bench.lot.pk, "level_db": "-57"}
        assert client_of(assistant).post(address("judge-side", run.pk), said).status_code == 302
        assert list(NoiseLevel.objects.order_by("id").values_list("level_db", flat=True)) == [-58.5, -57.0]
        assert 'name="level_db"' in text(client_of(assistant).get(address("log-side")))
        assert 'name="level_db"' not in text(client_of(assistant).get(address("start-side")))

"""The day's plan, the cut sheet, the steps before the head goes down, and the room's own figures for plans."""

import re
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from django.test import Client

from shop import clock
from shop.cutting import actions, plans
from shop.cutting.actions import WantedSide, WantedTitle
from shop.cutting.models import BookingSide, HeadStep, PlanFigures
from shop.people.models import Person
from shop.refusal import Changed, Doubtful, NotAllowed, Refused
from shop.stock import actions as stock
from tests.cutting.makers import Bench, address, cut, make_booking, once, text
from tests.safety.papers import is_accessible, stands_within, words

pytestmark = pytest.mark.django_db


@pytest.fixture
def signed_in(bench: Bench, client_of: Callable[[Person], Client]) -> Client:
    """Someone at the desk who may do all of it."""
    return client_of(bench.engineer)


FIGURES = {
    "lead_in_turns": 3.0,
    "lead_in_pitch_mm": 1.0,
    "band_mm": 1.0,
    "pause_s": 3.0,
    "lead_out_pitch_mm": 5.0,
    "run_out_mm": 0.0,
    "between_s": 900,
    "confidence": 0.9,
}
FOUR = [WantedTitle(221, "Ferry Song"), WantedTitle(305), WantedTitle(262, "Salt & Lime"), WantedTitle(300)]


def test_the_day_says_time_and_blanks(bench: Bench, signed_in: Client) -> None:
    make_booking(bench.engineer, [WantedSide("A", 1200), WantedSide("B", 1200, disc_in=7, speed="45")])
    page = text(signed_in.get(address("day-plan")))
    assert "2 sides" in page
    assert "14 inch blank" in page
    assert "10 inch blank" in page
    assert "No blank of that size may be used" in page  # of the 10 inch ones there are none
    assert "It does not fit" not in page
    assert "too long" in page


def test_leftovers_are_todays_and_another_day_has_its_own(bench: Bench, signed_in: Client) -> None:
    later = clock.today() + timedelta(days=3)
    make_booking(bench.engineer, cut_on=later, title="Later Songs")
    with clock.moved(clock.now() - timedelta(days=2)):
        make_booking(bench.engineer, title="Left Over")
    today = text(signed_in.get(address("day-plan")))
    assert "Left Over" in today
    assert "Later Songs" not in today
    that = text(signed_in.get(address("day-plan"), {"day": later.isoformat()}))
    assert "Later Songs" in that
    assert "Left Over" not in that


@pytest.mark.parametrize("day", ["", "x", "2025-02-30", "1970-01-01"])
def test_a_day_that_is_none_or_gone_by_shows_today(bench: Bench, signed_in: Client, day: str) -> None:
    assert f"Today, {clock.today():%A}" in text(signed_in.get(address("day-plan"), {"day": day}))


def test_an_empty_day_says_what_to_do(bench: Bench, signed_in: Client) -> None:
    assert "Nothing is to be cut today" in text(signed_in.get(address("day-plan")))


def test_the_days_queries_do_not_grow(bench: Bench, signed_in: Client, django_assert_max_num_queries: object) -> None:
    for _ in range(12):
        make_booking(bench.engineer)
    signed_in.get(address("day-plan"))
    with django_assert_max_num_queries(16):  # type: ignore[operator]
        signed_in.get(address("day-plan"))


def test_rejects_of_a_lot_ask_for_more_blanks(bench: Bench, signed_in: Client) -> None:
    def needed() -> int:
        (one,) = plans_of_today()
        assert one.needed is not None
        return one.needed

    make_booking(bench.engineer)
    for _ in range(20):
        cut(bench)
    before = needed()
    for _ in range(10):
        cut(bench, outcome="rejected", reject_reason=bench.reason)
    assert needed() > before
    assert "10 of 30 sides on it were rejected" in text(signed_in.get(address("day-plan")))


def plans_of_today() -> list[object]:
    from shop.cutting.queries import day_plan

    return day_plan(clock.today(), clock.today()).blanks  # type: ignore[return-value]


def test_a_held_lot_speaks_for_nothing(bench: Bench) -> None:
    make_booking(bench.engineer)
    stock.hold_lot(by=bench.engineer, once=once(), lot=bench.lot, why="dull")
    (one,) = plans_of_today()
    assert one.lot is None
    assert one.usable == 0
    assert (one.share, one.missing) == (None, one.sides)


def test_the_booking_draws_each_side(bench: Bench, signed_in: Client) -> None:
    booking = make_booking(bench.engineer, [WantedSide("A", None, titles=FOUR, level_note="brass at 12:40, +3 dB")])
    page = text(signed_in.get(address("booking", booking.pk)))
    assert "in 4 titles with 3 bands between them" in page
    assert "1 Ferry Song" in page
    assert "Title 2" in page
    assert "3 Salt &amp; Lime" in page
    assert "brass at 12:40" in page
    assert page.count("Band after") == 3


def test_a_side_that_does_not_fit_says_so_in_picture_and_words(bench: Bench, signed_in: Client) -> None:
    booking = make_booking(bench.engineer, [WantedSide("A", 2400)])
    page = text(signed_in.get(address("booking", booking.pk)))
    assert "It does not fit" in page
    assert "That is past 115.2" in page


def test_titles_give_the_length_and_their_bands_take_room(bench: Bench) -> None:
    booking = make_booking(bench.engineer, [WantedSide("A", None, titles=FOUR)])
    wanted = booking.wanted.get()
    assert wanted.play_s == 221 + 305 + 262 + 300 + 3 * 2
    bare = BookingSide(
        **{name: getattr(wanted, name) for name in ("disc_in", "speed", "play_s", "width_um", "land_um")}
    )
    assert plans.plan_of(bare).spare_mm - plans.plan_of(wanted).spare_mm == pytest.approx(
        3 * 0.8 - 6 * 100 / 180 * 0.096, abs=1e-6
    )


def test_titles_longer_than_their_side_are_refused(bench: Bench) -> None:
    with pytest.raises(Refused, match="its titles take 18:08"):
        make_booking(bench.engineer, [WantedSide("A", 1000, titles=FOUR)])


@pytest.mark.parametrize(
    ("play_s", "titles", "asked"),
    [
        (1200, [240, 300], "its titles come to 9:00; the side is 20:00 long: 11:00 of it are pauses"),
        (1200, [240], "its title comes to 4:00; the side is 20:00 long: 16:00 of it are nobody's"),
        (540, [240, 300], "no pause is left between them, so no band is"),
    ],
)
def test_titles_that_leave_odd_pauses_are_asked_about(bench: Bench, play_s: int, titles: list[int], asked: str) -> None:
    side = WantedSide("A", play_s, titles=[WantedTitle(seconds) for seconds in titles])
    with pytest.raises(Doubtful, match=asked) as told:
        make_booking(bench.engineer, [side])
    (doubt,) = told.value.doubts
    booking = make_booking(bench.engineer, [side], sure=[doubt.key])
    # What was kept is not asked about again, other lengths are.
    facts = {"code": booking.code, "title": "Reeds", "cut_on": booking.cut_on}
    changed = actions.change_booking(
        by=bench.engineer, once=once(), booking=booking, version=booking.version, sides=[side], **facts
    )
    longer = WantedSide("A", play_s + 300, titles=side.titles)
    with pytest.raises(Doubtful, match="the side is"):
        actions.change_booking(
            by=bench.engineer, once=once(), booking=changed, version=changed.version, sides=[longer], **facts
        )


@pytest.mark.parametrize("pause", [0.5, 2, 20])
def test_usual_pauses_are_not_asked_about(bench: Bench, pause: float) -> None:
    titles = [WantedTitle(240), WantedTitle(300), WantedTitle(200)]
    assert make_booking(bench.engineer, [WantedSide("A", round(740 + 2 * pause), titles=titles)]).pk


def test_a_long_pause_takes_the_radius_of_its_turns(bench: Bench) -> None:
    """20 minutes of music at groove and land leave 24.7 mm; two titles of 4:00 and 5:00 on that side are no shorter."""
    titles = [WantedTitle(240), WantedTitle(300)]
    wanted = _kept_anyhow(bench, WantedSide("A", 1200, titles=titles))
    bare = make_booking(bench.engineer, [WantedSide("A", 1200)]).wanted.get()
    assert plans.plan_of(wanted).spare_mm == pytest.approx(plans.plan_of(bare).spare_mm)
    too_long = _kept_anyhow(bench, WantedSide("A", 1900, titles=titles))
    assert not plans.plan_of(too_long).fits
    assert not plans.layout_of(too_long).plan.fits


def _kept_anyhow(bench: Bench, side: WantedSide) -> BookingSide:
    with pytest.raises(Doubtful) as told:
        make_booking(bench.engineer, [side])
    return make_booking(bench.engineer, [side], sure=[doubt.key for doubt in told.value.doubts]).wanted.get()


def test_the_sheet_is_one_accessible_page(bench: Bench, signed_in: Client, tmp_path: Path) -> None:
    for place in range(12):
        actions.add_head_step(
            by=bench.engineer, once=once(), text=f"Step {place}: " + "look and feel " * 6, place=place + 1
        )
    booking = make_booking(
        bench.engineer,
        [
            WantedSide(
                "A",
                None,
                titles=[WantedTitle(80, f"Title of some length {n}") for n in range(14)],
                level_note="x" * 150,
            )
        ],
    )
    answer = signed_in.get(address("cut-sheet-pdf", booking.wanted.get().pk))
    assert answer["Content-Type"] == "application/pdf"
    is_accessible(answer.content, tmp_path)
    stands_within(answer.content, "A4", tmp_path)
    (page,) = words(answer.content)
    assert "Title of some length 13" in page


def test_grooves_are_told_in_inches_and_feet_to_who_reads_them(bench: Bench, client_of: Callable) -> None:
    Person.objects.filter(pk=bench.engineer.pk).update(length_unit="in")
    booking = make_booking(bench.engineer, [WantedSide("A", 900)])
    reader = client_of(Person.objects.get(pk=bench.engineer.pk))
    page = reader.get(booking.get_absolute_url()).content.decode()
    assert re.search(r"Groove speed</dt><dd>\d\d\.\d\u00a0in/s to \d+\.\d\u00a0in/s", page)
    assert "\u00a0ft of groove" in page
    assert "mm/s" not in page
    (paper,) = words(reader.get(address("cut-sheet-pdf", booking.wanted.get().pk)).content)
    assert "in/s" in paper
    assert "mm/s" not in paper


def test_a_sheet_of_nothing_is_not_found(signed_in: Client) -> None:
    assert signed_in.get(address("cut-sheet-pdf", 999)).status_code == 404


# The steps ------------------------------------------------------------------------------------------------------------


def test_steps_stand_in_their_order(bench: Bench, signed_in: Client) -> None:
    for said, place in (("Vacuum on", 20), ("Blank wiped", 10), ("Door shut", 30)):
        signed_in.post(address("add-head-step"), {"once": once(), "text": said, "place": place})
    gone = HeadStep.objects.get(text="Door shut")
    actions.change_head_step(
        by=bench.engineer, once=once(), step=gone, version=1, text="Door shut", place=30, is_active=False
    )
    assert [step.text for step in HeadStep.objects.filter(is_active=True)] == ["Blank wiped", "Vacuum on"]
    page = text(signed_in.get(address("head-steps")))
    assert page.index("Blank wiped") < page.index("Vacuum on") < page.index("off the list")


def test_a_step_twice_is_refused(bench: Bench, signed_in: Client) -> None:
    actions.add_head_step(by=bench.engineer, once=once(), text="Vacuum on", place=20)
    answer = signed_in.post(address("add-head-step"), {"once": once(), "text": "vacuum ON", "place": "30"})
    assert answer.status_code == 422
    assert "in the list already" in text(answer)


def test_pressing_twice_is_one_step(bench: Bench) -> None:
    token = once()
    for _ in range(2):
        actions.add_head_step(by=bench.engineer, once=token, text="Vacuum on", place=20)
    assert HeadStep.objects.count() == 1


def test_a_stale_step_is_not_saved(bench: Bench) -> None:
    step = actions.add_head_step(by=bench.engineer, once=once(), text="Vacuum on", place=20)
    change = {"by": bench.engineer, "step": step, "version": 1, "place": 5, "is_active": True}
    actions.change_head_step(once=once(), text="Vacuum on, gauge read", **change)  # type: ignore[arg-type]
    with pytest.raises(Changed):
        actions.change_head_step(once=once(), text="Vacuum", **change)  # type: ignore[arg-type]


def test_an_assistant_changes_no_list(bench: Bench, assistant: Person) -> None:
    with pytest.raises(NotAllowed):
        actions.add_head_step(by=assistant, once=once(), text="Vacuum on", place=20)


# The figures ----------------------------------------------------------------------------------------------------------


def test_figures_are_kept_and_plans_follow(bench: Bench, signed_in: Client) -> None:
    booking = make_booking(bench.engineer, [WantedSide("A", None, titles=FOUR)])
    before = plans.plan_of(booking.wanted.get()).spare_mm
    typed = {**FIGURES, "between_s": "15:00", "confidence": "90", "version": 1, "once": once()}
    assert signed_in.post(address("change-plan-figures"), typed).status_code == 302
    kept = PlanFigures.objects.get()
    assert {name: getattr(kept, name) for name in FIGURES} == FIGURES
    assert plans.plan_of(booking.wanted.get()).spare_mm == pytest.approx(before - 3 * 0.2)


@pytest.mark.parametrize(
    ("field", "value"),
    [("band_mm", 0.0), ("confidence", 1.0), ("lead_in_turns", -1.0), ("run_out_mm", 25.0), ("pause_s", float("nan"))],
)
def test_figures_no_lathe_has_are_refused(bench: Bench, field: str, value: float) -> None:
    with pytest.raises(Refused) as refused:
        actions.change_plan_figures(by=bench.engineer, once=once(), version=1, **FIGURES | {field: value})  # type: ignore[arg-type]
    assert refused.value.field == field


def test_figures_that_come_back_as_shown_keep_their_last_digit(bench: Bench, signed_in: Client) -> None:
    """0.8 mm reads 0.031 in, which is 0.787 mm."""
    bench.engineer.length_unit = "in"
    bench.engineer.save()
    form = signed_in.get(address("change-plan-figures")).context["form"]
    shown = {box.name: box.value() for box in form if box.value() is not None}
    assert shown["band_mm"] == "0.031"
    sent = shown | {"once": str(once()), "between_s": "25:00"}
    assert signed_in.post(address("change-plan-figures"), sent).status_code == 302
    kept = PlanFigures.objects.get()
    assert (kept.band_mm, kept.lead_in_pitch_mm, kept.lead_out_pitch_mm, kept.between_s) == (0.8, 1.2, 6.4, 1500)
    sent |= {"once": str(once()), "version": str(kept.version), "band_mm": "0.040"}
    signed_in.post(address("change-plan-figures"), sent)
    assert PlanFigures.objects.get().band_mm == pytest.approx(1.016)


@pytest.mark.parametrize(("typed", "told"), [("100", "That is above 99.9 %."), ("20", "That is below 50 %.")])
def test_a_confidence_out_of_bounds_is_told_in_percent(bench: Bench, signed_in: Client, typed: str, told: str) -> None:
    form = signed_in.get(address("change-plan-figures")).context["form"]
    shown = {box.name: box.value() for box in form if box.value() is not None}
    answer = signed_in.post(address("change-plan-figures"), shown | {"once": str(once()), "confidence": typed})
    assert answer.status_code == 422
    assert told in text(answer)


# Figures to try -------------------------------------------------------------------------------------------------------

TRIED = {"minutes": "20", "disc_in": "12", "speed": "33", "width_um": "56", "land_um": "40"}


def test_figures_can_be_tried_with_titles(bench: Bench, signed_in: Client) -> None:
    page = text(signed_in.get(address("plan-side"), TRIED | {"titles": "5"}))
    assert "in 5 titles with 4 bands between them" in page


def test_one_last_groove_is_told_at_the_pitch_that_is_named(bench: Bench, signed_in: Client) -> None:
    answer = signed_in.get(address("plan-side"), TRIED | {"minutes": "21:30"})
    laid, shown = answer.context["layout"], text(answer)
    assert laid.plan.pitch_um != answer.context["plan"].pitch_um
    assert shown.count(f"{laid.last_groove_mm:.1f}\xa0mm") >= 2
    assert f"{laid.plan.lines_per_inch:.0f} lines per inch ({laid.plan.pitch_um:.0f} µm)" in shown
    assert "at that pitch" not in shown


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"minutes": "0"}, "That is shorter than 0:01."),
        ({"speed": "300"}, "error"),
        ({"pitch_um": "600"}, "Grooves that wide would overlap at that pitch"),
        ({"titles": "0"}, "That is below 1."),
        ({"titles": "99"}, "That is above 40."),
        ({"minutes": "0:30", "titles": "40"}, "40 titles have 1:18 of pauses between them"),
    ],
)
def test_figures_no_lathe_cuts_are_refused(
    bench: Bench, signed_in: Client, wrong: dict[str, str], sentence: str
) -> None:
    answer = signed_in.get(address("plan-side"), TRIED | wrong)
    assert answer.status_code == 422
    assert sentence in text(answer)

"""What to do about an edge: one sentence with its reasons, the same numbers everywhere, an engineer's word against."""

from decimal import Decimal

import pytest
from django.db import DatabaseError, transaction

from shop import clock
from shop.calc.life import LifePosterior, LifePrior, age_to_replace
from shop.concern import Grade
from shop.cutting import actions, queries
from shop.cutting.actions import WantedSide
from shop.cutting.concerns import concerns
from shop.cutting.models import Life, Overruling
from shop.morning.plan import plan_of_day
from shop.refusal import NotAllowed, Refused
from tests.cutting.makers import address, cut, make_booking, make_stylus, once, text
from tests.makers import at
from tests.stock.makers import make_item, make_lot

pytestmark = pytest.mark.django_db


def told(bench):
    """What the page of the stylus advises."""
    stylus = queries.styli_of_any_state().get(pk=bench.stylus.pk)
    return queries.advice_on(stylus, queries.state_of(stylus).life)


def has_cut(hours):
    Life.objects.update(cut_s=round(3600 * hours), sides=1)


def say_costs(by, version=1, **facts):
    return actions.change_cost_figures(by=by, once=once(), version=version, **facts)


def worries():
    return [one for one in concerns(clock.now()) if one.key.startswith("cutting:life:")]


def test_with_nothing_booked_it_says_how_long_it_will_last(bench):
    assert told(bench).sentence == "Nothing is booked that it would have to cut."
    assert "at 80" in told(bench).reasons[0]
    assert not told(bench).is_against


def test_it_may_cut_all_that_is_booked(bench):
    make_booking(bench.engineer)
    advice = told(bench)
    assert (advice.sentence, advice.is_against) == ("Cut all 2 booked sides with it.", False)
    assert "The chance that it finishes them is" in advice.reasons[0]


def test_it_is_to_be_changed_before_the_first_side_it_may_not_finish(bench):
    booking = make_booking(bench.engineer, [WantedSide(label, 1200) for label in "ABCDEF"], code="B-9")
    has_cut(9.0)
    outlook = queries.life_outlook(Life.objects.select_related("stylus__kind").get())
    chances = [outlook.chance(1200 * (place + 1)) for place in range(6)]
    first = next(place for place, chance in enumerate(chances) if chance < 0.9)
    assert 0 < first < 6, "the case is made so"
    advice = told(bench)
    assert advice.before == booking.wanted.order_by("label")[first]
    assert advice.sentence == f"Change it before side {'ABCDEF'[first]} of B-9."
    assert advice.reasons[0].startswith("The chance that it lasts to the end of that side is")


def test_page_concern_and_morning_plan_say_the_same(bench, client_of, engineer):
    make_booking(bench.engineer, [WantedSide(label, 1200) for label in "ABCD"], code="B-9")
    has_cut(12.0)
    outlook = queries.life_outlook(Life.objects.select_related("stylus__kind").get())
    chance = outlook.chance(4 * 1200)
    [worry] = worries()
    words = f"{100 * chance:.0f}"
    assert words in worry.headline
    assert worry.what_to_do.startswith(told(bench).sentence)
    plan = plan_of_day(clock.today(), clock.now())
    assert plan["sides"][-1]["stylus"]["share"] == pytest.approx(chance, abs=1e-12)
    page = text(client_of(engineer).get(bench.stylus.get_absolute_url()))
    assert told(bench).sentence in page
    assert words in page


def test_the_list_says_the_advice_and_what_is_in_a_head_comes_first(bench, client_of, engineer):
    make_stylus(bench.engineer, bench.kind, "A-1")
    make_booking(bench.engineer, [WantedSide(label, 1200) for label in "ABCDEF"], code="B-9")
    has_cut(9.0)
    page = text(client_of(engineer).get(address("styli")))
    assert f"<b>Advice:</b> {told(bench).sentence}" in page
    assert page.index(">R-1</a>") < page.index(">A-1</a>")


def test_what_speaks_against_it_at_once_comes_first(bench):
    make_booking(bench.engineer)
    reason = actions.add_reject_reason(by=bench.engineer, once=once(), name="Dragged", blame="edge")
    cut(bench, outcome="rejected", reject_reason=reason)
    assert told(bench).sentence.startswith("Look its edge over before the next side")
    Life.objects.update(noise_over=True)
    assert told(bench).sentence == "Change it before the next side."
    make_booking(bench.engineer, [WantedSide(label, 1200) for label in "CDEFGHIJ"], code="B-9")
    has_cut(9.0)
    assert any("lasts to the end of side" in reason for reason in told(bench).reasons), "it names that side"


def test_the_trend_of_its_noise_counts(bench):
    booking = make_booking(bench.engineer, [WantedSide(label, 1200) for label in "ABCD"], code="B-9")
    Life.objects.update(cut_s=3600, noise_soonest_s=3600 + 3000)
    advice = told(bench)
    assert advice.before == booking.wanted.get(label="C"), "the third side runs past 50 minutes"
    assert "noise limit after about 0.8 h more" in advice.reasons[0]


def test_the_cheapest_age_is_that_of_the_costs_here(bench):
    lot = make_lot(bench.engineer, make_item(bench.engineer, "Ruby stylus", kind="stylus"), 3, unit_cost=Decimal(90))
    actions.add_stylus(by=bench.engineer, once=once(), mark="R-5", kind=bench.kind, lot=lot)
    costs = queries.change_costs(bench.kind)
    assert (costs.edge, costs.is_enough) == (None, False), "none of them was fitted yet"
    actions.change_stylus(by=bench.engineer, once=once(), stylus=bench.stylus, version=1, before_h=0, price=Decimal(80))
    say_costs(bench.engineer, change_stylus=Decimal(20), spoiled_side=Decimal(300))
    costs = queries.change_costs(bench.kind)
    assert (costs.planned, costs.failure) == (100.0, 400.0)
    change = queries.replacement(queries.posterior_of(bench.kind, queries.Record((), ())), costs)
    law = LifePosterior(LifePrior(12, "fair"))
    assert change.hours == pytest.approx(age_to_replace(law, 100, 400).hours, rel=1e-9)
    actions.change_limits(by=bench.engineer, once=once(), version=1, care_below=0, hold_below=0, days_ahead=14)
    booking = make_booking(bench.engineer, [WantedSide(label, 1200) for label in "ABC"], code="B-9")
    has_cut(15)
    record = queries.records(frozenset([bench.kind.pk]))[bench.kind.pk]
    best = queries.replacement(queries.posterior_of(bench.kind, record), costs).hours
    assert best < 15
    advice = told(bench)
    assert (advice.before, advice.sentence) == (
        booking.wanted.get(label="A"),
        "Change it before the next side, A of B-9.",
    )
    assert advice.reasons == (f"Changing costs least at about {best:.1f} h; it has cut 15.0 h.",)


def test_a_re_lapped_edge_costs_what_re_lapping_did(bench):
    actions.change_stylus(by=bench.engineer, once=once(), stylus=bench.stylus, version=1, before_h=0, price=Decimal(80))
    actions.send_stylus_away(by=bench.engineer, once=once(), stylus=bench.stylus, sent_to="Loft", reason="worn")
    actions.take_stylus_back(by=bench.engineer, once=once(), stylus=bench.stylus, came_back="fresh", price=Decimal(40))
    actions.fit_stylus(by=bench.engineer, once=once(), stylus=bench.stylus, lathe=bench.lathe)
    assert queries.change_costs(bench.kind).edge == 60


def test_the_first_stylus_of_a_kind_has_its_page_before_any_of_that_kind_was_fitted(bench, client_of, engineer):
    cut(bench)
    kind = actions.add_stylus_kind(by=engineer, once=once(), name="Sapphire, cold", expected_h=9.0)
    say_costs(engineer, change_stylus=Decimal(20))
    costs = queries.change_costs(kind)
    assert (costs.edge, costs.work) == (None, 20.0)
    stylus = make_stylus(engineer, kind, "S-1")
    assert client_of(engineer).get(stylus.get_absolute_url()).status_code == 200


# Overruling -----------------------------------------------------------------------------------------------------------


def overrule(by, stylus, reason="The tip is perfect at 400 times."):
    return actions.overrule_advice(by=by, once=once(), stylus=stylus, reason=reason)


def test_an_engineer_overrules_for_the_day_and_the_reason_is_kept(bench):
    make_booking(bench.engineer, [WantedSide(label, 1200) for label in "ABCDEF"], code="B-9")
    has_cut(14.0)
    stands = told(bench)
    [worry] = worries()
    assert worry.grade in (Grade.CARE, Grade.HOLD)
    kept = overrule(bench.engineer, bench.stylus)
    assert kept.advice == " ".join([stands.sentence, *stands.reasons])
    assert (kept.by, kept.day, kept.cut_s) == (bench.engineer, clock.today(), (14 * 3600))
    [now] = worries()
    assert (now.key, now.grade) == (worry.key, Grade.NOTE)
    assert f"{bench.engineer} overruled the advice today: The tip is perfect" in now.reason
    with at("2025-03-04 08:00"):
        [tomorrow] = worries()
        assert tomorrow.grade == worry.grade
    with pytest.raises(DatabaseError, match="never changed"), transaction.atomic():
        Overruling.objects.update(reason="other")


def noisy():
    return [one for one in concerns(clock.now()) if one.key.startswith("cutting:noise:")]


def test_an_overruling_covers_no_other_concern_of_the_day(bench):
    make_booking(bench.engineer, [WantedSide(label, 1200) for label in "AB"], code="B-9")
    actions.change_limits(
        by=bench.engineer, once=once(), version=1, care_below=0.9, hold_below=0.2, days_ahead=14, noise_db=-50
    )
    reason = actions.add_reject_reason(by=bench.engineer, once=once(), name="Dragged", blame="edge")
    cut(bench, outcome="rejected", reject_reason=reason)
    first = overrule(bench.engineer, bench.stylus, "Looked whole through the loupe.")
    assert set(first.covers) == {"edge"}
    # The next level lies above the shop's limit: that is another matter, and stands.
    Life.objects.update(noise_over=True)
    assert [one.grade for one in noisy()] == [Grade.CARE]
    second = overrule(bench.engineer, bench.stylus, "The level was of the blank.")
    assert set(second.covers) == {"edge", "noise"}
    [now] = noisy()
    assert now.grade == Grade.NOTE
    assert "The level was of the blank." in now.reason
    # And what was said of the edge keeps its own reason.
    assert second.covers["edge"][2] == "Looked whole through the loupe."


def test_an_overruling_covers_nothing_graver_than_it_was(bench):
    booking = make_booking(bench.engineer, [WantedSide(label, 1200) for label in "AB"], code="B-9")
    actions.change_limits(by=bench.engineer, once=once(), version=1, care_below=0.95, hold_below=0.7, days_ahead=14)
    has_cut(next(hours / 4 for hours in range(80) if chance_after(bench, hours / 4, 2400) < 0.93))
    [worry] = worries()
    assert worry.grade == Grade.CARE
    overrule(bench.engineer, bench.stylus)
    assert [one.grade for one in worries()] == [Grade.NOTE]
    more = [WantedSide(label, 1200) for label in "CDEFGHIJKL"]
    make_booking(bench.engineer, more, code="B-10")
    [graver] = worries()
    assert graver.grade == Grade.HOLD, "more was booked: it is a hold now, which nobody has overruled"
    overrule(bench.engineer, bench.stylus, "The last ten are tests.")
    [now] = worries()
    assert (now.grade, "The last ten are tests." in now.reason) == (Grade.NOTE, True)
    # Lighter again it stays overruled.
    actions.cancel_booking(by=bench.engineer, once=once(), booking=booking)
    assert all(one.grade == Grade.NOTE for one in worries())


def chance_after(bench, hours, cut_s):
    has_cut(hours)
    return queries.life_outlook(Life.objects.select_related("stylus__kind").get()).chance(cut_s)


def test_the_page_says_which_advice_was_overruled_and_that_another_stands(bench, client_of, engineer):
    make_booking(bench.engineer, [WantedSide(label, 1200) for label in "ABCDEF"], code="B-9")
    has_cut(14.0)
    overrule(bench.engineer, bench.stylus, "It sounds clean.")
    page = text(client_of(engineer).get(bench.stylus.get_absolute_url()))
    assert "overruled that today" in page
    assert "It stands" not in page
    Life.objects.update(noise_over=True)
    page = text(client_of(engineer).get(bench.stylus.get_absolute_url()))
    assert "It stands: what was overruled today was other, or less grave, advice." in page


def test_there_is_nothing_to_overrule_where_nothing_speaks_against_it(bench):
    with pytest.raises(Refused, match="Nothing speaks against"):
        overrule(bench.engineer, bench.stylus)


def test_only_engineers_overrule_and_say_why(bench, assistant):
    has_cut(14.0)
    make_booking(bench.engineer)
    with pytest.raises(NotAllowed):
        overrule(assistant, bench.stylus)
    with pytest.raises(Refused) as no:
        overrule(bench.engineer, bench.stylus, " ")
    assert no.value.field == "reason"


def test_by_the_page(bench, client_of, engineer, assistant):
    make_booking(bench.engineer, [WantedSide(label, 1200) for label in "ABCDEF"], code="B-9")
    has_cut(14.0)
    where = address("overrule-advice", bench.stylus.pk)
    assert where not in text(client_of(assistant).get(bench.stylus.get_absolute_url()))
    client = client_of(engineer)
    assert where in text(client.get(bench.stylus.get_absolute_url()))
    facts = {"once": str(once()), "reason": "It sounds clean."}
    for _ in range(2):
        assert client.post(where, facts).status_code == 302
    assert Overruling.objects.count() == 1
    page = text(client.get(bench.stylus.get_absolute_url()))
    assert "overruled that today" in page
    assert "When the advice was overruled" in page


# A kind's page --------------------------------------------------------------------------------------------------------


def test_a_kind_shows_curve_steps_guess_and_lives(bench, client_of, assistant, engineer):
    for place, hours in enumerate((8.0, 10.0, 12.0, 15.0)):
        with at(f"2025-03-{4 + place:02d} 09:00"):
            Life.objects.filter(ended_at=None).update(cut_s=round(3600 * hours), sides=3)
            actions.send_stylus_away(by=engineer, once=once(), stylus=bench.stylus, sent_to="Loft", reason="worn")
            actions.take_stylus_back(by=engineer, once=once(), stylus=bench.stylus, came_back="fresh")
            actions.fit_stylus(by=engineer, once=once(), stylus=bench.stylus, lathe=bench.lathe)
    client = client_of(assistant)
    page = text(client.get(address("stylus-kind", bench.kind.pk)))
    for words in (
        "own lives alone",
        "A typical life of 12 h",
        "maximum likelihood",
        "R-1</a>, life 4",
        "Each life that wore",
    ):
        assert words in page, words
    tried = text(client.get(address("stylus-kind", bench.kind.pk) + "?expected_h=40&sureness=well"))
    assert "Nothing is kept" in tried
    assert "A typical life of 40 h" in tried
    bench.kind.refresh_from_db()
    assert bench.kind.expected_h == 12
    wrong = text(client.get(address("stylus-kind", bench.kind.pk) + "?expected_h=long&sureness=well"))
    assert "A typical life of 12 h" in wrong
    assert "Price" not in text(client.get(bench.stylus.get_absolute_url()))


def test_what_is_known_of_a_stylus_is_changed(bench, client_of, engineer):
    where = address("change-stylus", bench.stylus.pk)
    facts = {
        "once": str(once()),
        "version": 1,
        "before_h": "0",
        "tip_radius_um": "5.5",
        "tip_angle_deg": "88",
        "price": "79,50",
    }
    for _ in range(2):
        assert client_of(engineer).post(where, facts).status_code == 302
    bench.stylus.refresh_from_db()
    assert (bench.stylus.tip_radius_um, bench.stylus.tip_angle_deg) == (5.5, 88)
    assert (bench.stylus.price, bench.stylus.version) == (Decimal("79.5"), 2)
    assert client_of(engineer).post(where, {"once": once(), "version": 1, "tip_radius_um": "50"}).status_code == 422
    page = text(client_of(engineer).get(bench.stylus.get_absolute_url()))
    assert "88°" in page

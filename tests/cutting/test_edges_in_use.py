"""A stylus that was in use before it was kept here: its hours known, or not known."""

from collections.abc import Callable
from uuid import uuid4

import pytest
from django.test import Client

from shop import clock
from shop.concern import Grade
from shop.cutting import actions, concerns, noise, queries
from shop.cutting.actions import WantedSide
from shop.cutting.models import CuttingLimits, Life, Stylus
from shop.morning.plan import plan_of_day
from shop.people.models import Person
from shop.press.models import Press
from shop.refusal import Changed, NotAllowed, Refused
from tests.carrying.files import lines
from tests.cutting.makers import Bench, address, cut, heard, make_booking, make_stylus, once, photographed, start, text

pytestmark = pytest.mark.django_db

ClientOf = Callable[[Person], Client]


def came_with(bench: Bench, before_h: float | None) -> Life:
    """The bench's stylus off, and in its place one that came with so many hours."""
    actions.take_off_stylus(by=bench.engineer, once=once(), stylus=bench.stylus)
    bench.stylus = make_stylus(bench.engineer, bench.kind, "R-9", before_h=before_h)
    actions.fit_stylus(by=bench.engineer, once=once(), stylus=bench.stylus, lathe=bench.lathe)
    return Life.objects.get(stylus=bench.stylus)


def worn(bench: Bench, mark: str, hours: float, before_h: float | None = 0.0) -> None:
    """A life that cut so many hours here and was then worn."""
    stylus = make_stylus(bench.engineer, bench.kind, mark, before_h=before_h)
    Life.objects.create(stylus=stylus, began_at=clock.now(), cut_s=round(hours * 3600), sides=1)
    actions.retire_stylus(by=bench.engineer, once=once(), stylus=stylus, reason="worn")


# How many it had cut --------------------------------------------------------------------------------------------------


def test_its_life_begins_with_the_hours_it_had(bench: Bench) -> None:
    fresh = queries.life_outlook(Life.objects.get())
    life = came_with(bench, 6.5)
    cut(bench, cut_s=1080)
    life.refresh_from_db()
    assert (life.hours, life.cut_s, life.age_s) == (6.8, 1080, 6.8 * 3600)
    outlook = queries.life_outlook(life)
    assert (outlook.hours, outlook.age_is_known, outlook.at_most) == (6.8, True, "")
    assert outlook.hours_left(0.8) < 0.75 * fresh.hours_left(0.8)
    assert outlook.chance(4 * 3600) < fresh.chance(4 * 3600)


def test_it_counts_in_the_fit_as_one_that_entered_late(bench: Bench) -> None:
    life = came_with(bench, 9.7)
    cut(bench, cut_s=1080)
    actions.retire_stylus(by=bench.engineer, once=once(), stylus=bench.stylus, reason="worn")
    record = queries.records(frozenset([bench.kind.pk]))[bench.kind.pk]
    assert (record.hours, record.worn, record.entered, record.unknown) == ((10.0,), (True,), (9.7,), 0)
    assert queries.posterior_of(bench.kind, record).entered == (9.7,)
    Stylus.objects.filter(pk=life.stylus_id).update(before_s=0)
    assert queries.records(frozenset([bench.kind.pk]))[bench.kind.pk].hours == (0.3,)


def test_own_lives_are_fitted_with_their_entries(bench: Bench) -> None:
    for place, (hours, before_h) in enumerate([(9.0, 0.0), (3.0, 8.0), (12.0, 0.0), (5.0, 6.0)]):
        worn(bench, f"W-{place}", hours, before_h)
    record = queries.records(frozenset([bench.kind.pk]))[bench.kind.pk]
    own = queries.own_fit(record)
    assert own is not None
    assert 9 < own.fit.quantile(0.5) < 13
    steps = queries.own_steps(record)
    assert [(one.hours, one.at_risk) for one in steps] == [(9.0, 4), (11.0, 3), (12.0, 1)]


def test_where_few_were_seen_early_the_steps_are_of_lives_seen_whole(bench: Bench) -> None:
    worn(bench, "W-1", 2.0)
    worn(bench, "W-2", 3.0, before_h=6.0)
    worn(bench, "W-3", 4.0, before_h=6.0)
    steps = queries.own_steps(queries.records(frozenset([bench.kind.pk]))[bench.kind.pk])
    assert [(one.hours, one.at_risk, one.survival) for one in steps] == [(2.0, 1, 0.0)]


def test_every_page_says_the_age(bench: Bench, client_of: ClientOf) -> None:
    life = came_with(bench, 6.5)
    client = client_of(bench.engineer)
    page = text(client.get(bench.stylus.get_absolute_url()))
    assert "<b>6.5</b> <span>h</span>" in page
    assert "had cut 6.5 h" in page
    cut(bench, cut_s=1080)
    photographed(bench.engineer, bench.stylus)
    make_booking(bench.engineer, [WantedSide("A", 1200)])
    page = text(client.get(bench.stylus.get_absolute_url()))
    assert "6.8 h, of which 6.5 h before it came here" in page
    assert "after the 6.8 h that this one has cut" in page
    assert "life 1, 6.8 h" in page  # of the photograph
    for name in ("styli", "lathes", "start-side", "log-side"):
        assert "6.8" in text(client.get(address(name))), name
    assert ">6.8<" in text(client.get(address("stylus-kind", bench.kind.pk)))
    assert life.pk == Life.objects.get(stylus=bench.stylus).pk


def test_the_page_of_a_side_counts_from_the_age_of_its_edge(bench: Bench, client_of: ClientOf) -> None:
    came_with(bench, 6.5)
    cut(bench, cut_s=1080)
    side, client = cut(bench, cut_s=1080), client_of(bench.engineer)
    assert "<b>7.1</b> <span>h, from 6.8 h</span>" in text(client.get(side.get_absolute_url()))
    Stylus.objects.filter(pk=bench.stylus.pk).update(before_s=None)
    assert "<b>at least 0.6</b> <span>h, from 0.3 h</span>" in text(client.get(side.get_absolute_url()))


def test_one_that_was_never_fitted_is_not_called_fresh(bench: Bench, client_of: ClientOf) -> None:
    client = client_of(bench.engineer)
    for before_h, said in (
        (6.5, "its edge had cut 6.5 h before it came"),
        (None, "nobody knows what its edge had cut before it came"),
        (0.0, "A fresh edge, not yet used."),
    ):
        stylus = make_stylus(bench.engineer, bench.kind, f"N-{before_h}", before_h=before_h)
        page = text(client.get(stylus.get_absolute_url()))
        assert said in page
        assert said in text(client.get(address("styli")))
        assert ("A fresh edge" in page) == (before_h == 0)
    left = queries.stylus_outlook(Stylus.objects.get(mark="N-6.5"), None)
    assert left is not None
    assert left.hours == 6.5


def test_a_re_lapped_edge_begins_at_0_whatever_the_first_had(bench: Bench) -> None:
    came_with(bench, None)
    cut(bench)
    actions.send_stylus_away(by=bench.engineer, once=once(), stylus=bench.stylus, sent_to="Tipworks", reason="worn")
    actions.take_stylus_back(by=bench.engineer, once=once(), stylus=bench.stylus, came_back="fresh")
    stylus = Stylus.objects.get(pk=bench.stylus.pk)
    left = queries.stylus_outlook(stylus, queries.state_of(stylus).life)
    assert left is not None
    assert (left.hours, left.age_is_known) == (0.0, True)
    actions.fit_stylus(by=bench.engineer, once=once(), stylus=stylus, lathe=bench.lathe)
    second = Life.objects.get(stylus=stylus, number=2)
    assert (second.hours, second.age_is_known) == (0.0, True)


def test_noise_lies_over_the_hours_of_the_edge(bench: Bench, client_of: ClientOf) -> None:
    life = came_with(bench, 5.0)
    CuttingLimits.objects.create(pk=1, noise_db=-50)
    for level in (-60.0, -59.2, -58.1, -57.2, -56.0):
        heard(bench.engineer, bench.stylus, level, side=cut(bench, cut_s=1080))
    life.refresh_from_db()
    client = client_of(bench.engineer)
    assert "Hours are counted from when it came here" not in text(client.get(bench.stylus.get_absolute_url()))
    found = noise.of_life(life, -50.0)
    assert [one.hours for one in found.levels] == pytest.approx([5.3, 5.6, 5.9, 6.2, 6.5])
    assert found.hours == 6.5
    assert life.noise_expected_s is not None
    assert 1.5 * 3600 < life.noise_expected_s < 5 * 3600  # of cutting here
    assert found.crossing is not None
    Stylus.objects.filter(pk=bench.stylus.pk).update(before_s=None)
    assert "Hours are counted from when it came here" in text(client.get(bench.stylus.get_absolute_url()))
    assert found.crossing.expected == pytest.approx((life.noise_expected_s - life.cut_s) / 3600, abs=1e-3)


def test_the_cheapest_age_and_looking_back_reckon_with_it(bench: Bench) -> None:
    came_with(bench, 7.0)
    cut(bench, outcome="rejected", reject_reason=bench.reason)
    found = queries.looking_back(clock.day_bounds(clock.today())[0], clock.day_bounds(clock.today())[1])
    assert [one.name for one in found.ages] == ["6 to 8 h"]
    came = Stylus.objects.filter(pk=bench.stylus.pk)
    came.update(before_s=None)
    cut_of_now = queries.looking_back(clock.day_bounds(clock.today())[0], clock.day_bounds(clock.today())[1])
    assert [one.name for one in cut_of_now.ages] == ["age not known"]


# Nobody knows how many ------------------------------------------------------------------------------------------------


def test_of_an_unknown_age_nothing_is_claimed(bench: Bench, client_of: ClientOf) -> None:
    life = came_with(bench, None)
    cut(bench, cut_s=1080)
    make_booking(bench.engineer, [WantedSide("A", 1200)])
    outlook = queries.life_outlook(Life.objects.get(pk=life.pk))
    assert (outlook.hours, outlook.age_is_known) == (0.3, False)
    client = client_of(bench.engineer)
    page = text(client.get(bench.stylus.get_absolute_url()))
    assert "<b>at least 0.3</b> <span>h</span>" in page
    assert "How long it will last cannot be said: go by the microscope and the silent groove." in page
    assert "Its age is not known: nobody knows how many hours its edge had cut before it came here." in page
    assert page.count("<b>not known</b>") == 1
    assert "Had its edge been fresh when it came, it would cut" in page
    assert "and finish the next side with a chance of" in page
    assert "How far below that it lies, nobody can say." in page
    for claim in ("likely to finish", "at most over"):
        assert claim not in page
    assert "Its age is not known, so neither are the hours left." in text(client.get(address("styli")))
    told = text(client.get(address("start-side")))
    assert "how far below that it is, nobody can say." in told
    assert "likely to finish" not in told
    assert told.count("Its age is not known") == 1
    run = text(client.get(start(bench).get_absolute_url()))
    assert "Its age is not known" in run
    assert "likely to finish" not in run


def test_it_stays_out_of_the_rooms_own_figures(bench: Bench, client_of: ClientOf) -> None:
    came_with(bench, None)
    cut(bench, cut_s=1080)
    actions.retire_stylus(by=bench.engineer, once=once(), stylus=bench.stylus, reason="worn")
    record = queries.records(frozenset([bench.kind.pk]))[bench.kind.pk]
    assert (record.hours, record.unknown) == ((), 1)
    page = text(client_of(bench.engineer).get(address("stylus-kind", bench.kind.pk)))
    assert "1 more left out, since nobody knows what the edge had cut before it came" in page
    assert "at least 0.3" in page


def test_what_it_can_do_at_most_is_still_too_little_when_it_is(bench: Bench) -> None:
    life = came_with(bench, None)
    Life.objects.filter(pk=life.pk).update(cut_s=30 * 3600)
    booking = make_booking(bench.engineer, [WantedSide("A", 5400), WantedSide("B", 5400), WantedSide("C", 5400)])
    found = {one.key: one for one in concerns.concerns(clock.now())}[f"cutting:life:{life.pk}"]
    assert found.grade >= Grade.CARE
    assert "the chance that it does is at most" in found.headline
    assert "It has cut at least 30.0 h" in found.reason
    stylus = Stylus.objects.get(pk=bench.stylus.pk)
    told = queries.advice_on(stylus, Life.objects.get(pk=life.pk))
    assert told is not None
    assert told.is_against
    assert any("is at most" in reason for reason in told.reasons)
    assert told.reasons[-1].startswith("Its age is not known")
    mark = plan_of_day(clock.today(), clock.now())["sides"][-1]["stylus"]
    assert (mark["enough"], mark["share"]) == (False, None)
    assert mark["words"].startswith("at most")
    assert booking.pk


def test_the_morning_says_that_its_age_is_not_known(bench: Bench) -> None:
    came_with(bench, None)
    make_booking(bench.engineer, [WantedSide("A", 600)])
    mark = plan_of_day(clock.today(), clock.now())["sides"][0]["stylus"]
    assert mark == {"share": None, "words": "age not known", "enough": None}


def test_an_unknown_one_on_another_lathe_is_no_reason_not_to_hold(bench: Bench) -> None:
    life = Life.objects.get()
    for place in range(6):
        worn(bench, f"W-{place}", 10.0)
    Life.objects.filter(pk=life.pk).update(cut_s=round(9.5 * 3600))
    lathe = actions.add_lathe(by=bench.engineer, once=once(), name="Other")
    other = make_stylus(bench.engineer, bench.kind, "R-9", before_h=0.0)
    actions.fit_stylus(by=bench.engineer, once=once(), stylus=other, lathe=lathe)
    make_booking(bench.engineer, [WantedSide("A", 1200), WantedSide("B", 1200), WantedSide("C", 1200)])
    old, fresh = (queries.life_outlook(one).chance(3600) for one in Life.objects.filter(ended_at=None).order_by("id"))
    assert old < fresh
    CuttingLimits.objects.create(pk=1, hold_below=(old + fresh) / 2, care_below=0.999)
    key = f"cutting:life:{life.pk}"
    assert {one.key: one for one in concerns.concerns(clock.now())}[key].grade == Grade.CARE
    Stylus.objects.filter(pk=other.pk).update(before_s=None)
    assert {one.key: one for one in concerns.concerns(clock.now())}[key].grade == Grade.HOLD


# How it is said -------------------------------------------------------------------------------------------------------


def test_it_is_said_where_the_stylus_is_entered(bench: Bench, client_of: ClientOf, assistant: Person) -> None:
    client = client_of(assistant)
    page = text(client.get(address("add-stylus")))
    assert "Hours its edge had cut before it came here" in page
    assert "Empty if nobody knows" in page
    facts = {"once": str(uuid4()), "mark": "R-5", "kind": bench.kind.pk, "received_on": "2020-01-01"}
    for wrong in ("-1", "1001", "a lot"):
        refused = client.post(address("add-stylus"), facts | {"before_h": wrong})
        assert refused.status_code == 422, wrong
    for _ in range(2):
        assert client.post(address("add-stylus"), facts | {"before_h": "6,5"}).status_code == 302
    assert Stylus.objects.get(mark="R-5").before_s == 23_400
    other = {**facts, "once": str(uuid4()), "mark": "R-6", "before_h": ""}
    assert client.post(address("add-stylus"), other).status_code == 302
    assert Stylus.objects.get(mark="R-6").before_s is None


@pytest.mark.parametrize("before_h", [-0.1, 1000.1, float("nan")])
def test_hours_that_make_no_sense_are_refused(bench: Bench, before_h: float) -> None:
    with pytest.raises(Refused) as no:
        make_stylus(bench.engineer, bench.kind, "R-5", before_h=before_h)
    assert no.value.field == "before_h"


def test_an_engineer_puts_a_wrong_figure_right_and_the_record_keeps_it(
    bench: Bench, client_of: ClientOf, assistant: Person
) -> None:
    life = came_with(bench, 6.5)
    cut(bench, cut_s=1080)
    where, stylus = address("change-stylus", bench.stylus.pk), bench.stylus
    with pytest.raises(NotAllowed):
        actions.change_stylus(by=assistant, once=once(), stylus=stylus, version=1, before_h=5.0)
    client = client_of(bench.engineer)
    assert 'value="6.5"' in text(client.get(where))
    assert client.post(where, {"once": str(uuid4()), "version": 1, "before_h": "5"}).status_code == 302
    assert Life.objects.get(pk=life.pk).hours == 5.3
    assert Press.objects.filter(act__endswith="change_stylus").count() == 1
    with pytest.raises(Changed):
        actions.change_stylus(by=bench.engineer, once=once(), stylus=stylus, version=1, before_h=5.0)
    assert client.post(where, {"once": str(uuid4()), "version": 2, "before_h": ""}).status_code == 302
    assert not Life.objects.get(pk=life.pk).age_is_known


def test_the_list_carries_it(bench: Bench, client_of: ClientOf) -> None:
    came_with(bench, 6.5)
    cut(bench, cut_s=1080)
    make_stylus(bench.engineer, bench.kind, "R-X", before_h=None)
    found = lines(client_of(bench.engineer), "styli")
    columns = ("Stylus", "Hours cut before it came", "Hours cut here")
    assert [tuple(row[name] for name in columns) for row in found] == [
        ("R-1", "0.0", "0.0"),
        ("R-9", "6.5", "0.3"),
        ("R-X", "not known", ""),
    ]

"""Containers: opening, levels, moving, finishing; what follows for stock, places, concerns, meters and care."""

from datetime import date
from uuid import uuid4

import pytest
from django.db import DatabaseError, connection, transaction

from shop import clock
from shop.duties import actions as duties
from shop.duties.models import Duty, Meter
from shop.duties.rules import WantedTouch
from shop.refusal import Changed, Doubtful, NotAllowed, NotEnough, Refused, TokenTrouble
from shop.safety import actions, queries
from shop.safety.concerns import concerns
from shop.safety.layout import Layout
from shop.safety.models import Container, Kept, Level, OpenLimit
from shop.stock.ledger import owners
from shop.stock.models import Movement, MovementKind
from tests.duties import makers as care
from tests.makers import anyway, at, moment
from tests.safety import place_makers as places
from tests.safety.bottles import ACETONE, acetone, finish, open_one, read_level
from tests.stock.makers import make_lot


@pytest.fixture
def shelf(engineer):
    return places.make_place(engineer, "Cupboard", limit_ml=2000, limit_by="insurer")


@pytest.fixture
def solvent(engineer):
    return acetone(engineer)[0]


@pytest.fixture
def lot(engineer, solvent):
    with at("2025-02-20 09:00"):
        return make_lot(engineer, solvent.items.get(), 5000, code="AC-1")


def on_hand(lot):
    lot.refresh_from_db()
    return lot.on_hand


# Opening --------------------------------------------------------------------------------------------------------------


def test_opening_takes_it_off_the_shelf_and_says_where_it_stands(assistant, solvent, shelf, lot):
    with at("2025-03-03 09:00"):
        one = open_one(assistant, solvent, shelf, lot=lot, full_g=1203.0)
    assert (one.left_ml, one.nominal_ml, on_hand(lot)) == (1000, 1000, 4000)
    assert one.tare_g == pytest.approx(1203.0 - ACETONE)
    assert (one.density_kg_m3, one.density_source) == (ACETONE, "its handbook, 20 °C")
    assert (one.movement.kind, one.movement.change) == (MovementKind.USED, -1000)
    assert Kept.objects.get().place == shelf
    assert owners([one.movement_id])[one.movement_id].link == one.get_absolute_url()


def test_more_than_the_lot_holds_is_refused_and_nothing_is_written(assistant, solvent, shelf, lot):
    with pytest.raises(NotEnough):
        open_one(assistant, solvent, shelf, lot=lot, nominal_ml=6000)
    assert not Container.objects.exists()
    assert on_hand(lot) == 5000


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"nominal_ml": 0}, "nominal_ml"),
        ({"nominal_ml": 300_000}, "nominal_ml"),
        ({"tare_g": 0.0}, "tare_g"),
        ({"full_g": 700.0}, "full_g"),
        ({"full_g": 1200.0, "tare_g": 400.0}, "full_g"),
        ({"at": "2031-01-01 09:00"}, "at"),
    ],
)
def test_what_cannot_be_opened_is_refused(assistant, solvent, shelf, typed, field):
    if "at" in typed:
        typed = {"at": moment(typed["at"])}
    with at("2025-03-03 09:00"), pytest.raises(Refused) as no:
        open_one(assistant, solvent, shelf, **typed)
    assert no.value.field == field


@pytest.mark.parametrize(
    ("typed", "field", "says"),
    [
        ({"full_g": 5000.0}, "full_g", "leaves 4210 g for the container when empty: much for"),
        ({"tare_g": 1700.0}, "tare_g", "makes 1700 g for the container when empty: much for"),
        ({"full_g": 800.0}, "full_g", "leaves 10 g for the container when empty: little for"),
        ({"nominal_ml": 100, "tare_g": 501.0}, "tare_g", "much for a container that holds 79 g"),
    ],
)
def test_a_weight_that_no_such_container_has_is_asked_about(assistant, solvent, shelf, typed, field, says):
    given = {"substance": solvent, "place": shelf, "nominal_ml": 1000} | typed
    with pytest.raises(Doubtful) as asked:
        actions.open_container(by=assistant, once=uuid4(), **given)
    (doubt,) = asked.value.doubts
    assert doubt.field == field
    assert says in doubt.sentence.replace("\u00a0", " ")
    assert not Container.objects.exists()
    assert open_one(assistant, solvent, shelf, **typed).tare_g is not None  # sure of it


@pytest.mark.parametrize("tare_g", [60.0, 413.0, 1500.0])
def test_bottles_and_cans_are_not_asked_about(assistant, solvent, shelf, tare_g):
    given = {"substance": solvent, "place": shelf, "nominal_ml": 1000, "tare_g": tare_g}
    assert actions.open_container(by=assistant, once=uuid4(), **given).tare_g == tare_g


def test_only_liquids_of_the_lot_and_places_on_the_list(engineer, solvent, shelf, lot):
    for refused in (places.substance("blanks"), places.substance("nitrogen")):
        with pytest.raises(Refused, match="Only liquids"):
            open_one(engineer, refused, shelf)
    with pytest.raises(Refused, match="is not of"):
        open_one(engineer, places.substance("alcohol"), shelf, lot=lot)
    gone = places.make_place(engineer, "Old tin")
    actions.stop_place(by=engineer, once=uuid4(), place=gone)
    gone.refresh_from_db()
    with pytest.raises(Refused, match="off the list"):
        open_one(engineer, solvent, gone)


def test_without_a_density_its_weight_says_nothing(engineer, shelf):
    plain = places.substance("spirit")
    with pytest.raises(Refused, match="No density"):
        open_one(engineer, plain, shelf, tare_g=400.0)
    assert open_one(engineer, plain, shelf).density_kg_m3 is None


def test_a_visitor_opens_nothing_and_one_press_is_one(visitor, assistant, solvent, shelf):
    with pytest.raises(NotAllowed):
        open_one(visitor, solvent, shelf)
    token, typed = uuid4(), {"substance": solvent, "place": shelf, "nominal_ml": 1000}
    first = actions.open_container(by=assistant, once=token, **typed)
    assert actions.open_container(by=assistant, once=token, **typed) == first
    with pytest.raises(TokenTrouble):
        actions.open_container(by=assistant, once=token, **typed | {"nominal_ml": 500})


# Levels ---------------------------------------------------------------------------------------------------------------


def test_a_level_by_weight_and_one_by_its_mark(assistant, solvent, shelf):
    with at("2025-03-03 09:00"):
        one = open_one(assistant, solvent, shelf, tare_g=412.7)
    with at("2025-03-05 09:00"):
        assert read_level(assistant, one, gross_g=412.7 + 0.75 * ACETONE).ml == 750
    with at("2025-03-07 09:00"):
        read_level(assistant, one, share=0.5)
    one.refresh_from_db()
    assert (one.left_ml, one.share) == (500, 0.5)


def test_levels_that_cannot_be_are_refused_and_odd_ones_asked_about(assistant, solvent, shelf):
    with at("2025-03-03 09:00"):
        one = open_one(assistant, solvent, shelf, tare_g=412.7)
        with pytest.raises(Refused, match="cannot weigh less"):
            read_level(assistant, one, gross_g=400.0)
        with pytest.raises(Refused, match="one of the two"):
            read_level(assistant, one)
        with pytest.raises(Refused, match="0 to 100"):
            read_level(assistant, one, share=1.2)
        with pytest.raises(Refused, match="before it was opened"):
            read_level(assistant, one, share=0.5, at=moment("2025-03-01 09:00"))
        with pytest.raises(Doubtful, match="another container"):
            actions.read_level(by=assistant, once=uuid4(), container=one, gross_g=412.7 + 1.2 * ACETONE)
        read_level(assistant, one, share=0.4)
        with pytest.raises(Doubtful, match="topped up"):
            actions.read_level(by=assistant, once=uuid4(), container=one, share=0.9)
    bare = open_one(assistant, solvent, shelf)
    with pytest.raises(Refused, match="never weighed empty"):
        read_level(assistant, bare, gross_g=900.0)


def test_a_level_is_never_changed(assistant, solvent, shelf):
    read_level(assistant, open_one(assistant, solvent, shelf), share=0.5)
    with pytest.raises(DatabaseError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(f"DELETE FROM {Level._meta.db_table}")


def test_how_fast_it_is_used_and_until_when_it_lasts(assistant, solvent, shelf):
    """By hand: 50 ml a day from 1000 ml; on the tenth day 500 are left, for ten days more."""
    with at("2025-03-01 09:00"):
        one = open_one(assistant, solvent, shelf)
    for day in range(2, 11, 2):
        with at(f"2025-03-{day + 1:02} 09:00"):
            read_level(assistant, one, share=1 - 0.05 * day)
    one.refresh_from_db()
    use = queries.use_of(one, list(queries.levels_of(one)), moment("2025-03-11 09:00"))
    assert use.a_week is not None
    assert use.a_week.middle == pytest.approx(350.0)
    assert use.about == date(2025, 3, 21)
    assert use.readings == 5


# Moving and finishing -------------------------------------------------------------------------------------------------


def test_moved_it_is_counted_elsewhere(engineer, assistant, solvent, shelf):
    one, bench = open_one(assistant, solvent, shelf), places.make_place(engineer, "Bench")
    moved = actions.move_container(by=assistant, once=uuid4(), container=one, place=bench)
    assert moved.place == bench
    assert queries.layout().total(bench).ml == 1000
    assert queries.layout().total(shelf).ml == 0
    with pytest.raises(Refused, match="there already"):
        actions.move_container(by=assistant, once=uuid4(), container=one, place=bench)


def test_finishing_says_how_who_and_when(assistant, solvent, shelf):
    one = open_one(assistant, solvent, shelf)
    with pytest.raises(Refused) as no:
        finish(assistant, one, "waste")
    assert no.value.field == "note"
    done = finish(assistant, one, "waste", note="red can by the door")
    assert (done.ended_by, done.ended_note, done.left_ml) == (assistant, "red can by the door", 1000)
    for act in (finish, lambda by, which: read_level(by, which, share=0.2)):
        with pytest.raises(Changed):
            act(assistant, one)


def test_one_never_opened_goes_back_on_the_shelf(assistant, solvent, shelf, lot):
    one = open_one(assistant, solvent, shelf, lot=lot)
    finish(assistant, one, "mistake")
    assert on_hand(lot) == 5000
    assert Movement.objects.get(reverses=one.movement).change == 1000


# Places ---------------------------------------------------------------------------------------------------------------


def laid_out() -> Layout:
    return queries.layout()


def test_a_place_counts_what_stands_open_or_what_is_written_down_whichever_is_more(engineer, solvent, shelf):
    places.keep(engineer, shelf, acetone=1500)
    open_one(engineer, solvent, shelf)
    assert laid_out().total(shelf).ml == 1500
    one = open_one(engineer, solvent, shelf)
    assert laid_out().total(shelf).ml == 2000
    read_level(engineer, one, share=0.25)
    assert laid_out().total(shelf).ml == 1500  # 1250 stand open
    finish(engineer, one)
    assert laid_out().total(shelf).ml == 1500


def test_its_stock_is_counted_where_it_stands(engineer, solvent, shelf, lot):
    shelf.refresh_from_db()
    wanted = [actions.Wanted(solvent, holds_stock=True)]
    actions.change_kept(by=engineer, once=uuid4(), place=shelf, version=shelf.version, kept=wanted)
    assert laid_out().total(shelf).ml == 5000
    open_one(engineer, solvent, shelf, lot=lot)
    assert laid_out().total(shelf).ml == 5000  # four litres in stock, one open
    other = places.make_place(engineer, "Bench")
    with pytest.raises(Refused, match="Its stock stands in"):
        actions.change_kept(by=engineer, once=uuid4(), place=other, version=other.version, kept=wanted)


def test_a_place_over_its_limit_by_what_stands_open_worries(engineer, solvent, shelf):
    for _ in range(3):
        open_one(engineer, solvent, shelf)
    found = {one.key: one for one in concerns(clock.now())}
    worry = found[f"safety:flammables:{shelf.pk}"]
    assert worry.reason.startswith("3\u00a0l of flammable liquid")
    assert "set by the insurer" in worry.reason


def test_what_stands_open_is_not_taken_off_the_list(engineer, solvent, shelf):
    open_one(engineer, solvent, shelf)
    shelf.refresh_from_db()
    with pytest.raises(Refused, match="stands open here"):
        actions.change_kept(by=engineer, once=uuid4(), place=shelf, version=shelf.version, kept=[])


# After opening --------------------------------------------------------------------------------------------------------


def limit(by, substance, days, version=0):
    return actions.set_open_days(by=by, once=uuid4(), substance=substance, days=days, version=version)


def of_containers(now_text):
    with at(now_text):
        return [one for one in concerns(clock.now()) if one.key.startswith("safety:container:")]


def test_the_last_day_is_the_shops_limit_after_opening(engineer, solvent, shelf):
    """By hand: 1 March and 90 days is 30 May. A note from a fortnight before, care from the day after."""
    limit(engineer, solvent, 90)
    with at("2025-03-01 22:00"):
        one = open_one(engineer, solvent, shelf)
    assert Container.objects.select_related("substance__open_limit").get(pk=one.pk).last_day == date(2025, 5, 30)
    assert of_containers("2025-05-15 12:00") == []
    (soon,) = of_containers("2025-05-16 00:00")
    (still,) = of_containers("2025-05-30 23:59")
    (past,) = of_containers("2025-05-31 00:00")
    assert (soon.grade.word, still.grade.word, past.grade.word) == ("note", "note", "care")
    assert "30 May 2025: the shop uses it for 90 days after opening" in past.reason


def test_its_own_label_counts_before_the_limit(engineer, solvent, shelf):
    limit(engineer, solvent, 90)
    with at("2025-03-01 09:00"):
        open_one(engineer, solvent, shelf, use_by=date(2025, 4, 1))
    (past,) = of_containers("2025-04-02 09:00")
    assert "its label says" in past.reason


def test_a_limit_is_set_changed_and_taken_away(engineer, assistant, solvent):
    with pytest.raises(NotAllowed):
        limit(assistant, solvent, 90)
    with pytest.raises(Refused):
        limit(engineer, solvent, 0)
    limit(engineer, solvent, 90)
    with pytest.raises(Changed):
        limit(engineer, solvent, 60)
    limit(engineer, solvent, 60, version=1)
    assert OpenLimit.objects.get().days == 60
    limit(engineer, solvent, None, version=2)
    assert not OpenLimit.objects.exists()


# Days open ------------------------------------------------------------------------------------------------------------


def stand(key):
    return Meter.objects.get(key=key).stands_at


def test_meters_go_by_the_oldest_open_container(engineer, solvent, shelf):
    care.make_meter("open")
    with at("2025-03-01 09:00"):
        first = open_one(engineer, solvent, shelf)
    with at("2025-03-11 09:00"):
        second = open_one(engineer, solvent, shelf)
        open_one(engineer, places.substance("spirit"), shelf)
    with at("2025-03-21 09:00"):
        assert (stand("open"), stand("open-acetone"), stand("open-spirit")) == (20, 20, 10)
        finish(engineer, first)
        assert (stand("open"), stand("open-acetone")) == (10, 10)
        finish(engineer, second)
        assert (stand("open"), stand("open-acetone"), stand("open-spirit")) == (10, 0, 10)


def test_care_that_gives_the_old_one_to_the_waste(engineer, assistant, solvent, shelf):
    with at("2025-03-01 09:00"):
        one = open_one(engineer, solvent, shelf)
        touches = (WantedTouch("finish-container", solvent.pk),)
        meter = Meter.objects.get(key="open-acetone")
        duty = care.make_duty(engineer, "Throw old acetone out", rule="", meter=meter, meter_amount=60, touches=touches)
        assert duty.due_on == date(2025, 4, 30)
    with at("2025-04-30 10:00"):
        entry = care.do(assistant, duty)
        one.refresh_from_db()
        assert (one.ended_how, one.ended_by, one.ended_note) == ("waste", assistant, "Throw old acetone out")
        assert Duty.objects.get(pk=duty.pk).due_on is None
    with at("2025-04-30 11:00"):
        anyway(duties.strike_entry, by=engineer, entry=entry, note="It was another bottle.")
        one.refresh_from_db()
        assert one.is_open
        assert Duty.objects.get(pk=duty.pk).due_on == date(2025, 4, 30)

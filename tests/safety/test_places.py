"""Places: adding, changing, stopping and resuming one, and what is kept in it."""

from dataclasses import replace
from datetime import date
from uuid import uuid4

import pytest
from django.db import IntegrityError
from django.urls import reverse

from shop.refusal import Changed, Doubtful, NotAllowed, Refused
from shop.safety import actions
from shop.safety.actions import PlaceFacts, Wanted
from shop.safety.models import Kept, Place
from tests.makers import at
from tests.safety.place_makers import keep, make_place, substance

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _spring():
    with at("2025-04-02T10:00+00:00"):
        yield


def add(by, **facts):
    return actions.add_place(by=by, once=uuid4(), facts=PlaceFacts(**{"name": "Cupboard"} | facts))


def change(by, place, **facts):
    told = PlaceFacts(**{"name": place.name} | facts)
    return actions.change_place(by=by, once=uuid4(), place=place, version=place.version, facts=told)


def refused(ask, field=None):
    with pytest.raises(Refused) as no:
        ask()
    assert no.value.field == field
    return no.value.sentence


# Adding and changing --------------------------------------------------------------------------------------------------


def test_a_place_is_written_down_with_all_there_is_to_say(engineer):
    room = make_place(engineer)
    found = add(
        engineer,
        name="  Flammables   cupboard ",
        within=room,
        closed=True,
        has_spark=True,
        volume_m3=0.4,
        limit_ml=20_000.4,
        limit_by="insurer",
        limit_on=date(2024, 5, 1),
        limit_note="policy, page 9",
        note="yellow",
    )
    found.refresh_from_db()
    assert (found.name, found.within, found.closed, found.has_heat, found.has_spark) == (
        "Flammables cupboard",
        room,
        True,
        False,
        True,
    )
    assert (found.volume_l, found.air_changes_h, found.limit_ml, found.limit_by) == (400, None, 20_000, "insurer")
    assert (found.limit_on, found.limit_note, found.note, found.version) == (
        date(2024, 5, 1),
        "policy, page 9",
        "yellow",
        1,
    )


@pytest.mark.parametrize(
    ("facts", "field"),
    [
        ({"name": " "}, "name"),
        ({"name": "x" * 81}, "name"),
        ({"name": "CUTTING room"}, "name"),
        ({"volume_m3": 0.01}, "volume_m3"),
        ({"volume_m3": 2e5}, "volume_m3"),
        ({"air_changes_h": 101.0}, "air_changes_h"),
        ({"air_changes_h": -1.0}, "air_changes_h"),
        ({"closed": True, "air_changes_h": 2.0}, "air_changes_h"),
        ({"limit_by": "fire"}, "limit_ml"),
        ({"limit_on": date(2024, 1, 1)}, "limit_ml"),
        ({"limit_ml": 0.2, "limit_by": "fire"}, "limit_ml"),
        ({"limit_ml": 5000}, "limit_by"),
        ({"limit_ml": 5000, "limit_by": "mayor"}, "limit_by"),
        ({"limit_ml": 5000, "limit_by": "fire", "limit_on": date(2025, 4, 3)}, "limit_on"),
        ({"note": "x" * 301}, "note"),
    ],
)
def test_what_cannot_be_so_is_refused_at_its_field(engineer, facts, field):
    room = make_place(engineer)
    assert refused(lambda: add(engineer, **facts), field)
    assert refused(lambda: change(engineer, make_place(engineer, "Other"), **{"name": "Other"} | facts), field)
    assert set(Place.objects.values_list("name", "version")) == {(room.name, 1), ("Other", 1)}


def test_large_figures_are_asked_about(engineer):
    for facts, key in (({"volume_m3": 1500.0}, "large-volume"), ({"air_changes_h": 30.0}, "many-changes")):
        told = PlaceFacts("Hall", **facts)
        with pytest.raises(Doubtful) as asked:
            actions.add_place(by=engineer, once=uuid4(), facts=told)
        assert [doubt.key for doubt in asked.value.doubts] == [key]
        made = actions.add_place(by=engineer, once=uuid4(), facts=replace(told, name=key), sure=[key])
        with pytest.raises(Doubtful):
            change(engineer, made, **facts)


def test_a_place_lies_within_no_circle(engineer):
    room = make_place(engineer)
    cupboard = make_place(engineer, "Cupboard", within=room)
    shelf = make_place(engineer, "Shelf", within=cupboard)
    assert "within itself" in refused(lambda: change(engineer, room, within=shelf), "within")
    assert "within itself" in refused(lambda: change(engineer, room, within=room), "within")
    assert change(engineer, shelf, within=room).within == room
    deep = room
    for depth in range(8):
        deep = make_place(engineer, f"Box {depth}", within=deep)
    assert "too deep" in refused(lambda: make_place(engineer, "One more", within=deep), "within")


def test_a_stale_change_is_shown_and_not_saved(engineer):
    room = make_place(engineer)
    change(engineer, room, note="first")
    with pytest.raises(Changed):
        change(engineer, room, note="second")
    room.refresh_from_db()
    assert (room.note, room.version) == ("first", 2)


def test_pressed_twice_it_is_one_place(engineer):
    once = uuid4()
    made = [actions.add_place(by=engineer, once=once, facts=PlaceFacts("Cupboard")) for _ in range(2)]
    assert made[0] == made[1]
    assert Place.objects.count() == 1


# What is kept ---------------------------------------------------------------------------------------------------------


def test_what_is_kept_is_all_that_is_named(engineer):
    room = make_place(engineer)
    keep(engineer, room, "blanks", acetone=2500.4, nitrogen=50_000)
    first = Kept.objects.get(substance__slug="acetone")
    keep(engineer, room, acetone=1000)
    assert list(Kept.objects.values_list("pk", "amount")) == [(first.pk, 1000)], "what stays is the same row"
    room.refresh_from_db()
    assert room.version == 3


def test_full_and_empty_cylinders_stand_side_by_side(engineer):
    room = make_place(engineer)
    keep(engineer, room, nitrogen=50_000, empties=("nitrogen",))
    assert sorted(Kept.objects.values_list("empties", "amount")) == [(False, 50_000), (True, None)]


@pytest.mark.parametrize(
    ("slugs", "facts", "field"),
    [
        (("acetone", "acetone"), {}, "kept.1.substance"),
        (("acetone",), {"empties": True}, "kept.0.empties"),
        (("acetone",), {"amount": 0.2}, "kept.0.amount"),
        (("acetone",), {"amount": 1e8}, "kept.0.amount"),
        (("acetone",), {"note": "x" * 121}, "kept.0.note"),
    ],
)
def test_what_cannot_be_kept_so_is_refused_in_its_row(engineer, slugs, facts, field):
    room = make_place(engineer)
    wanted = [Wanted(substance(slug), **facts) for slug in slugs]
    refused(lambda: actions.change_kept(by=engineer, once=uuid4(), place=room, version=1, kept=wanted), field)
    assert not Kept.objects.exists()


def test_the_database_keeps_each_once(engineer):
    room = make_place(engineer)
    keep(engineer, room, acetone=1000)
    with pytest.raises(IntegrityError):
        Kept.objects.create(place=room, substance=substance("acetone"))


def test_of_two_who_write_at_once_one_is_told(engineer):
    room = make_place(engineer)
    keep(engineer, room, acetone=1000)
    with pytest.raises(Changed):
        actions.change_kept(by=engineer, once=uuid4(), place=room, version=1, kept=[])
    assert Kept.objects.count() == 1


# Stopping and resuming ------------------------------------------------------------------------------------------------


def test_a_place_goes_off_the_list_only_once_it_is_empty(engineer):
    room = make_place(engineer)
    cupboard = make_place(engineer, "Cupboard", within=room)
    keep(engineer, cupboard, acetone=1000)

    def stop(place):
        return actions.stop_place(by=engineer, once=uuid4(), place=place)

    assert "still kept in it" in refused(lambda: stop(cupboard))
    assert "lie within it" in refused(lambda: stop(room))
    keep(engineer, cupboard)
    assert not stop(cupboard).is_active
    assert "already" in refused(lambda: stop(cupboard))
    assert not stop(room).is_active
    assert "Put that back first" in refused(lambda: actions.resume_place(by=engineer, once=uuid4(), place=cupboard))
    assert actions.resume_place(by=engineer, once=uuid4(), place=room).is_active
    assert actions.resume_place(by=engineer, once=uuid4(), place=cupboard).is_active
    assert "on the list already" in refused(lambda: actions.resume_place(by=engineer, once=uuid4(), place=cupboard))


def test_nothing_is_put_into_a_place_off_the_list(engineer):
    room = make_place(engineer)
    actions.stop_place(by=engineer, once=uuid4(), place=room)
    room.refresh_from_db()
    assert "not kept any more" in refused(lambda: make_place(engineer, "Cupboard", within=room), "within")
    wanted = [Wanted(substance("acetone"))]
    assert "not kept any more" in refused(
        lambda: actions.change_kept(by=engineer, once=uuid4(), place=room, version=room.version, kept=wanted)
    )


def test_only_engineers_and_the_owner_write_places(owner, assistant, visitor):
    room = make_place(owner)
    for person in (assistant, visitor):
        for ask in (
            lambda by: add(by),
            lambda by: change(by, room),
            lambda by: keep(by, room, "acetone"),
            lambda by: actions.stop_place(by=by, once=uuid4(), place=room),
            lambda by: actions.resume_place(by=by, once=uuid4(), place=room),
        ):
            with pytest.raises(NotAllowed):
                ask(person)
    assert Place.objects.get().version == 1


# Pages ----------------------------------------------------------------------------------------------------------------


def said(answer):
    return " ".join(answer.content.decode().split())


def filled(form, **typed):
    """What a browser would send of the form as it stands."""
    sent = {"once": str(uuid4())}
    for box in form:
        value = box.value()
        if box.name in ("once", "sure") or value in (None, "", False, []):
            continue
        sent[box.name] = "on" if value is True else box.field.prepare_value(value)
    return {name: value for name, value in (sent | typed).items() if value is not None}


def test_a_place_comes_and_is_changed_by_its_pages_in_the_readers_units(engineer, client_of):
    engineer.length_unit, engineer.liquid_unit = "in", "gal"
    engineer.save()
    client = client_of(engineer)
    form = client.get(reverse("safety:add-place")).context["form"]
    typed = {"name": "Store", "volume_m3": "1000", "limit_ml": "10", "limit_by": "fire", "limit_on": "2025-03-01"}
    answer = client.post(reverse("safety:add-place"), filled(form, **typed))
    store = Place.objects.get()
    assert answer.url == store.get_absolute_url()
    assert (store.volume_l, store.limit_ml) == (28_317, 37_854)
    assert "1000 ft³" in said(client.get(answer.url))
    address = reverse("safety:change-place", args=[store.pk])
    form = client.get(address).context["form"]
    assert client.post(address, filled(form, note="by the yard")).url == store.get_absolute_url()
    store.refresh_from_db()
    assert (store.volume_l, store.note, store.version) == (28_317, "by the yard", 2)
    stale = client.post(address, filled(form, note="by the gate"))
    assert stale.status_code == 422
    assert "by the yard" in said(stale)


def test_what_is_kept_is_typed_in_rows_with_a_unit_if_one_likes(engineer, client_of):
    room, client = make_place(engineer), client_of(engineer)
    slugs = ("acetone", "blanks", "nitrogen")
    ids = {slug: substance(slug).pk for slug in slugs}
    address = reverse("safety:change-kept", args=[room.pk])
    more = client.post(address, {"more": "1", "rows": "1", "r0_substance": ids["acetone"], "r0_amount": "2,5"})
    form = more.context["form"]
    assert (more.status_code, form.row_count, form["r0_amount"].value()) == (200, 3, "2,5")
    typed = {"r1_substance": ids["blanks"], "r1_amount": "12 kg", "r2_substance": ids["nitrogen"], "r2_amount": "50"}
    answer = client.post(address, filled(form, r0_substance=ids["acetone"], r0_amount="2,5", **typed))
    assert answer.status_code == 302, said(answer)
    amounts = dict(Kept.objects.values_list("substance__slug", "amount"))
    assert amounts == {"acetone": 2500, "blanks": 12_000, "nitrogen": 50_000}
    page = said(client.get(room.get_absolute_url()))
    for words in ("2.5 l", "12.00 kg", "50 l of water volume"):
        assert words in page
    again = client.post(address, filled(client.get(address).context["form"]))
    assert again.status_code == 302, said(again)
    assert dict(Kept.objects.values_list("substance__slug", "amount")) == amounts, "opened and saved it stays"


@pytest.mark.parametrize("units", [("mm", "l"), ("in", "gal")])
@pytest.mark.parametrize("amount", [1, 999, 1001, 2505, 37_854])
def test_an_amount_opened_and_saved_stays_to_the_millilitre(engineer, client_of, units, amount):
    engineer.length_unit, engineer.liquid_unit = units
    engineer.save()
    room, client = make_place(engineer), client_of(engineer)
    keep(engineer, room, acetone=amount, blanks=amount, nitrogen=100 * amount)
    before = list(Kept.objects.order_by("pk").values_list("pk", "amount"))
    address = reverse("safety:change-kept", args=[room.pk])
    assert client.post(address, filled(client.get(address).context["form"])).status_code == 302
    assert list(Kept.objects.order_by("pk").values_list("pk", "amount")) == before


def test_a_row_that_is_wrong_says_so_in_the_row_and_keeps_all(engineer, client_of):
    room, client = make_place(engineer), client_of(engineer)
    keep(engineer, room, acetone=1000)
    address = reverse("safety:change-kept", args=[room.pk])
    form = client.get(address).context["form"]
    for typed, box in (
        ({"r0_amount": "much"}, "r0_amount"),
        ({"r1_amount": "3"}, "r1_substance"),
        ({"r1_substance": substance("acetone").pk}, "r1_substance"),
        ({"r0_empties": "on"}, "r0_empties"),
    ):
        answer = client.post(address, filled(form, **typed))
        assert answer.status_code == 422
        assert list(answer.context["form"].errors) == [box]
    assert Kept.objects.get().amount == 1000


def test_less_than_nothing_is_said_without_a_row_of_zeros(engineer, client_of):
    engineer.liquid_unit = "gal"
    engineer.save()
    room, client = make_place(engineer), client_of(engineer)
    keep(engineer, room, acetone=1000)
    address = reverse("safety:change-kept", args=[room.pk])
    answer = client.post(address, filled(client.get(address).context["form"], r0_amount="-3"))
    assert "That is below 0 US gal." in said(answer)


def test_a_place_off_the_list_shows_the_way_back(engineer, client_of):
    room, client = make_place(engineer), client_of(engineer)
    actions.stop_place(by=engineer, once=uuid4(), place=room)
    assert "off the list" in said(client.get(room.get_absolute_url()))
    assert room.name in said(client.get(reverse("safety:places")))


def test_pages_carry_the_caution_and_never_more_than_a_few_queries(
    engineer, visitor, client_of, django_assert_max_num_queries
):
    room = make_place(engineer, volume_m3=48.0, has_heat=True)
    inner = [make_place(engineer, f"Cupboard {n}", within=room) for n in range(12)]
    for place in inner:
        keep(engineer, place, "blanks", "descaler", acetone=1000)
    keep(engineer, room, nitrogen=50_000)
    client = client_of(visitor)
    for path in (reverse("safety:places"), room.get_absolute_url(), inner[0].get_absolute_url()):
        with django_assert_max_num_queries(12):
            page = said(client.get(path))
        assert "replaces neither the supplier's safety data sheet" in page
        assert "Change the place" not in page, "a visitor reads"

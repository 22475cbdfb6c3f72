"""What stands together and should not, flammable liquid against the shop's limit, and what is said of both."""

from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.db import DatabaseError, transaction
from django.urls import reverse

from shop import clock
from shop.concern import Grade
from shop.refusal import NotAllowed, Refused
from shop.safety import actions, queries
from shop.safety.concerns import concerns
from shop.safety.models import FindingAnswer, Place
from tests.makers import at
from tests.safety.place_makers import keep, make_place, substance

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _spring():
    with at("2025-04-02T10:00+00:00"):
        yield


def worries(kind):
    return [one for one in concerns(clock.now()) if one.key.startswith(f"safety:{kind}:")]


def answer(by, key, because="They stand 8 m apart.", days=30):
    until = clock.today() + timedelta(days=days)
    return actions.answer_finding(by=by, once=uuid4(), key=key, because=because, until=until)


# Together -------------------------------------------------------------------------------------------------------------


def test_a_concern_names_the_two_the_place_the_reason_and_the_source(engineer):
    keep(engineer, make_place(engineer, "Blank store"), "blanks", "descaler")
    (one,) = worries("apart")
    assert (one.grade, one.headline) == (Grade.CARE, "Blanks with Descaler")
    assert "“Blank store” holds Blanks and Descaler" in one.reason
    assert "Acid breaks nitrocellulose down" in one.reason
    assert "International Chemical Safety Card 1560" in one.reason
    assert one.link == Place.objects.get().get_absolute_url()


def test_what_lies_within_is_named_with_both_places(engineer):
    room = make_place(engineer)
    shelf = make_place(engineer, "Shelf", within=room)
    keep(engineer, room, "descaler")
    keep(engineer, shelf, "blanks")
    (one,) = worries("apart")
    assert one.reason.startswith("“Shelf” holds Blanks, and “Cutting room”, around it, Descaler. ")
    keep(engineer, room, "blanks")
    keep(engineer, shelf, "descaler")
    (one,) = worries("apart")
    assert one.reason.startswith("“Cutting room” holds Blanks, and “Shelf”, within it, Descaler. ")


def test_what_nobody_could_be_read_to_ask_for_is_a_note(engineer):
    room = make_place(engineer)
    lye = substance("spirit")
    lye.groups = ["base", "a group of yesterday"]
    lye.save()
    keep(engineer, room, "descaler", "spirit")
    (one,) = worries("apart")
    assert (one.grade, one.headline) == (Grade.NOTE, "Descaler with Cleaning spirit")
    assert "no source was read" in one.reason
    keep(engineer, room, "blanks", "acetone")
    (one,) = worries("apart")
    assert one.grade is Grade.NOTE
    assert "Common practice, no source" in one.reason


def test_heat_and_a_closed_cupboard_are_found_by_what_the_place_is(engineer):
    cupboard = make_place(engineer, "Cupboard", closed=True)
    keep(engineer, cupboard, nitrogen=50_000)
    assert [one.headline for one in worries("apart")] == ["Nitrogen where there is air that does not change"]
    keep(engineer, make_place(engineer, "Bench", has_heat=True), "blanks")
    assert "Blanks where there is something that gets hot or burns" in [one.headline for one in worries("apart")]
    shelf = make_place(engineer, "Shelf", within=cupboard)
    keep(engineer, cupboard)
    keep(engineer, shelf, nitrogen=50_000)
    reasons = [one.reason for one in worries("apart")]
    assert any(words.startswith("“Shelf” holds Nitrogen, and “Cupboard”, around it, air that") for words in reasons)


def test_full_by_empty_cylinders(engineer):
    keep(engineer, make_place(engineer), nitrogen=50_000, empties=("nitrogen",))
    assert [one.headline for one in worries("apart")] == ["Nitrogen with Nitrogen, empty cylinders"]


def test_a_substance_named_in_two_groups_of_a_place_off_the_list_worries_nobody(engineer):
    store = make_place(engineer, "Blank store")
    keep(engineer, store, "blanks", "descaler")
    store.is_active = False
    store.save()
    assert worries("apart") == []


# Answers --------------------------------------------------------------------------------------------------------------


def test_an_answer_lets_the_concern_rest_until_its_day_has_passed(engineer, client_of):
    keep(engineer, make_place(engineer, "Blank store"), "blanks", "descaler")
    key = worries("apart")[0].key.removeprefix("safety:apart:")
    answer(engineer, key)
    assert worries("apart") == []
    page = client_of(engineer).get(reverse("safety:places")).content.decode()
    assert "known until 2 May 2025" in page
    assert "They stand 8 m apart." in page
    with at("2025-05-02T22:00+00:00"):
        assert worries("apart") == [], "through that day"
    with at("2025-05-03T10:00+00:00"):
        assert len(worries("apart")) == 1


def test_the_latest_answer_counts_and_all_are_kept(engineer, client_of):
    keep(engineer, make_place(engineer, "Blank store"), "blanks", "descaler")
    key = worries("apart")[0].key.removeprefix("safety:apart:")
    answer(engineer, key, "First.", days=90)
    answer(engineer, key, "Second.", days=0)
    with at("2025-04-03T10:00+00:00"):
        assert len(worries("apart")) == 1
    page = client_of(engineer).get(reverse("safety:answer-finding", args=[key])).content.decode()
    assert "First." in page
    assert "Second." in page


def test_an_answer_is_to_what_stands_there_and_to_nothing_else(engineer):
    store = make_place(engineer, "Blank store")
    keep(engineer, store, "blanks", "descaler")
    key = worries("apart")[0].key.removeprefix("safety:apart:")
    answer(engineer, key)
    keep(engineer, store, "blanks")
    keep(engineer, store, "blanks", "descaler")
    assert len(worries("apart")) == 1, "taken away and brought back, it is asked anew"
    with pytest.raises(Refused, match="do not stand together any more"):
        answer(engineer, key)
    for typed, field in (({"because": " "}, "because"), ({"days": -1}, "until"), ({"days": 367}, "until")):
        with pytest.raises(Refused) as no:
            answer(engineer, worries("apart")[0].key.removeprefix("safety:apart:"), **typed)
        assert no.value.field == field


def test_an_answer_is_never_changed(engineer):
    keep(engineer, make_place(engineer, "Blank store"), "blanks", "descaler")
    answer(engineer, worries("apart")[0].key.removeprefix("safety:apart:"))
    with pytest.raises(DatabaseError), transaction.atomic():
        FindingAnswer.objects.update(because="Nothing.")
    with pytest.raises(DatabaseError), transaction.atomic():
        FindingAnswer.objects.all().delete()


def test_who_may_answer_and_once(engineer, assistant, visitor, client_of):
    keep(engineer, make_place(engineer, "Blank store"), "blanks", "descaler")
    key = worries("apart")[0].key.removeprefix("safety:apart:")
    for person in (assistant, visitor):
        with pytest.raises(NotAllowed):
            answer(person, key)
    address = reverse("safety:answer-finding", args=[key])
    sent = {"once": str(uuid4()), "because": "Parted by a wall.", "until": "2025-06-01"}
    client = client_of(engineer)
    assert [client.post(address, sent).status_code for _ in range(2)] == [302, 302]
    assert FindingAnswer.objects.get().by == engineer
    assert client.get(reverse("safety:answer-finding", args=["nothing-1.1-2.2"])).status_code == 404
    wrong = client.post(address, {**sent, "once": str(uuid4()), "until": "2020-01-01"})
    assert wrong.status_code == 422
    assert "Give a day from today on" in wrong.content.decode()


# Flammable liquid -----------------------------------------------------------------------------------------------------


def test_a_total_counts_everything_within_and_only_categories_1_to_3(engineer):
    room = make_place(engineer)
    cupboard = make_place(engineer, "Cupboard", within=room)
    keep(engineer, room, "descaler", spirit=500, nitrogen=50_000)
    keep(engineer, cupboard, "alcohol", acetone=2500)
    layout = queries.layout()
    total = layout.total(layout.places[room.pk])
    assert (total.ml, total.by_category, total.unknown) == (3000, {2: 2500, 3: 500}, 1)
    assert (total.ml_of((1,)), total.ml_of((2, 3, 4))) == (0, 3000)
    assert layout.total(layout.places[cupboard.pk]).ml == 2500


@pytest.mark.parametrize(
    ("held", "grade"), [(7999, None), (8000, Grade.NOTE), (10_000, Grade.NOTE), (10_001, Grade.CARE)]
)
def test_over_the_limit_is_care_and_near_it_a_note(engineer, held, grade):
    room = make_place(engineer, limit_ml=10_000, limit_by="landlord", limit_on=date(2024, 5, 1))
    keep(engineer, make_place(engineer, "Cupboard", within=room), acetone=held)
    found = worries("flammables")
    assert [one.grade for one in found] == ([] if grade is None else [grade])
    for one in found:
        assert "set by the landlord on 1 May 2024" in one.reason
        assert "The local fire code governs" in one.reason
        assert {quantity.kind for quantity in one.quantities} == {"liquid"}
    assert worries("no-limit") == []


def test_flammables_under_no_limit_are_a_note_at_the_outermost_place(engineer):
    room = make_place(engineer)
    cupboard = make_place(engineer, "Cupboard", within=room)
    keep(engineer, cupboard, acetone=100)
    keep(engineer, room, alcohol=100)
    (one,) = worries("no-limit")
    assert (one.grade, one.headline) == (Grade.NOTE, "Cutting room: flammable liquid, and no limit written down")
    cupboard = make_place(engineer, "Other", limit_ml=5000, limit_by="shop")
    keep(engineer, cupboard, acetone=100)
    assert len(worries("no-limit")) == 1


def test_a_place_shows_its_share_who_set_the_limit_and_the_published_figures_as_reference(engineer, client_of):
    room = make_place(engineer, limit_ml=10_000, limit_by="fire", limit_on=date(2024, 5, 1), limit_note="letter 12")
    keep(engineer, room, "alcohol", acetone=2500)
    page = " ".join(client_of(engineer).get(room.get_absolute_url()).content.decode().split())
    assert "25 % of 10.00 l, set by the fire authority on 1 May 2024 (letter 12)" in page
    assert "1 kind more without an amount written down" in page
    assert "29 CFR 1910.106(e)(2)(ii)(b)" in page
    assert "The local fire code governs" in page
    assert "454.2" in page


def test_worries_are_the_same_by_the_one_query_as_by_the_page(engineer):
    room = make_place(engineer, has_heat=True)
    keep(engineer, make_place(engineer, "Cupboard", within=room, closed=True), "blanks", "acetone", nitrogen=50_000)
    told = {one.key.removeprefix("safety:apart:") for one in worries("apart")}
    assert told == {one.key for one in queries.layout().together}
    assert len(told) == 7


def test_all_worries_are_one_query_however_much_is_kept(engineer, django_assert_num_queries):
    for number in range(6):
        keep(engineer, make_place(engineer, f"Cupboard {number}"), "blanks", "descaler", acetone=100)
    now = clock.now()
    with django_assert_num_queries(2):  # all of safety's, and the room's units
        found = concerns(now)
    assert sum(one.key.startswith(("safety:apart:", "safety:no-limit:")) for one in found) == 6 * 3

"""How many blanks to have, in a room that has cut few sides: no absurd number, and what is not known is said."""

from collections.abc import Callable
from uuid import uuid4

import pytest
from django.test import Client

from shop import clock
from shop.cutting import actions, plans
from shop.cutting.models import Booking, PlanFigures
from shop.cutting.queries import BlanksNeeded, day_plan
from shop.people.models import Person
from shop.refusal import NotAllowed, Refused
from tests.cutting.makers import Bench, address, cut, make_bench, make_booking, once, text
from tests.cutting.test_plan_pages import FIGURES
from tests.safety.papers import words

pytestmark = pytest.mark.django_db

ClientOf = Callable[[Person], Client]


def needed_today() -> BlanksNeeded:
    (one,) = day_plan(clock.today(), clock.today()).blanks
    return one


def reject(bench: Bench, times: int) -> None:
    for _ in range(times):
        cut(bench, outcome="rejected", reject_reason=bench.reason)


def guess(bench: Bench, share: float | None) -> None:
    row = plans.figures()
    actions.change_plan_figures(
        by=bench.engineer, once=once(), version=row.version, **FIGURES | {"confidence": 0.95, "rejects_guess": share}
    )


def everywhere(bench: Bench, booking: Booking, client: Client) -> list[str]:
    """What the three places say: the booking, the day, and the sheet."""
    sheet = client.get(address("cut-sheet-pdf", booking.wanted.get(label="A").pk))
    return [
        text(client.get(address("booking", booking.pk))),
        text(client.get(address("day-plan"))),
        " ".join(" ".join(words(sheet.content)).split()),
    ]


def test_a_first_booking_in_an_empty_room_asks_for_a_blank_a_side(bench: Bench, client_of: ClientOf) -> None:
    booking = make_booking(bench.engineer)
    one = needed_today()
    assert (one.share, one.needed, one.at_least, one.spare, one.missing, one.chance) == (None, None, 2, 0, 0, None)
    on_booking, on_day, on_sheet = everywhere(bench, booking, client_of(bench.engineer))
    for page in (on_booking, on_day):
        assert "<b>2</b> <span>14 inch blanks, and none counted for rejects</span>" in page
        assert "One for each side. 300 may be used. Nothing is known yet of this room's rejects." in page
        assert "From 10 sides on they tell" in page
        assert "Or give your own guess" in page
        assert "confidence." not in page.split("blanks-needed")[1].split("</div>")[0]
    assert "With as many rejects" not in on_day
    assert "One for this side; too little is known yet of rejects to name more" in on_sheet
    assert "at hand, so that" not in on_sheet


def test_too_few_blanks_are_told_as_short_of_one_a_side(client_of: ClientOf) -> None:
    bench = make_bench(blanks=1)
    booking = make_booking(bench.engineer)
    assert needed_today().missing == 1
    assert "<b>1 may be used: 1 short.</b>" in text(client_of(bench.engineer).get(address("booking", booking.pk)))


@pytest.mark.parametrize(
    ("rejects", "good", "said"),
    [
        (1, 0, "1 of 1 side on blanks of that kind was rejected: that is too little to tell"),
        (3, 0, "3 of 3 sides on blanks of that kind were rejected: that is too little to tell"),
        (0, 1, "0 of 1 side on blanks of that kind were rejected: that is too little to tell"),
    ],
)
def test_a_side_or_three_tell_nothing(bench: Bench, client_of: ClientOf, rejects: int, good: int, said: str) -> None:
    booking = make_booking(bench.engineer)
    reject(bench, rejects)
    for _ in range(good):
        cut(bench)
    one = needed_today()
    assert (one.share, one.at_least) == (None, 2)
    on_booking, on_day, on_sheet = everywhere(bench, booking, client_of(bench.engineer))
    assert said in on_booking
    assert said in on_day
    assert "too little is known yet" in on_sheet


def test_the_rooms_own_guess_stands_in(bench: Bench, client_of: ClientOf) -> None:
    booking = make_booking(bench.engineer)
    guess(bench, 0.1)
    one = needed_today()
    assert (one.needed, one.spare) == (3, 1)
    on_booking, on_day, on_sheet = everywhere(bench, booking, client_of(bench.engineer))
    for page in (on_booking, on_day):
        assert "2 sides and 1 for reject, so that all come good with" in page
        assert "guess of 10&nbsp;% counts as 8 sides." in page.replace("\u00a0", "&nbsp;")
    assert "10&nbsp;% of sides" in on_day.replace("\u00a0", "&nbsp;")
    assert "Have 2 at hand, so that this side comes good" in on_sheet


@pytest.mark.parametrize(("rejects", "good"), [(1, 0), (3, 0), (0, 1)])
def test_with_a_guess_a_side_or_three_shift_it_and_no_more(bench: Bench, rejects: int, good: int) -> None:
    make_booking(bench.engineer)
    guess(bench, 0.1)
    before = needed_today().needed
    assert before == 3
    reject(bench, rejects)
    for _ in range(good):
        cut(bench)
    found = needed_today().needed
    assert found is not None
    assert (before if rejects else 2) <= found <= 12


def test_from_ten_sides_on_the_room_tells_itself(bench: Bench) -> None:
    make_booking(bench.engineer)
    for _ in range(8):
        cut(bench)
    reject(bench, 1)
    assert needed_today().needed is None
    cut(bench)
    one = needed_today()
    assert one.counted == 10
    assert one.needed is not None
    assert 3 <= one.needed <= 5


def test_a_lot_of_which_all_is_rejected_gets_no_number(client_of: ClientOf) -> None:
    bench = make_bench(blanks=20)
    booking = make_booking(bench.engineer)
    reject(bench, 12)
    one = needed_today()
    assert (one.needed, one.is_hopeless, one.spare) == (None, True, 0)
    on_booking, on_day, on_sheet = everywhere(bench, booking, client_of(bench.engineer))
    assert "more than 12 blanks would be wanted for 2 sides" in on_booking
    assert "With as many rejects" not in on_day
    assert "nearly all of its sides were rejected: take another lot" in on_sheet


def test_the_guess_is_given_among_the_figures_and_taken_back(
    bench: Bench, client_of: ClientOf, assistant: Person
) -> None:
    with pytest.raises(NotAllowed):
        actions.change_plan_figures(by=assistant, once=once(), version=1, **FIGURES | {"rejects_guess": 0.1})
    for wrong in (0.0, 0.51, -1.0, float("nan")):
        with pytest.raises(Refused) as no:
            guess(bench, wrong)
        assert no.value.field == "rejects_guess"
    client = client_of(bench.engineer)
    page = text(client.get(address("change-plan-figures")))
    assert "Of how many sides do you expect that they are rejected?" in page
    facts = {name: str(value) for name, value in FIGURES.items()} | {"between_s": "15", "confidence": "95"}
    for typed, kept in (("7,5", 0.075), ("", None)):
        version = plans.figures().version
        posted = {**facts, "once": str(uuid4()), "version": version, "rejects_guess": typed}
        assert client.post(address("change-plan-figures"), posted).status_code == 302
        assert PlanFigures.objects.get().rejects_guess == kept
    refused = client.post(
        address("change-plan-figures"), {**facts, "once": str(uuid4()), "version": 3, "rejects_guess": "80"}
    )
    assert refused.status_code == 422
    assert "That is above 50" in text(refused)

"""The pages of cutting: who may open them, what they show, what a refused form keeps, how many queries they take."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse

from shop import clock
from shop.cutting import actions
from shop.cutting.actions import WantedSide
from shop.cutting.models import Booking, Fitting, Life, Side, Stylus
from shop.stock import actions as stock
from shop.stock.models import Lot
from tests.cutting.makers import cut, make_bench, make_booking, make_stylus, once
from tests.makers import at
from tests.stock.makers import make_item, make_lot

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench(engineer):
    with at("2025-03-03 08:00"):
        made = make_bench(engineer, blanks=300)
    with at("2025-03-03 10:00"):
        yield made


def address(name, *args):
    return reverse(f"cutting:{name}", args=args)


def text(answer):
    return answer.content.decode()


READING = (
    "sides",
    "side",
    "bookings",
    "booking",
    "plan-side",
    "styli",
    "stylus",
    "stylus-kinds",
    "reject-reasons",
    "lathes",
)
WRITING = {
    "log-side": "assistant",
    "withdraw-side": "assistant",
    "add-booking": "assistant",
    "change-booking": "assistant",
    "finish-booking": "assistant",
    "reopen-booking": "assistant",
    "cancel-booking": "engineer",
    "add-stylus": "assistant",
    "fit-stylus": "assistant",
    "take-off-stylus": "assistant",
    "retire-stylus": "assistant",
    "reinstate-stylus": "engineer",
    "add-stylus-kind": "engineer",
    "change-stylus-kind": "engineer",
    "add-reject-reason": "engineer",
    "change-reject-reason": "engineer",
    "add-lathe": "engineer",
    "change-lathe": "engineer",
    "change-limits": "engineer",
}


@pytest.fixture
def addresses(bench):
    booking = make_booking(bench.engineer)
    side = cut(bench, wanted=booking.wanted.first())
    keys = {
        "side": side.pk,
        "booking": booking.pk,
        "stylus": bench.stylus.pk,
        "stylus-kind": bench.kind.pk,
        "reject-reason": bench.reason.pk,
        "lathe": bench.lathe.pk,
    }

    def of(name):
        about = name.partition("-")[2] if "-" in name else name
        one = {"off-stylus": "stylus"}.get(about, about)
        takes = name not in ("log-side", "plan-side", "change-limits") and not name.startswith("add-")
        return address(name, keys[one]) if takes and one in keys else address(name)

    return {name: of(name) for name in (*READING, *WRITING)}


def test_every_page_opens_for_an_engineer(addresses, client_of, engineer):
    client = client_of(engineer)
    for name, where in addresses.items():
        answer = client.get(where)
        assert answer.status_code == 200, name
        assert text(answer).count("<h1") == 1, name
        assert "style=" not in text(answer), name
        assert "Error:" not in text(answer), name


def test_a_visitor_reads_everything_and_writes_nothing(addresses, client_of, visitor):
    client = client_of(visitor)
    for name in READING:
        page = text(client.get(addresses[name]))
        for hidden in WRITING:
            assert f'href="{addresses[hidden]}"' not in page, (name, hidden)
    before = Side.objects.count(), Booking.objects.count(), Fitting.objects.count()
    for name in WRITING:
        assert client.get(addresses[name]).status_code == 403, name
        assert client.post(addresses[name], {"once": uuid4()}).status_code == 403, name
    assert (Side.objects.count(), Booking.objects.count(), Fitting.objects.count()) == before


def test_an_assistant_is_kept_from_what_is_for_engineers(addresses, client_of, assistant):
    client = client_of(assistant)
    for name, least in WRITING.items():
        expected = 403 if least == "engineer" or name == "withdraw-side" else 200
        assert client.get(addresses[name]).status_code == expected, name


def test_a_stranger_is_sent_to_sign_in(addresses, client):
    for name, where in addresses.items():
        for answer in (client.get(where), client.post(where)):
            assert answer.status_code == 302, name
            assert reverse("people:sign-in") in answer.url


def test_wrong_methods_are_refused(addresses, client_of, engineer):
    client = client_of(engineer)
    for name in READING:
        assert client.post(addresses[name]).status_code == 405, name
    for name in WRITING:
        assert client.put(addresses[name]).status_code == 405, name
        assert client.delete(addresses[name]).status_code == 405, name


def test_a_press_without_a_token_saves_nothing(addresses, client_of, engineer):
    client = client_of(engineer)
    for name in WRITING:
        answer = client.post(addresses[name], {"reason": "worn", "name": "X", "note": ""})
        assert answer.status_code == 422, name
    assert Stylus.objects.get().retired_at is None


def test_what_is_not_there_is_not_found(client_of, engineer, bench):
    client = client_of(engineer)
    for name in ("side", "booking", "stylus", "withdraw-side", "change-booking", "fit-stylus", "change-lathe"):
        assert client.get(address(name, 99999)).status_code == 404


# Logging a side -------------------------------------------------------------------------------------------------------


def typed(bench, **other):
    """What the page posts for a good side of 20 minutes."""
    facts = {
        "once": str(uuid4()),
        "wanted": "",
        "outcome": "good",
        "cut_s": "20:00",
        "stylus": str(Fitting.objects.get(off_at=None).pk),
        "lot": str(bench.lot.pk),
        "disc_in": "12",
        "speed": "33",
        "pitch_um": "203",
        "width_um": "56",
    }
    return facts | other


def test_the_page_has_everything_filled_in_for_the_next_side(bench, client_of, assistant):
    make_booking(bench.engineer, [WantedSide("A", 1290), WantedSide("B", 1000)], code="B-7")
    first = make_lot(bench.engineer, bench.item, 2, code="EARLY", best_before=clock.today() + timedelta(days=9))
    page = text(client_of(assistant).get(address("log-side")))
    assert "B-7 side A" in page
    assert 'value="21:30"' in page
    assert f'<option value="{first.pk}" selected>14 inch · EARLY · 2 left · until 12 Mar 2025' in page
    assert "R-1 in Lathe, 0.0 h" in page
    assert "B-7 side B, 16:40" in page


@pytest.mark.parametrize("play_s", range(60, 1660, 73))
def test_what_is_filled_in_goes_through_as_it_stands(bench, client_of, assistant, play_s):
    """Every length that fits is booked, opened and sent back: rounding for the page must not make it too long."""
    booking = make_booking(bench.engineer, [WantedSide("A", play_s)])
    client = client_of(assistant)
    form = client.get(address("log-side")).context["form"]
    posted = {name: form[name].value() for name in form.fields if form[name].value() is not None}
    done = client.post(address("log-side"), posted | {"once": uuid4(), "outcome": "good"})
    assert done.status_code == 302, text(done)
    booking.refresh_from_db()
    assert booking.finished_at is not None


def test_logging_by_the_page_tells_what_it_did(bench, client_of, assistant):
    booking = make_booking(bench.engineer, code="B-7")
    a, b = booking.wanted.all()
    client = client_of(assistant)
    answer = client.post(address("log-side"), typed(bench, wanted=a.pk, cut_text="B7 A"), follow=True)
    page = text(answer)
    side = Side.objects.get()
    assert answer.redirect_chain == [(side.get_absolute_url(), 302)]
    assert "B-7 A is logged: good. One blank of lot L1 used, 299 left; 20:00 on R-1, now at 0.3 h; about 0.55 g" in page
    assert "B7 A" in page
    assert f"?wanted={b.pk}" in page
    page = text(client.post(address("log-side"), typed(bench, wanted=b.pk), follow=True))
    assert "booking B-7 is finished" in page


def test_posted_twice_is_one_side(bench, client_of, assistant):
    client, once_only = client_of(assistant), typed(bench)
    first, second = (client.post(address("log-side"), once_only) for _ in range(2))
    assert first.url == second.url
    assert Side.objects.count() == 1
    assert Lot.objects.get(pk=bench.lot.pk).on_hand == 299
    other = client.post(address("log-side"), once_only | {"cut_s": "19:00"})
    assert other.status_code == 409
    assert Side.objects.count() == 1


@pytest.mark.parametrize(
    ("other", "words"),
    [
        ({"cut_s": ""}, "Fill this in."),
        ({"cut_s": "twenty"}, "not a number"),
        ({"cut_s": "21.30"}, "Is that 21:30, or 21.3 minutes?"),
        ({"cut_s": "99999999999999"}, "too large"),
        ({"cut_s": "30:00"}, "does not fit a 12 inch record"),
        ({"pitch_um": "abc"}, "not a number"),
        ({"pitch_um": "9999"}, "lines per inch"),
        ({"pitch_um": "700"}, "would overlap"),
        ({"width_um": "1,234"}, "Write it that way"),
        ({"width_um": "9e99"}, "is not a number"),
        ({"width_um": "5 furlong"}, "not a unit"),
        ({"at": "2999-01-01T10:00"}, "in the future"),
        ({"at": "yesterday"}, "not a time"),
        ({"at": "2024-03-31T01:30"}, ""),
        ({"outcome": "rejected"}, "Say why it was rejected"),
        ({"outcome": ""}, "Choose one."),
        ({"lot": ""}, "Choose one."),
        ({"lot": "999999"}, "not one of the available choices"),
        ({"stylus": ""}, "Choose one."),
        ({"disc_in": "13"}, "not one of the available choices"),
    ],
)
def test_bad_input_gets_a_sentence_keeps_what_was_typed_and_writes_nothing(bench, client_of, assistant, other, words):
    posted = typed(bench, cut_text="<b>Side</b> one", note="kept") | other
    answer = client_of(assistant).post(address("log-side"), posted)
    page = text(answer)
    assert answer.status_code == 422
    assert words in page
    assert page.count('class="wrong"') == 1
    assert "<title>Error: " in page
    assert "&lt;b&gt;Side&lt;/b&gt; one" in page
    assert "<b>Side</b>" not in page
    assert 'value="kept"' in page
    assert f'value="{posted["once"]}"' in page
    assert not Side.objects.exists()


def test_a_comma_for_a_decimal_point_is_accepted(bench, client_of, assistant):
    assert (
        client_of(assistant).post(address("log-side"), typed(bench, cut_s="20,5", width_um="56,5")).status_code == 302
    )
    assert (Side.objects.get().cut_s, Side.objects.get().width_um) == (1230, 56.5)


def test_a_doubt_is_asked_once_and_then_goes_through(bench, client_of, assistant):
    booking = make_booking(bench.engineer)
    posted = typed(bench, wanted=booking.wanted.first().pk, cut_s="10:00")
    client = client_of(assistant)
    asked = client.post(address("log-side"), posted)
    assert asked.status_code == 422
    [doubt] = asked.context["form"].doubts
    assert f'name="sure" value="{doubt.key}"' in text(asked)
    assert client.post(address("log-side"), posted | {"sure": doubt.key}).status_code == 302


def test_an_engineer_finds_a_box_to_overrule_once_refused(bench, client_of, engineer, assistant):
    posted = typed(bench, cut_s="30:00")
    assert 'name="overrule"' not in text(client_of(engineer).get(address("log-side")))
    assert 'name="overrule"' in text(client_of(engineer).post(address("log-side"), posted))
    refused = client_of(assistant).post(address("log-side"), posted | {"overrule": "because", "once": str(uuid4())})
    assert refused.status_code == 422
    assert 'name="overrule"' not in text(refused)
    done = client_of(engineer).post(
        address("log-side"), posted | {"overrule": "run into the label", "once": str(uuid4())}, follow=True
    )
    assert "run into the label" in text(done)


def test_the_last_blank_gone_while_the_page_was_open_is_told(bench, client_of, assistant):
    lot = make_lot(bench.engineer, bench.item, 1, code="LAST")
    posted = typed(bench, lot=lot.pk)
    stock.use_stock(by=bench.engineer, once=once(), lot=lot, quantity=1, sure=[f"out-of-turn:{bench.lot.pk}"])
    answer = client_of(assistant).post(address("log-side"), posted)
    assert answer.status_code == 422
    assert "none left in lot LAST" in text(answer)


def test_a_booking_finished_while_the_page_was_open_is_told(bench, client_of, assistant):
    booking = make_booking(bench.engineer, [WantedSide("A", 1200)], code="B-7")
    posted = typed(bench, wanted=booking.wanted.get().pk)
    cut(bench, wanted=booking.wanted.get())
    answer = client_of(assistant).post(address("log-side"), posted)
    assert answer.status_code == 422
    assert "Booking B-7 was finished at 10:00" in text(answer)


def test_a_stylus_retired_while_the_page_was_open_is_told(bench, client_of, assistant):
    posted = typed(bench)
    actions.retire_stylus(by=bench.engineer, once=once(), stylus=bench.stylus, reason="chipped")
    with at("2025-03-03 10:10"):
        answer = client_of(assistant).post(address("log-side"), posted)
    assert answer.status_code == 422
    assert "R-1 was retired at 10:00" in text(answer)


def test_the_page_says_what_to_do_first(engineer, client_of):
    page = text(client_of(engineer).get(address("log-side")))
    assert "No stylus is in a head" in page
    assert "No blank" in page


@pytest.mark.parametrize("asked", ["999999", "abc", "-1", "9" * 40, "none", ""])
def test_any_wanted_in_the_address_gives_a_page(bench, client_of, assistant, asked):
    assert client_of(assistant).get(address("log-side"), {"wanted": asked}).status_code == 200


# One side -------------------------------------------------------------------------------------------------------------


def test_a_side_shows_what_left_where(bench, client_of, assistant):
    cut(bench, cut_s=3000, disc_in=12, pitch_um=80.0, width_um=50.0, speed="16")
    side = cut(bench)
    page = text(client_of(assistant).get(side.get_absolute_url()))
    assert "<b>298</b> <span>left in the lot then</span>" in page
    assert "<b>1.2</b> <span>h, from 0.8 h</span>" in page
    assert "<b>0.55</b> <span>g to the trap</span>" in page
    assert "203 lines per inch (125 µm)" in page


def test_withdrawing_by_the_page(bench, client_of, engineer):
    side = cut(bench)
    client = client_of(engineer)
    where = address("withdraw-side", side.pk)
    assert client.post(where, {"once": uuid4(), "reason": ""}).status_code == 422
    page = text(client.post(where, {"once": uuid4(), "reason": "entered <twice>"}, follow=True))
    assert "Its blank is back in lot L1" in page
    assert "entered &lt;twice&gt;" in page
    assert f'href="{where}"' not in page
    assert "withdrawn" in text(client.get(address("sides")))


def test_the_one_who_logged_it_may_withdraw_for_ten_minutes(bench, client_of, assistant):
    side = cut(bench, assistant)
    client, where = client_of(assistant), address("withdraw-side", side.pk)
    assert f'href="{where}"' in text(client.get(side.get_absolute_url()))
    with at("2025-03-03 10:11"):
        assert f'href="{where}"' not in text(client.get(side.get_absolute_url()))
        assert client.get(where).status_code == 403
        assert client.post(where, {"once": uuid4(), "reason": "oops"}).status_code == 403


def test_the_list_narrows(bench, client_of, assistant):
    cut(bench, at=clock.now() - timedelta(minutes=30))
    cut(bench, outcome="rejected", reject_reason=bench.reason, cut_s=100)
    client = client_of(assistant)
    assert text(client.get(address("sides"))).count("<td") == 16
    for asked in (
        {"outcome": "rejected"},
        {"lot": "nope"},
        {"stylus": "r-1", "outcome": "good"},
        {"since": "2025-03-04"},
    ):
        page = text(client.get(address("sides"), asked))
        assert page.count('data-label="Stylus"') == {"rejected": 1, "good": 1}.get(asked.get("outcome"), 0)
    assert client.get(address("sides"), {"since": "0000-99-99", "from": "o-x"}).status_code == 200


# Bookings -------------------------------------------------------------------------------------------------------------


def booking_typed(**other):
    facts = {
        "once": str(uuid4()),
        "rows": "2",
        "code": "B-9",
        "title": "Songs",
        "customer": "",
        "cut_on": "2025-03-07",
        "note": "",
        "disc_in": "12",
        "speed": "33",
        "width_um": "56",
        "land_um": "12",
        "s0_label": "A",
        "s0_play_s": "21:30",
        "s1_label": "B",
        "s1_play_s": "",
    }
    return facts | other


def test_a_booking_is_added_with_rows_that_have_a_length(bench, client_of, assistant):
    posted = booking_typed(s1_play_s="4", s1_disc_in="7", s1_speed="45", s1_width_um="60")
    page = text(client_of(assistant).post(address("add-booking"), posted, follow=True))
    a, b = Booking.objects.get().wanted.all()
    assert (a.play_s, a.disc_in, a.width_um) == (1290, 12, 56.0)
    assert (b.play_s, b.disc_in, b.speed, b.blank_in, b.width_um) == (240, 7, "45", 10, 60.0)
    assert "It fits a 12 inch record" in page
    Booking.objects.all().delete()
    client_of(assistant).post(address("add-booking"), booking_typed())
    assert [side.label for side in Booking.objects.get().wanted.all()] == ["A"]


def test_more_rows_keep_what_was_typed_and_save_nothing(bench, client_of, assistant):
    answer = client_of(assistant).post(address("add-booking"), booking_typed(more="1", title="", s0_play_s="x1"))
    page = text(answer)
    assert answer.status_code == 200
    assert 'name="s3_play_s"' in page
    assert 'name="rows" value="4"' in page
    assert 'value="x1"' in page
    assert "<title>Error" not in page
    assert not Booking.objects.exists()


@pytest.mark.parametrize(
    ("other", "words"),
    [
        ({"title": ""}, "Fill this in."),
        ({"cut_on": "2025-02-30"}, "not a day"),
        ({"cut_on": "9999-12-31"}, "year again"),
        ({"s0_play_s": ""}, "at least one side"),
        ({"s0_play_s": "21.30"}, "Write it that way"),
        ({"s1_label": "A", "s1_play_s": "3"}, "there twice"),
        ({"s0_width_um": "1e5"}, "is not a number"),
        ({"land_um": "-1"}, "below"),
        ({"rows": "99999999"}, ""),
        ({"code": "x" * 40}, "at most 30"),
    ],
)
def test_a_booking_that_makes_no_sense_is_refused_and_kept(bench, client_of, assistant, other, words):
    answer = client_of(assistant).post(address("add-booking"), booking_typed(customer="<i>Us</i>") | other)
    if "rows" in other:
        assert answer.status_code == 302
        return
    assert answer.status_code == 422
    assert words in text(answer)
    assert "&lt;i&gt;Us&lt;/i&gt;" in text(answer)
    assert not Booking.objects.exists()


def test_a_stale_change_shows_both_and_then_saves(bench, client_of, assistant):
    booking = make_booking(bench.engineer, code="B-9")
    client, where = client_of(assistant), address("change-booking", booking.pk)
    assert 'name="version" value="1"' in text(client.get(where))
    first = booking_typed(version="1", title="Hers", cut_on="2025-03-03", s1_play_s="20:00")
    assert client.post(where, first).status_code == 302
    second = first | {"once": str(uuid4()), "title": "His"}
    stale = client.post(where, second)
    page = text(stale)
    assert stale.status_code == 422
    assert "What is saved now" in page
    assert "Hers" in page
    assert 'value="His"' in page
    assert 'name="version" value="2"' in page
    assert client.post(where, second | {"version": "2"}).status_code == 302
    assert Booking.objects.get().title == "His"


def test_a_booking_page_tells_what_does_not_fit_and_what_was_cut(bench, client_of, assistant):
    booking = make_booking(bench.engineer, [WantedSide("A", 1200), WantedSide("B", 45 * 60)])
    cut(bench, wanted=booking.wanted.first(), outcome="rejected", reject_reason=bench.reason, cut_s=99)
    page = text(client_of(assistant).get(booking.get_absolute_url()))
    assert "It does not fit a 12 inch record" in page
    assert "Rejected: Noisy blank" in page
    assert "lines per inch" in page


def test_lists_of_bookings(bench, client_of, assistant):
    client = client_of(assistant)
    assert "Nothing is booked" in text(client.get(address("bookings")))
    booking = make_booking(bench.engineer, title="The open one")
    done = make_booking(bench.engineer, [WantedSide("A", 1200)], title="The finished one")
    cut(bench, wanted=done.wanted.get())
    page = text(client.get(address("bookings")))
    assert ("The open one" in page, "The finished one" in page) == (True, False)
    assert "0 of 2" in page
    assert "The finished one" in text(client.get(address("bookings"), {"state": "finished"}))
    assert "No bookings here" in text(client.get(address("bookings"), {"state": "cancelled"}))
    assert booking.title in text(client.get(address("bookings"), {"state": "all", "page": "99999"}))


# Planning -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        # 300 lines an inch from 11.5 in would leave 6.39 in; here from 292.6 to 115.2 mm
        ({"minutes": "23", "disc_in": "12", "speed": "33"}, "It fits a 12 inch record"),
        ({"minutes": "45", "disc_in": "12", "speed": "33"}, "It does not fit a 12 inch record"),
        ({"minutes": "4", "disc_in": "7", "speed": "45"}, "It fits a 7 inch record"),
        ({"minutes": "15", "disc_in": "10", "speed": "33"}, "It fits a 10 inch record"),
        ({"minutes": "12", "disc_in": "7", "speed": "45"}, "It does not fit a 7 inch record"),
        ({"minutes": "20", "disc_in": "12", "speed": "78"}, "It does not fit"),
        ({"minutes": "20", "disc_in": "12", "speed": "33", "pitch_um": "150"}, "It does not fit"),
    ],
)
def test_plan_a_side(client_of, visitor, asked, words):
    answer = client_of(visitor).get(address("plan-side"), {"width_um": "56", "land_um": "12"} | asked)
    assert answer.status_code == 200
    assert words in text(answer)


@pytest.mark.parametrize(
    "asked",
    [
        {"minutes": "0"},
        {"minutes": "x"},
        {"width_um": "0"},
        {"width_um": "nan"},
        {"pitch_um": "600"},
        {"land_um": "1e300"},
        {"disc_in": "11"},
        {"speed": "-45"},
    ],
)
def test_a_plan_of_nonsense_gets_a_sentence(client_of, visitor, asked):
    figures = {"minutes": "20", "disc_in": "12", "speed": "33", "width_um": "56", "land_um": "12"} | asked
    answer = client_of(visitor).get(address("plan-side"), figures)
    assert answer.status_code == 422
    assert 'class="wrong"' in text(answer)


def test_a_plan_speaks_the_readers_inches(client_of, visitor):
    visitor.length_unit = "in"
    visitor.save()
    page = text(
        client_of(visitor).get(
            address("plan-side"), {"minutes": "20", "disc_in": "12", "speed": "33", "width_um": "56", "land_um": "12"}
        )
    )
    assert "11.520\u00a0in" in page


# Styli ----------------------------------------------------------------------------------------------------------------


def test_fitting_by_the_page_offers_to_take_the_other_off(bench, client_of, assistant):
    other = make_stylus(bench.engineer, bench.kind, "R-2")
    client = client_of(assistant)
    page = text(client.get(address("fit-stylus", other.pk)))
    assert f'href="{address("take-off-stylus", bench.stylus.pk)}"' in page
    refused = client.post(address("fit-stylus", other.pk), {"once": uuid4(), "lathe": bench.lathe.pk})
    assert refused.status_code == 422
    assert "R-1 is in the head of Lathe" in text(refused)
    assert client.post(address("take-off-stylus", bench.stylus.pk), {"once": uuid4()}).status_code == 302
    token = {"once": str(uuid4()), "lathe": bench.lathe.pk}
    for _ in range(2):
        assert client.post(address("fit-stylus", other.pk), token).status_code == 302
    assert Fitting.objects.filter(off_at=None).get().life.stylus == other
    assert Fitting.objects.count() == 2


def test_a_stylus_page_says_what_is_left_with_picture_words_and_table(bench, client_of, assistant):
    make_booking(bench.engineer)
    cut(bench)
    page = text(client_of(assistant).get(bench.stylus.get_absolute_url()))
    assert "h at 80 % confidence" in page
    assert "No life has ended yet" in page
    assert "This is advice" in page
    assert 'role="img"' in page
    assert "The curve as a table" in page
    assert "Chance to finish today's sides" in page or "Chance to finish today&#x27;s sides" in page


def test_retiring_and_reinstating_by_the_page(bench, client_of, engineer):
    client = client_of(engineer)
    assert client.post(address("retire-stylus", bench.stylus.pk), {"once": uuid4()}).status_code == 422
    assert (
        client.post(address("retire-stylus", bench.stylus.pk), {"once": uuid4(), "reason": "knocked"}).status_code
        == 302
    )
    page = text(client.get(bench.stylus.get_absolute_url()))
    assert "knocked" in page
    assert "What is left in it" not in page
    assert "R-1" in text(client.get(address("styli"), {"state": "retired"}))
    assert client.post(address("reinstate-stylus", bench.stylus.pk), {"once": uuid4()}).status_code == 302
    assert Life.objects.get().ended_at is None


def test_adding_a_stylus_out_of_stock(bench, client_of, assistant):
    lot = make_lot(bench.engineer, make_item(bench.engineer, "Ruby stylus", kind="stylus"), 2, code="S1")
    client = client_of(assistant)
    assert "Ruby stylus, lot S1 (2 left)" in text(client.get(address("add-stylus")))
    posted = {"once": uuid4(), "mark": "R-5", "kind": bench.kind.pk, "lot": lot.pk, "received_on": "2025-03-03"}
    assert client.post(address("add-stylus"), posted).status_code == 302
    assert Lot.objects.get(pk=lot.pk).on_hand == 1


# How many queries -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["sides", "bookings", "styli", "stylus-kinds", "lathes", "reject-reasons", "log-side"])
def test_a_list_takes_as_many_queries_for_many_rows_as_for_few(
    bench, client_of, assistant, name, django_assert_max_num_queries
):
    def fill(rows):
        for number in range(rows):
            booking = make_booking(bench.engineer)
            cut(bench, wanted=booking.wanted.first())
            stylus = make_stylus(bench.engineer, bench.kind, f"S-{Stylus.objects.count()}-{number}")
            lathe = actions.add_lathe(by=bench.engineer, once=once(), name=f"Lathe {Stylus.objects.count()}")
            actions.fit_stylus(by=bench.engineer, once=once(), stylus=stylus, lathe=lathe)
            actions.add_reject_reason(by=bench.engineer, once=once(), name=f"R {Stylus.objects.count()}", blame="other")

    client = client_of(assistant)
    fill(2)
    with django_assert_max_num_queries(12) as few:
        assert client.get(address(name)).status_code == 200
    fill(8)
    with django_assert_max_num_queries(12) as many:
        assert client.get(address(name)).status_code == 200
    assert len(many) == len(few)


def test_single_pages_take_as_many_queries_for_much_as_for_little(
    bench, client_of, assistant, django_assert_max_num_queries
):
    booking = make_booking(bench.engineer)
    side = cut(bench, wanted=booking.wanted.first())
    client = client_of(assistant)
    pages = (booking.get_absolute_url(), bench.stylus.get_absolute_url(), side.get_absolute_url())
    before = []
    for where in pages:
        with django_assert_max_num_queries(15) as taken:
            client.get(where)
        before.append(len(taken))
    for _ in range(15):
        cut(bench, wanted=booking.wanted.first(), outcome="rejected", reject_reason=bench.reason, cut_s=60)
    for where, few in zip(pages, before, strict=True):
        with django_assert_max_num_queries(few):
            client.get(where)

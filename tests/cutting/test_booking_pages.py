"""The pages of bookings, and the free plan of a side."""

from uuid import uuid4

import pytest

from shop.cutting.actions import WantedSide
from shop.cutting.models import Booking
from tests.cutting.makers import address, cut, make_booking, text

pytestmark = pytest.mark.django_db


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


def test_the_summary_of_what_is_wrong_names_the_side(bench, client_of, assistant):
    typed = booking_typed(s0_play_s="17:75", s1_label="", s1_play_s="x")
    page = text(client_of(assistant).post(address("add-booking"), typed))
    summary = page.partition('id="errors"')[2].partition("</ul>")[0]
    assert "Side A, Length: " in summary
    assert "Side B, Length: " in summary


@pytest.mark.parametrize(("first", "second"), [("a", "A"), ("B", "")])
def test_the_same_side_twice_is_said_at_the_second_one_s_box(bench, client_of, assistant, first, second):
    posted = booking_typed(s0_label=first, s1_label=second, s1_play_s="3")
    answer = client_of(assistant).post(address("add-booking"), posted)
    [sentence] = answer.context["form"].errors["s1_label"]
    assert sentence == f"Side {first.upper()} is there twice. Give this one another letter."
    page = text(answer)
    assert f'id="id_s1_label_error">{sentence}' in page
    assert 'href="#id_s1_label"' in page
    assert page.count('class="wrong"') == 1


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
        ({"code": "x" * 40}, "Keep it to 30 characters"),
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


def test_titles_far_short_of_their_side_are_asked_about_at_its_length(bench, client_of, assistant):
    typed = booking_typed(s0_label="", s0_play_s="", s1_label="C", s1_play_s="20:00", s1_titles="4:00 Reeds\n5:00 Salt")
    client = client_of(assistant)
    answer = client.post(address("add-booking"), typed)
    assert answer.status_code == 422
    (doubt,) = answer.context["form"].doubts
    assert doubt.field == "s1_play_s"
    assert "11:00 of it are pauses" in text(answer)
    assert client.post(address("add-booking"), typed | {"sure": doubt.key}).status_code == 302

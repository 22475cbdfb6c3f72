"""The page to log a side: what it fills in, tells, asks and keeps."""

from datetime import timedelta
from uuid import uuid4

import pytest

from shop import clock
from shop.cutting import actions
from shop.cutting.actions import WantedSide
from shop.cutting.models import Fitting, Side
from shop.stock import actions as stock
from shop.stock.models import Lot
from tests.cutting.makers import address, cut, make_booking, once, text
from tests.makers import at, moment
from tests.stock.makers import make_item, make_lot

pytestmark = pytest.mark.django_db


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
    with at("2025-03-03 10:25"):
        page = text(client.post(address("log-side"), typed(bench, wanted=b.pk), follow=True))
    assert "booking B-7 is finished" in page


def test_posted_twice_is_one_side(bench, client_of, assistant):
    client, once_only = client_of(assistant), typed(bench)
    first, second = (client.post(address("log-side"), once_only) for _ in range(2))
    assert first.url == second.url
    assert Side.objects.count() == 1
    assert Lot.objects.get(pk=bench.lot.pk).on_hand == 299


def test_posted_again_with_other_values_the_form_comes_back_as_typed_with_a_fresh_token(bench, client_of, assistant):
    """The script-less way: the page that answers is all there is of what was typed."""
    client, first = client_of(assistant), typed(bench)
    client.post(address("log-side"), first)
    side = Side.objects.get()
    other = client.post(address("log-side"), first | {"cut_s": "19:00", "note": "Quiet at the rim"})
    page = text(other)
    assert other.status_code == 409
    assert "Not saved a second time" in page
    assert "already saved, with other values in it; the first is kept" in page
    assert f'<a href="{side.get_absolute_url()}">What was saved the first time: {side}</a>' in page
    assert 'value="19:00"' in page
    assert "Quiet at the rim" in page
    assert first["once"] not in page
    assert Side.objects.count() == 1
    assert Lot.objects.get(pk=bench.lot.pk).on_hand == 299
    token = other.context["form"].token
    assert f'name="once" value="{token}"' in page
    with at("2025-03-03 10:25"):
        again = first | {"cut_s": "19:00", "once": token}
        assert client.post(address("log-side"), again).status_code == 302
        assert client.post(address("log-side"), again).status_code == 302
    assert Side.objects.count() == 2


def test_somebody_elses_token_writes_nothing_and_keeps_what_was_typed(bench, client_of, assistant, engineer):
    theirs = typed(bench)
    client_of(assistant).post(address("log-side"), theirs)
    answer = client_of(engineer).post(address("log-side"), theirs | {"cut_s": "18:20"})
    page = text(answer)
    assert answer.status_code == 409
    assert "belonged to someone or something else. Nothing was saved now" in page
    assert "What was saved the first time" not in page
    assert 'value="18:20"' in page
    assert theirs["once"] not in page
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
        ({"lot": "999999"}, "not on the list"),
        ({"stylus": ""}, "Choose one."),
        ({"disc_in": "13"}, "not on the list"),
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


def test_a_side_that_ended_in_the_hour_the_clocks_repeated_is_logged_as_the_one_it_was(bench, client_of, assistant):
    with at("2025-10-26 08:00"):
        client = client_of(assistant)
        posted = typed(bench, at="2025-10-26T01:30")
        asked = client.post(address("log-side"), posted)
        assert "01:30 came twice. Say which it was." in text(asked)
        assert 'name="at_which" value="+00:00"' in text(asked)
        assert client.post(address("log-side"), posted | {"at_which": "+00:00"}).status_code == 302
        assert Side.objects.get().at == moment("2025-10-26T01:30+00:00")


def test_an_engineer_finds_a_box_to_overrule_once_refused(bench, client_of, engineer, assistant):
    posted = typed(bench, cut_s="30:00")
    assert 'name="overrule"' not in text(client_of(engineer).get(address("log-side")))
    other = client_of(engineer).post(address("log-side"), posted | {"cut_s": "soon"})
    assert 'name="overrule"' not in text(other), "nothing is to be overruled"
    asked = client_of(engineer).post(address("log-side"), posted)
    assert 'name="overrule"' in text(asked)
    [doubt] = asked.context["form"].doubts
    refused = client_of(assistant).post(address("log-side"), posted | {"overrule": "because", "once": str(uuid4())})
    assert refused.status_code == 422
    assert 'name="overrule"' not in text(refused)
    unsaid = client_of(engineer).post(address("log-side"), posted | {"sure": doubt.key})
    assert "Give the reason for which it is overruled." in text(unsaid)
    assert f'<input type="hidden" name="sure" value="{doubt.key}">' in text(unsaid)
    posted |= {"overrule": "run into the label", "sure": doubt.key, "once": str(uuid4())}
    done = client_of(engineer).post(address("log-side"), posted, follow=True)
    assert "run into the label" in text(done)


def test_the_last_blank_gone_while_the_page_was_open_is_told(bench, client_of, assistant):
    lot = make_lot(bench.engineer, bench.item, 1, code="LAST")
    posted = typed(bench, lot=lot.pk)
    stock.use_stock(by=bench.engineer, once=once(), lot=lot, quantity=1, sure=[f"out-of-turn:{bench.lot.pk}"])
    answer = client_of(assistant).post(address("log-side"), posted)
    assert answer.status_code == 422
    assert "none left in lot LAST" in text(answer)
    # what was chosen stays chosen: another lot is for the person to take
    assert f'<option value="{lot.pk}" selected>None left · 14 inch · LAST</option>' in text(answer)


def test_where_no_blank_of_the_size_may_be_used_none_is_chosen_beforehand(bench, client_of, assistant):
    make_booking(bench.engineer)
    make_lot(bench.engineer, make_item(bench.engineer, "10-inch blank", blank_in=10), 2, code="SMALL")
    stock.hold_lot(by=bench.engineer, once=once(), lot=bench.lot, why="dull")
    page = text(client_of(assistant).get(address("log-side")))
    assert '<option value="" selected>Choose a lot</option>' in page
    assert page.count(" selected>14 inch") == 0
    assert f'<option value="{bench.lot.pk}">On hold · 14 inch · L1 · 300 left</option>' in page
    answer = client_of(assistant).post(address("log-side"), typed(bench, lot=""))
    assert "Choose one." in text(answer)


def test_an_engineer_who_overrules_a_held_lot_is_not_asked_about_its_turn(bench, client_of, engineer):
    held = make_lot(bench.engineer, bench.item, 3, code="HELD")
    stock.hold_lot(by=bench.engineer, once=once(), lot=held, why="dull")
    posted = typed(bench, lot=held.pk)
    client = client_of(engineer)
    asked = client.post(address("log-side"), posted)
    assert "HELD is on hold: dull." in text(asked)
    [doubt] = asked.context["form"].doubts
    posted |= {"overrule": "seen under the lamp", "sure": doubt.key}
    assert client.post(address("log-side"), posted).status_code == 302


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


def test_a_side_that_does_not_fit_is_warned_of_at_once(bench, client_of, assistant):
    wanted = make_booking(bench.engineer, [WantedSide("A", 1200)]).wanted.get()
    path = f"{address('log-side')}?wanted={wanted.pk}"
    assert '<p class="quiet">It fits a 12 inch' in text(client_of(assistant).get(path))
    type(wanted).objects.update(play_s=3600)
    assert '<p class="notice notice-warn">It does not fit a 12 inch' in text(client_of(assistant).get(path))


def test_a_side_with_a_good_cut_says_so_on_opening(bench, client_of, assistant):
    wanted = make_booking(bench.engineer).wanted.first()
    path = f"{address('log-side')}?wanted={wanted.pk}"
    client = client_of(assistant)
    says = "This side has a good cut already"
    cut(bench, outcome="test", wanted=wanted)
    assert says not in text(client.get(path))
    side = cut(bench, wanted=wanted)
    page = text(client.get(path))
    assert says in page
    assert side.get_absolute_url() in page
    actions.withdraw_side(by=bench.engineer, once=once(), side=side, reason="twice")
    assert says not in text(client.get(path))

"""Styli away for re-lapping: sent, back with a fresh edge, back as they went, never back."""

from datetime import date
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction

from shop import clock, concern
from shop.concern import Grade
from shop.cutting import actions, queries
from shop.cutting.models import Away, Life, Stylus
from shop.refusal import NotAllowed, Refused
from tests.cutting.makers import address, cut, make_stylus, once, text
from tests.makers import at, moment, together

pytestmark = pytest.mark.django_db


def send(by, stylus, reason="worn", **other):
    facts = {"sent_to": "The Lapping Loft", "reason": reason}
    return actions.send_stylus_away(by=by, once=once(), stylus=stylus, **facts | other)


def back(by, stylus, came_back="fresh", **other):
    return actions.take_stylus_back(by=by, once=once(), stylus=stylus, came_back=came_back, **other)


def fit(bench, **other):
    return actions.fit_stylus(by=bench.engineer, once=once(), stylus=bench.stylus, lathe=bench.lathe, **other)


def place(stylus):
    return queries.state_of(queries.styli_of_any_state().get(pk=stylus.pk)).place


def test_sending_takes_it_out_of_the_head_and_ends_the_life(bench, assistant):
    cut(bench)
    away = send(assistant, bench.stylus, note="left flank dull")
    life = Life.objects.get()
    assert (life.ended_at, life.end_reason, life.end_note) == (clock.now(), "worn", "left flank dull")
    assert life.fittings.get().off_at == clock.now()
    assert away.ended == life
    assert place(bench.stylus) == "away with The Lapping Loft"
    assert queries.stylus_outlook(queries.styli_of_any_state().get(), None) is None


def test_where_it_has_been_stands_in_the_order_in_which_it_went(bench, assistant):
    send(assistant, bench.stylus)
    with at("2025-03-20 09:00"):
        back(assistant, bench.stylus)
        fit(bench)
    with at("2025-04-01 09:00"):
        send(assistant, bench.stylus)
    with at("2025-05-01 09:00"):
        back(assistant, bench.stylus, came_back="never")
    told = queries.whereabouts(queries.styli_of_any_state().get())
    assert [one.where for one in told] == [
        "Retired: lost",
        "Given up: it will not come back",
        "Away to The Lapping Loft for re-lapping",
        "Off",
        "Into the head of Lathe",
        "Back: with a fresh edge",
        "Away to The Lapping Loft for re-lapping",
        "Off",
        "Into the head of Lathe",
    ]
    assert told[3].by == assistant


def test_a_fresh_edge_is_its_own_life_with_what_it_cost(bench, assistant):
    cut(bench)
    send(assistant, bench.stylus)
    with at("2025-03-20 09:00"):
        back(assistant, bench.stylus, price=Decimal("46"))
        assert place(bench.stylus) == "in the drawer"
        assert queries.state_of(queries.styli_of_any_state().get()).life is None
        second = fit(bench).life
    assert (second.number, second.cut_s, second.relapped.price, second.cost) == (2, 0, 46, 46)
    assert Life.objects.get(number=1).end_reason == "worn"


def test_what_comes_back_as_it_went_goes_on_with_its_life(bench):
    cut(bench)
    send(bench.engineer, bench.stylus)
    back(bench.engineer, bench.stylus, "as_sent")
    life = Life.objects.get()
    assert (life.ended_at, life.end_reason) == (None, "")
    assert fit(bench).life == life
    send(bench.engineer, bench.stylus, "early")
    assert Life.objects.get().end_reason == "early", "it can go again"


def test_what_does_not_come_back_is_retired_as_lost_and_an_engineer_puts_that_right(bench):
    send(bench.engineer, bench.stylus, "chipped")
    back(bench.engineer, bench.stylus, "never", note="lost in the post")
    stylus = Stylus.objects.get()
    assert (stylus.retired_why, Life.objects.get().end_reason) == ("lost", "chipped")
    actions.reinstate_stylus(by=bench.engineer, once=once(), stylus=stylus)
    assert place(stylus) == "away with The Lapping Loft"
    assert Life.objects.get().end_reason == "chipped", "its edge came to its end before it went"


def test_retiring_one_that_is_away_gives_it_up(bench):
    send(bench.engineer, bench.stylus)
    actions.retire_stylus(by=bench.engineer, once=once(), stylus=bench.stylus, reason="worn")
    assert Away.objects.get().came_back == "never"
    assert Life.objects.count() == 1


def test_no_side_is_logged_on_a_stylus_that_was_away(bench):
    send(bench.engineer, bench.stylus)
    with at("2025-03-03 12:00"):
        with pytest.raises(Refused, match="R-1 was not in the head of Lathe") as no:
            cut(bench, stylus=bench.stylus)
        assert no.value.field == "stylus"
        with pytest.raises(Refused, match="No stylus was in the head"):
            cut(bench)
        cut(bench, at=moment("2025-03-03 09:30"))
    assert Life.objects.get().sides == 1, "what it cut before it went still counts"


def test_one_that_is_away_is_neither_fitted_nor_sent_again(bench):
    send(bench.engineer, bench.stylus)
    with pytest.raises(Refused, match="is away with The Lapping Loft since 10:00"):
        fit(bench)
    with pytest.raises(Refused, match="is away with"):
        send(bench.engineer, bench.stylus)
    with pytest.raises(IntegrityError), transaction.atomic():
        Away.objects.create(stylus=bench.stylus, sent_to="x", sent_at=clock.now(), sent_by=bench.engineer)


def test_an_edge_at_its_end_is_not_fitted_until_it_was_re_lapped(bench):
    send(bench.engineer, bench.stylus)
    back(bench.engineer, bench.stylus)
    fit(bench)
    with at("2025-03-04 09:00"):
        send(bench.engineer, bench.stylus, "knocked")
        away = Away.objects.get(back_at=None)
        # as if it had been laid into the drawer without having been re-lapped
        Away.objects.filter(pk=away.pk).update(back_at=clock.now(), back_by=bench.engineer, came_back="as_sent")
        with pytest.raises(Refused, match=r"came to its end at 09:00 .*\(knocked\), and it was not re-lapped since"):
            fit(bench)
    assert Life.objects.count() == 2


def test_a_life_has_one_end(bench):
    send(bench.engineer, bench.stylus, "worn")
    actions.retire_stylus(by=bench.engineer, once=once(), stylus=bench.stylus, reason="lost")
    with pytest.raises(Refused, match="was retired"):
        send(bench.engineer, bench.stylus, "chipped")
    assert Life.objects.get().end_reason == "worn"
    with pytest.raises(IntegrityError), transaction.atomic():
        Life.objects.update(ended_at=moment("2025-03-01 08:00"))


def test_times_that_run_backwards_are_refused(bench):
    cut(bench, at=moment("2025-03-03 09:30"))
    for when, words in (
        ("2025-03-03 09:29", "cut a side"),
        ("2025-03-03 10:01", "future"),
        ("2025-03-02 09:00", "came in"),
    ):
        with pytest.raises(Refused, match=words) as no:
            send(bench.engineer, bench.stylus, at=moment(when))
        assert no.value.field == "at", when
    send(bench.engineer, bench.stylus, at=moment("2025-03-03 09:45"))
    with pytest.raises(Refused, match="only went at 09:45"):
        back(bench.engineer, bench.stylus, at=moment("2025-03-03 09:40"))
    back(bench.engineer, bench.stylus, at=moment("2025-03-03 09:50"))
    with pytest.raises(Refused, match="was away from 09:45"):
        fit(bench, at=moment("2025-03-03 09:47"))
    with pytest.raises(Refused, match="due back before it went"):
        send(bench.engineer, bench.stylus, back_due=date(2025, 3, 2))


@pytest.mark.parametrize(
    ("facts", "field"), [({"reason": ""}, "reason"), ({"reason": "lost"}, "reason"), ({"sent_to": " "}, "sent_to")]
)
def test_what_is_missing_is_asked_for(bench, facts, field):
    with pytest.raises(Refused) as no:
        send(bench.engineer, bench.stylus, **facts)
    assert no.value.field == field
    assert Life.objects.get().ended_at is None


def test_one_never_used_goes_without_a_reason(bench):
    spare = make_stylus(bench.engineer, bench.kind, "R-2")
    assert send(bench.engineer, spare, reason="").ended is None
    back(bench.engineer, spare)
    assert not spare.lives.exists()


def test_who_only_looks_sends_nothing(bench, visitor):
    with pytest.raises(NotAllowed):
        send(visitor, bench.stylus)
    with pytest.raises(NotAllowed):
        back(visitor, bench.stylus)


@pytest.mark.django_db(transaction=True)
def test_sent_twice_at_once_it_is_away_once(engineer):
    from tests.cutting.makers import make_bench

    bench = make_bench(engineer)
    done = together(*[lambda: send(engineer, bench.stylus)] * 2)
    assert sum(isinstance(result, Away) for result in done) == 1, done
    assert Away.objects.count() == 1


def test_one_late_to_come_back_is_a_note(bench):
    send(bench.engineer, bench.stylus, back_due=date(2025, 3, 10))

    def found():
        return [one for one in concern.gather(clock.now()) if one.key.startswith("cutting:away:")]

    with at("2025-03-10 08:00"):
        assert found() == []
    with at("2025-03-11 08:00"):
        [late] = found()
        assert (late.grade, late.headline) == (Grade.NOTE, "R-1 was due back from re-lapping")
        assert late.link == bench.stylus.get_absolute_url()
        back(bench.engineer, bench.stylus)
        assert found() == []


def test_by_the_pages(bench, client_of, assistant):
    client = client_of(assistant)
    where = address("send-stylus-away", bench.stylus.pk)
    facts = {"once": str(once()), "sent_to": "The Lapping Loft", "reason": "worn", "back_due": "2025-03-20"}
    for _ in range(2):
        assert client.post(where, facts).status_code == 302
    assert Away.objects.count() == 1
    page = text(client.get(bench.stylus.get_absolute_url()))
    assert "away with The Lapping Loft" in page
    assert "due back on 20 Mar 2025" in page
    assert address("take-stylus-back", bench.stylus.pk) in page
    assert "It is away" in text(client.get(where)) or "is away with The Lapping Loft" in text(client.get(where))
    assert client.post(address("take-stylus-back", bench.stylus.pk), {"once": once()}).status_code == 422
    answer = client.post(
        address("take-stylus-back", bench.stylus.pk), {"once": once(), "came_back": "fresh", "price": "46"}, follow=True
    )
    assert "is back with a fresh edge" in text(answer)
    assert "A fresh edge, not yet used" in text(answer)
    assert "away with" in text(client.get(address("styli"))) or "in the drawer" in text(client.get(address("styli")))

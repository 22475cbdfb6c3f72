"""A side that was rejected for the stylus puts its edge in doubt, until somebody says that it is whole."""

from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction

from shop import clock
from shop.concern import Grade
from shop.cutting import actions
from shop.cutting.concerns import concerns
from shop.cutting.models import EdgeLook, Life
from shop.refusal import NotAllowed, Refused
from tests.cutting.makers import address, cut, make_stylus, once, text
from tests.makers import at, moment

pytestmark = pytest.mark.django_db


def reject(bench, blame="edge", name="", **other):
    """A side rejected for a reason that speaks against that."""
    name = name or f"Reason against {blame}"
    reason = actions.add_reject_reason(by=bench.engineer, once=once(), name=name, blame=blame)
    return cut(bench, outcome="rejected", reject_reason=reason, cut_s=90, **other)


def look_over(by, stylus, seen="clean and sharp at 200 times"):
    return actions.look_over_stylus(by=by, once=once(), stylus=stylus, seen=seen)


def doubts():
    return [concern for concern in concerns(clock.now()) if concern.key.startswith("cutting:edge:")]


@pytest.mark.parametrize(
    ("blame", "grades"), [("edge", [Grade.HOLD]), ("stylus", [Grade.CARE]), ("blank", []), ("other", [])]
)
def test_what_a_side_is_rejected_for_puts_the_edge_in_doubt(bench, blame, grades):
    reject(bench, blame)
    assert [concern.grade for concern in doubts()] == grades


def test_the_concern_names_the_moment_the_reason_and_the_stylus(bench):
    reject(bench, name="Tip chipped or dragged")
    [hold] = doubts()
    assert (hold.subject, hold.headline) == ("R-1", "The edge of R-1 may be chipped")
    assert "A side cut at 10:00 on 3 March was rejected: Tip chipped or dragged." in hold.reason
    assert hold.link == bench.stylus.get_absolute_url()


def test_it_stays_until_somebody_says_that_the_edge_is_whole(bench, assistant):
    reject(bench, "stylus")
    with at("2025-03-04 08:00"):
        assert [concern.grade for concern in doubts()] == [Grade.CARE]
        cut(bench)
        assert len(doubts()) == 1, "a good side is nobody's word"
        look = look_over(assistant, bench.stylus)
        assert (look.life, look.by, look.at) == (Life.objects.get(), assistant, clock.now())
        assert doubts() == []
    with at("2025-03-04 09:00"):
        reject(bench)
        assert [concern.grade for concern in doubts()] == [Grade.HOLD]


def test_a_side_logged_late_that_was_cut_before_the_look_is_settled_by_it(bench):
    with at("2025-03-03 10:30"):
        look_over(bench.engineer, bench.stylus)
        reject(bench, at=moment("2025-03-03 10:15"))
        assert doubts() == []


def test_taking_it_off_ends_the_worry_and_fitting_it_unseen_brings_it_back(bench):
    reject(bench)
    actions.take_off_stylus(by=bench.engineer, once=once(), stylus=bench.stylus)
    assert doubts() == []
    actions.fit_stylus(by=bench.engineer, once=once(), stylus=bench.stylus, lathe=bench.lathe)
    assert [concern.grade for concern in doubts()] == [Grade.HOLD]
    actions.retire_stylus(by=bench.engineer, once=once(), stylus=bench.stylus, reason="chipped")
    assert doubts() == []


def test_a_withdrawn_side_speaks_against_nothing(bench):
    side = reject(bench)
    actions.withdraw_side(by=bench.engineer, once=once(), side=side, reason="wrong stylus")
    assert doubts() == []


def test_a_hold_outweighs_a_later_care(bench):
    reject(bench, at=moment("2025-03-03 09:00"))
    reject(bench, "stylus")
    [hold] = doubts()
    assert hold.grade == Grade.HOLD
    assert "Reason against edge" in hold.reason


@pytest.mark.parametrize("seen", ["", "   ", "x" * 301])
def test_it_says_what_was_seen(bench, seen):
    with pytest.raises(Refused) as no:
        look_over(bench.engineer, bench.stylus, seen)
    assert no.value.field == "seen"


def test_who_may_not_and_what_can_not_be_looked_over(bench, visitor):
    with pytest.raises(NotAllowed):
        look_over(visitor, bench.stylus)
    with pytest.raises(Refused, match="has not been in a head yet"):
        look_over(bench.engineer, make_stylus(bench.engineer, bench.kind, "R-2"))
    actions.retire_stylus(by=bench.engineer, once=once(), stylus=bench.stylus, reason="lost")
    with pytest.raises(Refused, match="was retired"):
        look_over(bench.engineer, bench.stylus)


def test_the_database_keeps_a_look_as_it_was_given(bench):
    look_over(bench.engineer, bench.stylus)
    for spoil in (lambda: EdgeLook.objects.update(seen="chipped"), lambda: EdgeLook.objects.all().delete()):
        with pytest.raises(IntegrityError), transaction.atomic():
            spoil()


# Pages ----------------------------------------------------------------------------------------------------------------


def test_from_the_side_by_the_stylus_to_the_look_and_back_in_order(bench, client_of, assistant):
    side = reject(bench, name="Tip chipped or dragged")
    client, where = client_of(assistant), address("look-over-stylus", bench.stylus.pk)
    page = text(client.get(side.get_absolute_url()))
    assert f'That speaks against <a href="{bench.stylus.get_absolute_url()}">R-1</a>' in page
    assert f'href="{where}"' in page
    page = text(client.get(bench.stylus.get_absolute_url()))
    assert "Its edge is in doubt." in page
    assert "was rejected: Tip chipped or dragged." in page
    assert f'href="{where}"' in page
    assert "edge in doubt" in text(client.get(address("styli")))
    assert client.post(where, {"once": uuid4(), "seen": " "}).status_code == 422
    token = {"once": str(uuid4()), "seen": "whole, a <speck> wiped off"}
    for _ in range(2):
        answer = client.post(where, token)
        assert (answer.status_code, answer.url) == (302, bench.stylus.get_absolute_url())
    assert EdgeLook.objects.count() == 1
    page = text(client.get(bench.stylus.get_absolute_url()))
    assert "in doubt" not in page
    assert "whole, a &lt;speck&gt; wiped off" in page
    assert "That speaks against" not in text(client.get(side.get_absolute_url()))
    assert "edge in doubt" not in text(client.get(address("styli")))


def test_a_stylus_in_doubt_is_not_fitted_unseen(bench, client_of, assistant):
    reject(bench)
    actions.take_off_stylus(by=bench.engineer, once=once(), stylus=bench.stylus)
    page = text(client_of(assistant).get(address("fit-stylus", bench.stylus.pk)))
    assert "Its edge is in doubt." in page
    assert f'href="{address("look-over-stylus", bench.stylus.pk)}"' in page


def test_a_visitor_is_told_but_offered_nothing(bench, client_of, visitor):
    side = reject(bench)
    for where in (side.get_absolute_url(), bench.stylus.get_absolute_url()):
        page = text(client_of(visitor).get(where))
        assert "obody has looked" in page
        assert address("look-over-stylus", bench.stylus.pk) not in page

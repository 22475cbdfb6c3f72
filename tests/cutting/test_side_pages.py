"""The page of one side, the list of them, and withdrawing one."""

from datetime import timedelta
from uuid import uuid4

import pytest

from shop import clock
from shop.cutting import actions
from tests.cutting.makers import address, cut, once, start, text
from tests.makers import at, moment

pytestmark = pytest.mark.django_db


def test_a_side_shows_what_left_where(bench, client_of, assistant):
    cut(bench, cut_s=3000, disc_in=12, pitch_um=80.0, width_um=50.0, speed="16")
    side = cut(bench)
    page = text(client_of(assistant).get(side.get_absolute_url()))
    assert "<b>298</b> <span>left in the lot then</span>" in page
    assert "<b>1.2</b> <span>h, from 0.8 h</span>" in page
    assert "<b>0.55</b> <span>g to the trap</span>" in page
    assert "203 lines per inch (125 µm)" in page


def test_a_side_says_who_cut_it_and_who_judged_it(bench, client_of, assistant, engineer):
    run = start(bench, assistant)
    with at("2025-03-03 10:20"):
        actions.stop_side(by=assistant, once=once(), run=run)
        said = {"run": run, "outcome": "good", "cut_s": 1200, "lot": bench.lot}
        side = actions.judge_side(by=engineer, once=once(), **said)
        assert (side.cut_by, side.judged_by) == (assistant, engineer)
        client = client_of(engineer)
        for where in (side.get_absolute_url(), address("withdraw-side", side.pk)):
            assert f"{assistant}, judged by {engineer}" in text(client.get(where))
        assert f">{assistant}</td>" in text(client.get(address("sides")))
        assert f"cut by {assistant} on Lathe" in text(client.get(address("trace-of", "side", side.pk)))
        other = cut(bench, assistant, at=moment("2025-03-03 09:50"))
        assert (other.cut_by, other.judged_by) == (assistant, None)
        assert "judged by" not in text(client.get(other.get_absolute_url()))


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

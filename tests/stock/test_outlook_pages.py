"""The pages of the outlook: what they say, to whom, in which units, and what may be tried on them."""

import re
from datetime import timedelta
from html import unescape

import pytest
from django.urls import reverse

from shop import clock
from shop.stock import actions
from shop.stock.claims import Claim
from shop.stock.figures import keep_figures
from shop.stock.models import Item, ReorderFigure
from tests.stock.makers import (
    make_item,
    make_liquid,
    make_lot,
    make_sent,
    make_supplier,
    once,
    receive_line,
    use,
    used_weekly,
)

pytestmark = pytest.mark.django_db

#: A Wednesday.
TODAY = "2025-10-01"


@pytest.fixture
def now(room_row, at):
    with at(f"{TODAY} 08:00"):
        yield


@pytest.fixture
def shelf(engineer, claimed, now):
    """Blanks nearly gone, a liquid that lasts, and a part of which nothing is known."""
    supplier = make_supplier(engineer, "Quillmoor", lead_days=30)
    blank = make_item(engineer, "Foil", supplier=supplier, minimum=4)
    liquid = make_liquid(engineer, supplier=supplier)
    used_weekly(engineer, blank, weekly=3, left=9)
    used_weekly(engineer, liquid, weekly=50, left=5000)
    return {"blank": blank, "liquid": liquid, "part": make_item(engineer, "Hose", kind="part")}


def text_of(answer):
    """The page's words, without markup, spaces made one."""
    page = answer.content.decode().split("<main")[1]
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", page)).split())


def rows(answer):
    return re.findall(r'<tr role="row" class="(?:even|odd)">(.*?)</tr>', answer.content.decode(), re.DOTALL)


def look(client, item, **tried):
    return client.get(reverse("stock:item-outlook", args=[item.pk]), tried)


# The list -------------------------------------------------------------------------------------------------------------


def test_the_most_pressing_comes_first_and_the_unknown_last(shelf, client_of, visitor):
    answer = client_of(visitor).get(reverse("stock:outlook"))
    names = re.findall(r'href="/stock/outlook/\d+/">([^<]+)</a>', answer.content.decode())
    assert names == ["Foil", "Wiping solvent", "Hose"]
    first, second, third = (" ".join(re.sub(r"<[^>]+>", " ", row).split()) for row in rows(answer))
    assert "now" in first
    assert "none due" in second
    assert "5 l" in second
    assert "no use known yet" in third
    assert "1 item to order now" in text_of(answer)


def test_what_is_on_hold_is_said_beside_what_is_usable(shelf, client_of, engineer):
    lot = make_lot(engineer, shelf["blank"], 30)
    actions.hold_lot(by=engineer, once=once(), lot=lot, why="dull")
    answer = client_of(engineer).get(reverse("stock:outlook"))
    assert "30 on hold" in text_of(answer)
    assert "30 on hold are not counted" in text_of(look(client_of(engineer), shelf["blank"]))


def test_the_list_says_when_it_was_worked_out_and_is_never_behind(shelf, client_of, engineer, at):
    keep_figures()
    with at(f"{TODAY} 10:30"):
        make_sent(engineer, (shelf["blank"], 60), supplier=shelf["blank"].supplier)
        answer = client_of(engineer).get(reverse("stock:outlook"))
    assert "Worked out at 08:00 today; whatever changed since was worked out just now." in text_of(answer)
    [foil] = [row for row in rows(answer) if "Foil" in row]
    assert ">60<" in foil
    assert "now" not in foil
    assert ReorderFigure.objects.get(item=shelf["blank"]).on_order == 0


@pytest.mark.parametrize("sort", ["name", "-name", "due", "-due", "runs_out", "-chance_out", "nonsense", "usable"])
def test_the_list_sorts(shelf, client_of, engineer, sort):
    answer = client_of(engineer).get(reverse("stock:outlook"), {"sort": sort})
    names = re.findall(r'href="/stock/outlook/\d+/">([^<]+)</a>', answer.content.decode())
    assert sorted(names) == ["Foil", "Hose", "Wiping solvent"]
    if sort.endswith("name"):
        assert names == sorted(names, reverse=sort.startswith("-"))
    if sort == "due":
        assert names[0] == "Foil"


def test_the_list_narrows_and_pages(shelf, client_of, engineer):
    client = client_of(engineer)
    address = reverse("stock:outlook")
    assert len(rows(client.get(address, {"kind": "liquid"}))) == 1
    assert "No item fits that." in text_of(client.get(address, {"name": "nowhere"}))
    for n in range(60):
        make_item(engineer, f"Part {n}", kind="part")
    assert "Page 1 of 2" in text_of(client.get(address))
    assert len(rows(client.get(address, {"page": "2"}))) == 13
    assert client.get(address, {"page": "none"}).status_code == 200


def test_an_empty_room_says_what_to_do_first(client_of, engineer, visitor, claimed):
    assert "Add the first item" in text_of(client_of(engineer).get(reverse("stock:outlook")))
    assert "An engineer adds" in text_of(client_of(visitor).get(reverse("stock:outlook")))


def test_twelve_queries_also_when_all_of_it_is_worked_out_anew(
    shelf, client_of, engineer, django_assert_max_num_queries
):
    client = client_of(engineer)
    for n in range(3):
        used_weekly(engineer, make_item(engineer, f"Foil {n}"), weekly=1, left=4, weeks=9)
    for path in (reverse("stock:outlook"), reverse("stock:item-outlook", args=[shelf["blank"].pk])):
        with django_assert_max_num_queries(12):
            assert client.get(path).status_code == 200


# One item -------------------------------------------------------------------------------------------------------------


def test_an_item_says_what_to_do_and_why(shelf, client_of, engineer, claimed):
    blank = shelf["blank"]
    claimed.append(Claim(14, 2, clock.today() + timedelta(days=9), "booking B", "/"))
    text = text_of(look(client_of(engineer), blank))
    for words in (
        "now. An order placed today is late already",
        "9 usable",
        "120 in 40 whole weeks since 23 December 2024.",
        "up to the week of 22 September 2025, is among it.",
        "Rests on 40 weeks of use. Tried on",
        "2 up to 10 October 2025. A week asks for what is booked",
        "No order has come yet: this rests on the promise of 30 days.",
        "Service level 95 %, an order lasts 8 weeks",
        "Croston",
        "Order by 1 October 2025.",
    ):
        assert words in text, words
    page = look(client_of(engineer), blank).content.decode()
    assert "<svg" in page
    assert "Week by week, as a table" in page
    assert page.count('data-label="Until"') == 26


def test_the_chance_and_the_quantity_are_those_of_the_list(shelf, client_of, engineer):
    keep_figures()
    kept = ReorderFigure.objects.get(item=shelf["blank"])
    text = text_of(look(client_of(engineer), shelf["blank"]))
    assert f"Order {kept.quantity} now." in text
    assert f"{100 * kept.chance_out:.0f} % out before an order placed today comes" in text


def test_packs_and_caps_are_explained(shelf, client_of, engineer):
    blank = shelf["blank"]

    def planned(**figures):
        blank.refresh_from_db()
        sure = [f"no-room:{figures.get('shelf_room')}:{figures.get('minimum_order', 1)}"]
        actions.plan_item(by=engineer, once=once(), item=blank, version=blank.version, sure=sure, **figures)
        return text_of(look(client_of(engineer), blank))

    assert "packs of 25:" in planned(pack_size=25)
    assert "The supplier's smallest order is 500." in planned(minimum_order=500)
    assert "held down to what the shelf has room for, 20" in planned(shelf_room=20)
    assert "Even the smallest order is" in planned(shelf_room=20, minimum_order=500)
    Item.objects.filter(pk=blank.pk).update(shelf_days=20)
    assert "held down to what is likely to be used before it ages" in planned()


def test_drafting_starts_from_the_suggestion(shelf, client_of, engineer, visitor):
    blank = shelf["blank"]
    [link] = re.findall(r'href="([^"]+)">Draft the order', look(client_of(engineer), blank).content.decode())
    form = client_of(engineer).get(unescape(link)).content.decode()
    keep_figures()
    assert f'value="{ReorderFigure.objects.get(item=blank).quantity}"' in form
    assert "Draft the order" not in look(client_of(visitor), blank).content.decode()
    assert "Draft the order" not in look(client_of(engineer), shelf["liquid"]).content.decode()


def test_open_orders_and_drafts_are_told(shelf, client_of, engineer):
    blank = shelf["blank"]
    order = make_sent(engineer, (blank, 60), supplier=blank.supplier)
    draft = actions.draft_order(by=engineer, once=once(), supplier=blank.supplier, lines=[actions.WantedLine(blank, 7)])
    text = text_of(look(client_of(engineer), blank))
    assert f"Order {order.pk}: 60, sent 1 October 2025; likely to come between" in text
    assert f"Order {draft.pk} is a draft (7): it counts when it is sent." in text
    page = look(client_of(engineer), blank).content.decode()
    assert f'<a class="button" href="/stock/orders/{draft.pk}/">Order {draft.pk}, a draft of 7</a>' in page
    assert "60 on order" in text


def test_a_lot_that_will_age_is_told_of(shelf, client_of, engineer):
    soon = clock.today() + timedelta(days=14)
    make_lot(engineer, shelf["blank"], 60, code="OLD", best_before=soon)
    text = text_of(look(client_of(engineer), shelf["blank"]))
    assert "Likely to pass their date unused" in text
    assert "OLD 15 Oct 2025 60" in text


def test_nothing_known_leads_to_the_ordering_figures(shelf, client_of, engineer, assistant):
    hose = shelf["part"]
    assert reverse("stock:plan-item", args=[hose.pk]) in look(client_of(engineer), hose).content.decode()
    assert "An engineer can say" in text_of(look(client_of(assistant), hose))
    actions.plan_item(by=engineer, once=once(), item=hose, version=1, expected_weekly=2.0)
    text = text_of(look(client_of(engineer), hose))
    assert "2.0 a week. No use is on record yet: this rests on the use a week that the room expects." in text
    assert "three weeks were guessed to start from. The item has no usual supplier." in text
    assert "Not tried" in text


def test_no_longer_kept(shelf, client_of, engineer):
    Item.objects.filter(pk=shelf["part"].pk).update(is_active=False)
    assert "No longer kept" in text_of(look(client_of(engineer), shelf["part"]))
    assert client_of(engineer).get(reverse("stock:item-outlook", args=[999])).status_code == 404


def test_in_the_reader_s_units(shelf, client_of, engineer):
    engineer.liquid_unit = "gal"
    engineer.save()
    text = text_of(look(client_of(engineer), shelf["liquid"]))
    assert "1.321\u00a0US gal usable".replace("\u00a0", " ") in text
    assert " ml" not in text


# What if --------------------------------------------------------------------------------------------------------------


def tried(answer):
    """The comparison on the page: by figure, as it is and as tried."""
    page = answer.content.decode()
    if "As it is, and as it would be" not in page:
        return {}
    cells = re.findall(r'<td data-label="[^"]+"(?: class="num")?>(.*?)</td>', page.split("as it would be")[1])
    plain = [re.sub(r"<[^>]+>", "", cell) for cell in cells]
    return {plain[n]: (plain[n + 1], plain[n + 2]) for n in range(0, 21, 3)}


def test_a_higher_service_level_orders_at_more(shelf, client_of, visitor):
    found = tried(look(client_of(visitor), shelf["blank"], service="99.9"))
    before, after = (int(value) for value in found["Time to order at or below"])
    assert after > before


def test_a_shorter_lead_time_orders_later(shelf, client_of, visitor):
    found = tried(look(client_of(visitor), shelf["blank"], lead_days="2"))
    before, after = (float(value) for value in found["Used until an order comes"])
    assert after < before
    assert found["Order by"][0] == "today"
    assert found["Order by"][1] != "today"


def test_an_extra_booking_runs_out_sooner(shelf, client_of, engineer):
    liquid = shelf["liquid"]
    day = clock.today() + timedelta(days=40)
    found = tried(look(client_of(engineer), liquid, extra="4.9", on=day.isoformat()))
    assert found["Runs out around"][0].startswith("not within")
    assert not found["Runs out around"][1].startswith("not within")


@pytest.mark.parametrize(
    ("typed", "field", "sentence"),
    [
        ({"service": "0.95"}, "service", "below 50"),
        ({"service": "100"}, "service", "above 99.9"),
        ({"service": "high"}, "service", "not a number"),
        ({"lead_days": "-1"}, "lead_days", "below 0"),
        ({"lead_days": "731"}, "lead_days", "above 730"),
        ({"lead_days": "2.5"}, "lead_days", "whole number"),
        ({"extra": "5"}, "on", "Say for which day."),
        ({"on": "2025-10-20"}, "extra", "Say how many."),
        ({"extra": "5", "on": "2025-09-30"}, "on", "from today on"),
        ({"extra": "5", "on": "2035-09-30"}, "on", "two years"),
        ({"extra": "5", "on": "soon"}, "on", "not a day"),
        ({"extra": "0", "on": "2025-10-20"}, "extra", "below 1"),
    ],
)
def test_what_can_not_be_tried_is_refused_at_its_field(shelf, client_of, engineer, typed, field, sentence):
    answer = look(client_of(engineer), shelf["blank"], **typed)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert sentence in page.split(f'id="id_{field}_error"')[1].split("</p>")[0]
    assert tried(answer) == {}
    assert "What it rests on" in page
    assert ">Look again</h2>" in page
    assert "Not saved" not in page


def test_the_longer_the_lead_time_tried_the_likelier_it_is_out_before(shelf, client_of, engineer):
    """Also past the day on which an open order makes good what was short."""
    client, blank = client_of(engineer), shelf["blank"]
    make_sent(engineer, (blank, 60), supplier=blank.supplier)
    named = "Chance of running out before an order placed today comes"
    said = [tried(look(client, blank, lead_days=days))[named][1] for days in (1, 5, 20, 35, 50, 120)]
    chances = [float(re.sub(r"[^0-9.]", "", words)) for words in said]
    assert chances == sorted(chances), said
    assert chances[0] < chances[-1]


def test_nothing_tried_shows_nothing_and_trying_keeps_nothing(shelf, client_of, engineer):
    keep_figures()
    before = list(ReorderFigure.objects.values())
    blank = shelf["blank"]
    assert tried(look(client_of(engineer), blank)) == {}
    assert tried(look(client_of(engineer), blank, service="", lead_days="", extra="", on="")) == {}
    look(client_of(engineer), blank, service="99")
    assert list(ReorderFigure.objects.values()) == before
    blank.refresh_from_db()
    assert blank.service_level == 0.95


# Elsewhere ------------------------------------------------------------------------------------------------------------


def test_the_shelf_and_the_item_say_when_to_order(shelf, client_of, engineer, at):
    client, blank = client_of(engineer), shelf["blank"]
    assert text_of(client.get(reverse("stock:items"))).count("order now") == 1
    page = client.get(blank.get_absolute_url())
    assert "Order now. Ordered today, the chance of running out before it comes is" in text_of(page)
    assert reverse("stock:item-outlook", args=[blank.pk]) in page.content.decode()
    assert "Nothing to order for half a year. Its outlook" in text_of(client.get(shelf["liquid"].get_absolute_url()))
    make_sent(engineer, (blank, 60), supplier=blank.supplier)
    assert "order now" not in text_of(client.get(reverse("stock:items")))
    assert "Order now" not in text_of(client.get(blank.get_absolute_url()))


def test_every_page_gives_the_same_day_to_order_by(shelf, client_of, engineer, at):
    """Also while the kept figures are behind: something was used, and another order of the supplier came early."""
    client, supplier = client_of(engineer), shelf["blank"].supplier
    item = make_item(engineer, "Filter", kind="part", supplier=supplier)
    lot = used_weekly(engineer, item, weekly=3, left=30)

    def said():
        day = r"(\d+)\s(Oct|Nov)"
        listed = next(row for row in rows(client.get(reverse("stock:outlook"))) if "Filter" in row)
        pages = [look(client, item), client.get(item.get_absolute_url()), client.get(reverse("stock:items"))]
        texts = [unescape(re.sub(r"<[^>]+>", " ", listed)), *(text_of(page) for page in pages)]
        by = rf"[Oo]rder by (?:[A-Z]\w+day )?{day}"
        found = [re.search(day if text is texts[0] else by, text) for text in texts]
        assert all(found), found
        return [match.groups() for match in found]

    keep_figures()
    before = said()
    assert len(set(before)) == 1
    use(engineer, lot, 2)
    receive_line(engineer, make_sent(engineer, (shelf["liquid"], 500), supplier=supplier).lines.get(), 500)
    after = said()
    assert len(set(after)) == 1
    assert after != before
    with at("2025-10-02 08:30"):
        assert len(set(said())) == 1

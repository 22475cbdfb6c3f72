"""What stands on the wall: the lists an engineer keeps, the page, and the card."""

from html import unescape
from uuid import uuid4

import pytest
from django.urls import reverse

from shop.people.models import Room
from shop.refusal import Changed, NotAllowed, Refused
from shop.safety import actions, queries
from shop.safety.actions import WantedExtinguisher, WantedNumber, WantedShutOff
from shop.safety.actions.wall import list_digest
from shop.safety.models import CallNumber, Extinguisher, ShutOff, Substance
from tests.safety.papers import headings, is_accessible, stands_within, words

pytestmark = pytest.mark.django_db

FIRE = WantedNumber("Fire service", "112", "Anything burns or smokes")
LISTS = {
    "call-numbers": (actions.keep_call_numbers, CallNumber, WantedNumber, FIRE),
    "shut-offs": (actions.keep_shut_offs, ShutOff, WantedShutOff, WantedShutOff("Mains", "By the door", "Down")),
    "extinguishers": (
        actions.keep_extinguishers,
        Extinguisher,
        WantedExtinguisher,
        WantedExtinguisher("Water, 6 l", "By the door", "chip, paper", "anything electrical"),
    ),
}


def keep(by, name, *rows, **other):
    act, model, wanted, _ = LISTS[name]
    return act(**{"by": by, "once": uuid4(), "rows": rows, "seen": list_digest(model, wanted), **other})


def said(answer):
    return " ".join(unescape(answer.content.decode()).split())


@pytest.fixture
def written(engineer, room_row):
    """A number, a shut-off, an extinguisher; chip and a solvent that say how they are put out."""
    for name, (*_, row) in LISTS.items():
        keep(engineer, name, row)
    Substance.objects.create(
        name="A solvent", slug="a-solvent", form="liquid", fire_use="Dry powder.", fire_never="A jet of water."
    )
    Substance.objects.create(
        name="Cut chip", slug="cut-chip", form="solid", fire_use="Water in plenty.", fire_never="Carbon dioxide, foam."
    )
    Substance.objects.create(name="Talc", slug="talc", form="solid")


# Keeping --------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", LISTS)
def test_keep_puts_rows_in_the_place_of_those_before(engineer, room_row, name):
    _, model, _, row = LISTS[name]
    keep(engineer, name, row)
    first, second = row.__class__("B", "2", *(["x"] * (len(vars(row)) - 2))), row
    assert keep(engineer, name, first, second) == Room.objects.get()
    assert [str(one) for one in model.objects.all()] == [str(model(**vars(first))), str(model(**vars(second)))]
    keep(engineer, name)
    assert not model.objects.exists()


@pytest.mark.parametrize("name", LISTS)
def test_keep_is_an_engineers(assistant, visitor, room_row, name):
    for person in (assistant, visitor):
        with pytest.raises(NotAllowed):
            keep(person, name, LISTS[name][3])
    assert not LISTS[name][1].objects.exists()


@pytest.mark.parametrize("name", LISTS)
def test_keep_twice_is_one_press(engineer, room_row, name):
    act, model, wanted, row = LISTS[name]
    token, seen = uuid4(), list_digest(model, wanted)
    for _ in range(2):
        act(by=engineer, once=token, rows=(row,), seen=seen)
    assert model.objects.count() == 1


@pytest.mark.parametrize("name", LISTS)
def test_keep_over_what_somebody_changed_meanwhile_is_refused(engineer, room_row, name):
    act, model, wanted, row = LISTS[name]
    seen = list_digest(model, wanted)
    keep(engineer, name, row)
    with pytest.raises(Changed):
        act(by=engineer, once=uuid4(), rows=(), seen=seen)
    assert model.objects.count() == 1


def test_a_number_without_a_digit_is_refused(engineer, room_row):
    with pytest.raises(Refused, match="no digit") as no:
        keep(engineer, "call-numbers", FIRE, WantedNumber("Mill", "ask Jo"))
    assert no.value.field == "rows.1.number"


def test_a_number_twice_is_refused(engineer, room_row):
    with pytest.raises(Refused, match="already"):
        keep(engineer, "call-numbers", FIRE, FIRE)


def test_a_number_of_nobody_is_refused(engineer, room_row):
    with pytest.raises(Refused) as no:
        keep(engineer, "call-numbers", WantedNumber(" ", "112"))
    assert no.value.field == "rows.0.name"


def test_an_extinguisher_says_what_it_must_not_be_used_on(engineer, room_row):
    with pytest.raises(Refused, match="must not be used on") as no:
        keep(engineer, "extinguishers", WantedExtinguisher("Water", "Door", "chip"))
    assert no.value.field == "rows.0.never_on"


@pytest.mark.parametrize("name", LISTS)
def test_more_than_the_card_holds_is_refused(engineer, room_row, name):
    row = LISTS[name][3]
    many = [row.__class__(f"{n}", f"{n}", *(["x"] * (len(vars(row)) - 2))) for n in range(9)]
    with pytest.raises(Refused, match="fit on the wall card"):
        keep(engineer, name, *many)


def test_a_number_is_dialled_without_what_parts_it():
    assert CallNumber(name="a", number="+00 (555) 01-42").dialled == "+00555" + "0142"
    assert CallNumber(name="a", number="٣ 112").dialled == "112"


# Pages ----------------------------------------------------------------------------------------------------------------


def test_the_form_begins_with_whom_to_call_and_keeps_what_has_a_number(engineer, room_row, client_of):
    client, address = client_of(engineer), reverse("safety:keep-call-numbers")
    form = client.get(address).context["form"]
    assert form["r0_name"].value() == "Fire service"
    assert form["r0_number"].value() is None
    typed = {"once": str(uuid4()), "rows": "4", "seen": form["seen"].value()}
    typed |= {"r0_name": "Fire service", "r0_number": "112", "r1_name": "Ambulance", "r1_number": ""}
    answer = client.post(address, typed)
    assert (answer.status_code, answer.url) == (302, reverse("safety:wall"))
    assert [str(one) for one in CallNumber.objects.all()] == ["Fire service: 112"]


def test_a_refusal_is_said_in_its_row(engineer, room_row, client_of):
    client, address = client_of(engineer), reverse("safety:keep-call-numbers")
    typed = {"once": str(uuid4()), "rows": "4", "seen": client.get(address).context["form"]["seen"].value()}
    answer = client.post(address, typed | {"r0_name": "A", "r0_number": "", "r2_name": "B", "r2_number": "none"})
    assert answer.status_code == 422
    assert "no digit" in str(answer.context["form"]["r2_number"].errors)


def test_two_more_rows_keep_what_was_typed(engineer, room_row, client_of):
    answer = client_of(engineer).post(
        reverse("safety:keep-call-numbers"), {"more": "1", "rows": "4", "r0_name": "Mill", "r0_number": "12"}
    )
    form = answer.context["form"]
    assert form.row_count == 6
    assert form["r0_number"].value() == "12"


def test_a_stale_form_shows_what_is_kept_and_may_be_pressed_again(engineer, room_row, client_of):
    client, address = client_of(engineer), reverse("safety:keep-call-numbers")
    typed = {"rows": "1", "seen": client.get(address).context["form"]["seen"].value(), "r0_name": "A", "r0_number": "1"}
    keep(engineer, "call-numbers", WantedNumber("Fire service", "112"))
    answer = client.post(address, typed | {"once": str(uuid4())})
    assert answer.status_code == 422
    assert "Kept now: Fire service, 112" in said(answer).replace("<p>", "").replace("</p>", "").replace("<ul><li>", " ")
    typed["seen"] = answer.context["form"]["seen"].value()
    assert client.post(address, typed | {"once": str(uuid4())}).status_code == 302
    assert [str(one) for one in CallNumber.objects.all()] == ["A: 1"]


def test_the_page_shows_numbers_and_chips_own_rule_first(written, visitor, client_of):
    answer = client_of(visitor).get(reverse("safety:wall"))
    text = said(answer)
    assert 'href="tel:112"' in text
    assert [one.name for one in answer.context["wall"].fires] == ["Cut chip", "A solvent"]
    assert text.index("Water in plenty.") < text.index("A jet of water.")
    assert "Change the numbers" not in text
    assert "safety data sheet" in text


def test_what_says_nothing_of_fire_is_named_and_not_left_out(written, visitor, client_of):
    Substance.objects.create(name="Gone", slug="gone", form="solid", is_active=False)
    client = client_of(visitor)
    assert "Not written down for Talc: section 5" in said(client.get(reverse("safety:wall")))
    assert "Not written down for Talc: section 5" in " ".join(words(card(client))[0].split())
    Substance.objects.filter(name="Talc").delete()
    assert "Not written down for" not in said(client.get(reverse("safety:wall")))


def test_an_empty_page_says_what_to_do_first(engineer, room_row, client_of):
    text = said(client_of(engineer).get(reverse("safety:wall")))
    assert "Write down the numbers" in text
    assert "No number is kept yet" in text


def test_the_page_takes_few_queries(written, assistant, client_of, django_assert_max_num_queries):
    client = client_of(assistant)
    with django_assert_max_num_queries(8):
        client.get(reverse("safety:wall"))


# The card -------------------------------------------------------------------------------------------------------------


def card(client):
    answer = client.get(reverse("safety:wall-card"))
    assert answer["Content-Type"] == "application/pdf", answer.content[:500]
    return answer.content


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_card_is_one_accessible_page(written, room_row, client_of, assistant, tmp_path, paper):
    Room.objects.update(paper=paper)
    made = card(client_of(assistant))
    (text,) = words(made)
    for part in ("Fire service", "112", "By the door", "Water, 6 l", "Never on anything electrical", "Mains"):
        assert part in text
    assert text.index("Water in plenty.") < text.index("Dry powder.")
    assert "safety data sheet" in text
    stands_within(made, paper, tmp_path, margin_mm=8)
    is_accessible(made, tmp_path)
    assert headings(made)[0][0] == "H1"


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_full_card_is_still_one_page(engineer, room_row, client_of, tmp_path, paper):
    Room.objects.update(paper=paper)
    keep(engineer, "call-numbers", *(WantedNumber(f"Somebody {n}", f"0800 555 01{n}", "At any hour") for n in range(8)))
    keep(engineer, "shut-offs", *(WantedShutOff(f"Thing {n}", "In the grey cupboard", "Down") for n in range(8)))
    keep(
        engineer,
        "extinguishers",
        *(WantedExtinguisher(f"Extinguisher {n}", "By the door", "chip", "electrical things") for n in range(6)),
    )
    for n in range(4):
        Substance.objects.create(name=f"S{n}", slug=f"s{n}", form="liquid", fire_use="Powder " * 6, fire_never="Water")
    made = card(client_of(engineer))
    assert len(words(made)) == 1
    assert "Somebody 7" in words(made)[0]
    stands_within(made, paper, tmp_path, margin_mm=8)


def test_what_does_not_fit_says_so_and_is_not_cut(engineer, room_row, client_of, tmp_path):
    for n in range(40):
        Substance.objects.create(name=f"S{n:02}", slug=f"s{n}", form="liquid", fire_use="Dry powder " * 20)
    made = card(client_of(engineer))
    pages = words(made)
    assert len(pages) > 1
    assert "takes more than one page" in pages[0]
    assert all(any(f"S{n:02}" in page for page in pages) for n in range(40))
    stands_within(made, "A4", tmp_path, margin_mm=8)


def test_a_card_without_numbers_leaves_a_line_for_them(room_row, assistant, client_of, tmp_path):
    (text,) = words(card(client_of(assistant)))
    assert "write it here by hand" in text
    assert queries.call_numbers() == []

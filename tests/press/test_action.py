"""One press is one record, by someone who may, or nothing at all is written."""

from datetime import UTC, date, datetime
from decimal import Decimal
from uuid import UUID, uuid4

import pytest
from django.db import IntegrityError, transaction

from shop.people.models import EVERYONE, HANDS, OWNERS
from shop.press.action import action, digest_of
from shop.press.models import Line, Press
from shop.refusal import Doubt, NotAllowed, Refused, TokenTrouble, ask_unless_sure
from shop.stock.models import Supplier
from tests.makers import together


@action(roles=HANDS)
def note_supplier(*, by, name, note="", sure=()):
    """An action for these tests: writes one row, and refuses and doubts on request."""
    supplier = Supplier.objects.create(name=name, note=note)
    if name == "refused":
        raise Refused("Not that name.", field="name")
    if name == "odd":
        ask_unless_sure([Doubt("odd-name", "name", "An odd name.")], sure)
    return supplier


@action(roles=OWNERS)
def for_owners(*, by, name):
    return Supplier.objects.create(name=name)


@action(roles=HANDS, unsigned=lambda typed: typed["name"].startswith("nameless"))
def maybe_nameless(*, by, name):
    return Supplier.objects.create(name=name, note=by.name if by is not None else "nobody")


@action(roles=EVERYONE)
def leaves_nothing(*, by):
    Supplier.objects.create(name=f"by {by.sign_in}")


def test_an_action_gives_the_record_and_remembers_the_press(engineer):
    token = uuid4()
    supplier = note_supplier(by=engineer, once=token, name="Quillmoor")
    press = Press.objects.get()
    assert (press.token, press.by, press.result_model, press.result_pk) == (
        token,
        engineer,
        "stock.supplier",
        str(supplier.pk),
    )
    assert press.act.endswith("note_supplier")


def test_the_same_press_again_gives_the_first_record(engineer):
    token = uuid4()
    first = note_supplier(by=engineer, once=token, name="Quillmoor")
    again = note_supplier(by=engineer, once=token, name="Quillmoor")
    assert again == first
    assert Supplier.objects.count() == Press.objects.count() == 1


def test_what_is_done_without_a_name_is_done_by_nobody(engineer, assistant, visitor):
    token = uuid4()
    made = maybe_nameless(by=engineer, once=token, name="nameless wash")
    assert made.note == "nobody"
    assert Press.objects.get().by is None
    assert (Line.objects.get().by, Line.objects.get().who) == (None, "")
    assert maybe_nameless(by=assistant, once=token, name="nameless wash") == made
    with pytest.raises(NotAllowed):
        maybe_nameless(by=visitor, once=uuid4(), name="nameless wash")
    named = maybe_nameless(by=engineer, once=uuid4(), name="wash")
    assert named.note == engineer.name
    assert set(Press.objects.values_list("by", flat=True)) == {None, engineer.pk}


def test_a_token_that_was_used_without_a_name_is_not_good_for_one_with_and_the_other_way(engineer):
    for first, second in (("nameless a", "b"), ("c", "nameless d")):
        token = uuid4()
        maybe_nameless(by=engineer, once=token, name=first)
        with pytest.raises(TokenTrouble):
            maybe_nameless(by=engineer, once=token, name=second)


def test_another_press_with_the_same_values_is_another_record(engineer):
    one = note_supplier(by=engineer, once=uuid4(), name="Quillmoor")
    other = note_supplier(by=engineer, once=uuid4(), name="Quillmoor 2")
    assert one != other
    assert Supplier.objects.count() == 2


def test_a_token_used_for_other_values_is_refused(engineer):
    token = uuid4()
    note_supplier(by=engineer, once=token, name="Quillmoor")
    with pytest.raises(TokenTrouble, match="already saved") as refused:
        note_supplier(by=engineer, once=token, name="Other")
    assert refused.value.status == 409
    assert list(Supplier.objects.values_list("name", flat=True)) == ["Quillmoor"]


def test_another_persons_token_is_refused(engineer, assistant):
    token = uuid4()
    note_supplier(by=engineer, once=token, name="Quillmoor")
    with pytest.raises(TokenTrouble, match="someone or something else"):
        note_supplier(by=assistant, once=token, name="Quillmoor")
    assert Supplier.objects.count() == 1


def test_a_token_of_another_action_is_refused(owner):
    token = uuid4()
    note_supplier(by=owner, once=token, name="Quillmoor")
    with pytest.raises(TokenTrouble, match="someone or something else"):
        for_owners(by=owner, once=token, name="Quillmoor")


def test_a_missing_token_writes_nothing(engineer):
    with pytest.raises(TokenTrouble, match="lost its one-time token"):
        note_supplier(by=engineer, once=None, name="Quillmoor")
    assert not Supplier.objects.exists()


def test_a_refusal_writes_nothing_and_leaves_the_token_usable(engineer):
    token = uuid4()
    with pytest.raises(Refused, match="Not that name"):
        note_supplier(by=engineer, once=token, name="refused")
    assert not Supplier.objects.exists()
    assert not Press.objects.exists()
    assert note_supplier(by=engineer, once=token, name="Quillmoor").pk


@pytest.mark.django_db(transaction=True)
def test_a_fault_writes_nothing_and_leaves_the_token_usable(engineer):
    token = uuid4()
    note_supplier(by=engineer, once=uuid4(), name="Quillmoor")
    with pytest.raises(IntegrityError):
        note_supplier(by=engineer, once=token, name="Quillmoor")
    assert not Press.objects.filter(token=token).exists()


def test_confirming_a_doubt_is_the_same_press(engineer):
    token = uuid4()
    with pytest.raises(Refused, match="odd name"):
        note_supplier(by=engineer, once=token, name="odd")
    first = note_supplier(by=engineer, once=token, name="odd", sure=["odd-name"])
    assert note_supplier(by=engineer, once=token, name="odd", sure=["odd-name"]) == first


def test_a_visitor_is_not_allowed(visitor):
    with pytest.raises(NotAllowed) as refused:
        note_supplier(by=visitor, once=uuid4(), name="Quillmoor")
    assert refused.value.status == 403
    assert not Supplier.objects.exists()
    assert not Press.objects.exists()


def test_a_role_that_does_not_reach_is_not_allowed(engineer):
    with pytest.raises(NotAllowed):
        for_owners(by=engineer, once=uuid4(), name="Quillmoor")


def test_somebody_who_has_left_is_not_allowed(engineer):
    engineer.is_active = False
    with pytest.raises(NotAllowed):
        note_supplier(by=engineer, once=uuid4(), name="Quillmoor")


def test_an_action_that_makes_no_record_still_runs_once(engineer):
    token = uuid4()
    assert leaves_nothing(by=engineer, once=token) is None
    assert leaves_nothing(by=engineer, once=token) is None
    assert Supplier.objects.count() == 1


def test_keywords_only(engineer):
    with pytest.raises(TypeError, match="keywords only"):
        note_supplier("Quillmoor", by=engineer, once=uuid4())


def test_an_action_names_its_roles():
    assert note_supplier.roles == HANDS


@pytest.mark.django_db(transaction=True)
def test_an_action_opens_the_outermost_transaction(engineer):
    with transaction.atomic(), pytest.raises(RuntimeError, match="durable"):
        note_supplier(by=engineer, once=uuid4(), name="Quillmoor")


@pytest.mark.django_db(transaction=True)
def test_two_presses_at_once_make_one_record(engineer):
    token = uuid4()

    def press():
        return note_supplier(by=engineer, once=token, name="Quillmoor")

    results = together(press, press, press, press)
    assert {supplier.pk for supplier in results} == {Supplier.objects.get().pk}
    assert Press.objects.count() == 1


class TestDigest:
    """The fingerprint of what was typed."""

    def test_differs_with_any_value(self, db):
        made = {
            digest_of(typed)
            for typed in [
                {},
                {"a": 1},
                {"a": "1"},
                {"a": 2},
                {"b": 1},
                {"a": [1, 2]},
                {"a": [2, 1]},
                {"a": {"x": 1}},
                {"a": None},
                {"a": ""},
                {"a": Decimal("1.10")},
                {"a": date(2025, 3, 3)},
                {"a": datetime(2025, 3, 3, tzinfo=UTC)},
                {"a": Supplier(pk=1)},
                {"a": Supplier(pk=2)},
            ]
        }
        assert len(made) == 15

    def test_is_the_same_for_the_same_deed(self):
        token = UUID(int=7)
        one = digest_of({"a": 1, "b": {"y", "x"}, "c": token, "sure": []})
        other = digest_of({"c": UUID(int=7), "b": {"x", "y"}, "a": 1, "sure": ["odd"]})
        assert one == other

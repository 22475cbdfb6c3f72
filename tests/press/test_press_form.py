"""The form that every writing page is made of: once, sure, and nothing typed lost."""

from uuid import UUID, uuid4

import pytest
from django import forms
from django.http import QueryDict
from django.template.loader import render_to_string
from django.test import RequestFactory

from shop.people.models import HANDS
from shop.press.action import action
from shop.press.forms import PressForm
from shop.refusal import Doubt, NotAllowed, Refused, TokenTrouble, ask_unless_sure
from shop.stock.models import Supplier


@action(roles=HANDS)
def note_supplier(*, by, name, note="", lead_days=None, sure=()):
    if name == "refused":
        raise Refused("Not that name.", field="name")
    if name == "nowhere":
        raise Refused("Not today.", field="not a field")
    if name == "odd":
        ask_unless_sure([Doubt("odd-name", "name", "An odd name."), Doubt("odd-day", "no field", "An odd day.")], sure)
    return Supplier.objects.create(name=name, note=note, lead_days=lead_days)


@action(roles=HANDS)
def without_doubts(*, by, name):
    return Supplier.objects.create(name=name)


class SupplierForm(PressForm):
    not_typed = ("aside",)

    name = forms.CharField(max_length=20)
    note = forms.CharField(required=False)
    aside = forms.CharField(required=False)


def typed(**values):
    data = QueryDict(mutable=True)
    for name, value in values.items():
        data.setlist(name, value if isinstance(value, list) else [str(value)])
    return data


def test_a_fresh_form_has_a_token_and_status_200(engineer):
    form = SupplierForm(None, person=engineer)
    assert UUID(form.token)
    assert form.http_status == 200
    assert SupplierForm(None, person=engineer).token != form.token or form.token is None


def test_a_press_calls_the_action_with_what_was_typed_and_given(engineer):
    form = SupplierForm(typed(once=uuid4(), name="Quillmoor", note="by rail", aside="not for it"), person=engineer)
    supplier = form.press(note_supplier, by=engineer, lead_days=12)
    assert (supplier.name, supplier.note, supplier.lead_days) == ("Quillmoor", "by rail", 12)


def test_a_press_twice_makes_one_record(engineer):
    data = typed(once=uuid4(), name="Quillmoor")
    first, second = (SupplierForm(data, person=engineer).press(note_supplier, by=engineer) for _ in range(2))
    assert first == second
    assert Supplier.objects.count() == 1


def test_bad_input_keeps_the_token_and_what_was_typed(engineer):
    token = uuid4()
    form = SupplierForm(typed(once=token, name="x" * 21, note="kept"), person=engineer)
    assert form.press(note_supplier, by=engineer) is None
    assert form.http_status == 422
    assert form.token == str(token)
    assert form["note"].value() == "kept"
    assert not Supplier.objects.exists()


def test_a_refusal_stands_at_its_field(engineer):
    form = SupplierForm(typed(once=uuid4(), name="refused"), person=engineer)
    assert form.press(note_supplier, by=engineer) is None
    assert form.errors["name"] == ["Not that name."]
    assert form.http_status == 422


def test_a_refusal_with_no_field_here_stands_at_the_top(engineer):
    form = SupplierForm(typed(once=uuid4(), name="nowhere"), person=engineer)
    form.press(note_supplier, by=engineer)
    assert form.non_field_errors() == ["Not today."]


def test_doubts_are_shown_and_go_through_when_confirmed(engineer):
    token = uuid4()
    form = SupplierForm(typed(once=token, name="odd"), person=engineer)
    assert form.press(note_supplier, by=engineer) is None
    assert [doubt.key for doubt in form.doubts] == ["odd-name", "odd-day"]
    assert form.errors["name"] == ["An odd name."]
    assert form.non_field_errors() == ["An odd day."]

    half = SupplierForm(typed(once=token, name="odd", sure=["odd-day"]), person=engineer)
    assert half.press(note_supplier, by=engineer) is None
    assert [doubt.key for doubt in half.doubts] == ["odd-name"]

    sure = SupplierForm(typed(once=token, name="odd", sure=["odd-name", "odd-day"]), person=engineer)
    assert sure.press(note_supplier, by=engineer).name == "odd"


def test_sure_goes_only_to_actions_that_doubt(engineer):
    form = SupplierForm(typed(once=uuid4(), name="plain", sure=["anything"]), person=engineer)
    form.not_typed = ("aside", "note")
    assert form.press(without_doubts, by=engineer).name == "plain"


def test_a_press_with_nothing_in_it_is_refused_like_any_other(engineer):
    form = SupplierForm(None, person=engineer)
    assert form.press(note_supplier, by=engineer) is None
    assert form.http_status == 422
    assert "name" in form.errors
    assert form.cleaned_data == {"once": None, "sure": [], "note": "", "aside": ""}


@pytest.mark.parametrize("token", ["", "not-a-token", "12345678-1234"])
def test_a_missing_or_mangled_token_writes_nothing_and_gets_a_fresh_one(engineer, token):
    form = SupplierForm(typed(once=token, name="Quillmoor"), person=engineer)
    assert form.press(note_supplier, by=engineer) is None
    assert form.errors
    assert form.http_status == 422
    assert UUID(form.token)
    assert not Supplier.objects.exists()


def test_a_token_used_with_other_values_brings_the_form_back_with_a_fresh_one(engineer):
    token = uuid4()
    first = SupplierForm(typed(once=token, name="Quillmoor"), person=engineer).press(note_supplier, by=engineer)
    again = SupplierForm(typed(once=token, name="Other", note="kept", sure=["x"]), person=engineer)
    assert again.press(note_supplier, by=engineer) is None
    assert again.http_status == 409
    assert again.refused == "Not saved a second time"
    (sentence,) = again.non_field_errors()
    assert "already saved" in sentence
    assert again.first == first
    assert (again["name"].value(), again["note"].value(), again.sure_keys) == ("Other", "kept", ["x"])
    assert UUID(again.token) != token
    assert again.token == again.token
    assert list(Supplier.objects.values_list("name", flat=True)) == ["Quillmoor"]
    # pressed as it came back it is a second record, and once only
    second = typed(once=again.token, name=again["name"].value(), note=again["note"].value())
    made = {SupplierForm(second, person=engineer).press(note_supplier, by=engineer) for _ in range(2)}
    assert [one.name for one in made] == ["Other"]
    assert Supplier.objects.count() == 2


def test_the_summary_says_that_the_first_was_saved_and_leads_to_it(engineer):
    form = SupplierForm(typed(once=uuid4(), name="Other"), person=engineer)
    first = Supplier.objects.create(name="<b>Quillmoor</b>")

    @action(roles=HANDS)
    def spent(*, by, name, note):
        raise TokenTrouble("Saved before.", was_saved=True, first=first)

    assert form.press(spent, by=engineer) is None
    page = render_to_string("parts/errors.html", {"form": form}, request=RequestFactory().post("/"))
    assert "Not saved a second time</h2>" in page
    assert "Saved before." in page
    assert f'href="{first.get_absolute_url()}">What was saved the first time: &lt;b&gt;Quillmoor' in page


def test_another_persons_token_brings_the_form_back_and_shows_nothing_of_theirs(engineer, assistant):
    token = uuid4()
    SupplierForm(typed(once=token, name="Quillmoor"), person=engineer).press(note_supplier, by=engineer)
    theirs = SupplierForm(typed(once=token, name="Mine"), person=assistant)
    assert theirs.press(note_supplier, by=assistant) is None
    assert theirs.http_status == 409
    assert theirs.refused == "Not saved"
    assert theirs.first is None
    assert theirs["name"].value() == "Mine"
    assert UUID(theirs.token) != token
    assert Supplier.objects.count() == 1


def test_a_role_that_may_not_is_a_page_of_its_own(visitor):
    with pytest.raises(NotAllowed):
        SupplierForm(typed(once=uuid4(), name="Quillmoor"), person=visitor).press(note_supplier, by=visitor)


def test_fields_that_speak_units_are_told_the_person(engineer):
    told = []

    class Speaking(forms.CharField):
        def speak_to(self, person):
            told.append(person)

    class Form(PressForm):
        word = Speaking()

    Form(None, person=engineer)
    assert told == [engineer]


@pytest.mark.parametrize(
    ("doubt", "words"),
    [
        (Doubt("k", "name", "An odd name."), "It is right all the same: An odd name."),
        (Doubt("k", "name", "Was it done once more?"), "Yes: Was it done once more?"),
        (Doubt("k", "name", "That is 1.5 l. Is a minus missing?"), "It is right all the same: That is 1.5 l."),
        (Doubt("k", "name", "That day is gone. Keep it all the same?"), "Keep it all the same: That day is gone."),
        (Doubt("k", "name", "Was it left out?", confirm="Left out: Wipe"), "Left out: Wipe"),
        (Doubt("k", "no field", "An odd day."), "It is right all the same: An odd day."),
    ],
)
def test_the_tick_of_a_doubt_says_what_it_confirms_not_what_the_box_is_called(engineer, doubt, words):
    form = SupplierForm(typed(once=uuid4(), name="odd"), person=engineer)
    form.doubts = (doubt,)
    page = "".join(
        render_to_string(f"parts/{part}.html", {"form": form, "field": form["name"]})
        for part in ("press", "field_errors")
    )
    assert f'value="k"><span>{words}</span>' in page
    assert "It is right: Name" not in page

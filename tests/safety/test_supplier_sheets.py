"""Taking in suppliers' sheets: which is in force, what is refused or asked about, what is kept, and the pages."""

import os
import re
from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.conf import settings
from django.db import DatabaseError, transaction
from django.urls import reverse

from shop import clock
from shop.concern import Grade
from shop.demo.safety.plain_pdf import plain_pdf
from shop.press.models import Press
from shop.refusal import Changed, Doubtful, NotAllowed, Refused
from shop.safety import actions, queries
from shop.safety.concerns import concerns
from shop.safety.models import SafetyRules, SupplierSheet, SupplierSheetWithdrawn
from shop.safety.sheet_files import kept
from tests.makers import together
from tests.safety.sheets import add_sheet, kept_sheet, make_substance, sheet_lines, upload


@pytest.fixture(autouse=True)
def monday(room_row, at):
    with at("2025-03-03 09:10"):
        yield


@pytest.fixture
def wash(room_row):
    return make_substance()


def add(by, substance, **other):
    usual = {
        "sheet": other.pop("sheet", None) or kept_sheet(),
        "revised_on": date(2024, 3, 15),
        "supplier_name": "Fennimore Fluids",
        "says_signal": "Danger",
        "says_h": ["H225"],
    }
    return actions.add_supplier_sheet(by=by, once=uuid4(), substance=substance, **usual | other)


# Taking in ------------------------------------------------------------------------------------------------------------


def test_it_is_kept_as_it_came_with_what_it_says(engineer, wash):
    sheet = add_sheet(engineer, wash)
    assert (sheet.pages, sheet.language, sheet.by, sheet.called) == (2, "en", engineer, "wash.pdf")
    assert sheet.first_pages == {"1": 1, "2": 1, "3": 1, "4": 2, "5": 2}
    assert (sheet.says_signal, sheet.says_h, sheet.says_p) == ("Danger", ["H225", "H319"], ["P210", "P303+P361+P353"])
    assert len(kept.content_of(sheet)) == sheet.size
    assert queries.supplier_sheet_in_force(wash) == sheet


@pytest.mark.parametrize(
    ("typed", "field", "sentence"),
    [
        ({"revised_on": date(2025, 3, 4)}, "revised_on", "in the future"),
        ({"revised_on": date(1969, 3, 4)}, "revised_on", "before 1970"),
        ({"language": "english please"}, "language", "by its tag"),
        ({"language": "e"}, "language", "by its tag"),
        ({"supplier_name": "  "}, "supplier_name", "whose sheet"),
        ({"says_signal": "Danger, Warning"}, "says_signal", "one signal word"),
        ({"says_h": ["H225", "H999"]}, "says_h", "There is no H statement H999"),
        ({"says_h": ["nonsense"]}, "says_h", "There is no H statement nonsense"),
        ({"says_h": ["P210"]}, "says_h", "P210 is no H statement"),
        ({"says_p": ["H225"]}, "says_p", "H225 is no P statement"),
        ({"says_p": ["P999"]}, "says_p", "There is no P statement P999"),
        ({"says_pictograms": ["GHS10"]}, "says_pictograms", "nine pictograms"),
        ({"note": "x" * 301}, "note", "300 characters"),
        ({"supplier_phone": "ask the office"}, "supplier_phone", "no digit"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(engineer, wash, typed, field, sentence):
    with pytest.raises(Refused) as no:
        add(engineer, wash, **typed)
    assert (no.value.field, sentence in no.value.sentence) == (field, True)
    assert not SupplierSheet.objects.exists()
    assert not Press.objects.exists()


def test_codes_are_written_as_the_lists_have_them(engineer, wash):
    sheet = add(
        engineer, wash, says_h=["euh066", "h319", "H225", "H225"], says_p=["p303+P361 + p353"], language="PT_br"
    )
    assert (sheet.says_h, sheet.says_p, sheet.language) == (["H225", "H319", "EUH066"], ["P303+P361+P353"], "pt-BR")


def test_a_section_two_that_says_nothing_is_asked_about(engineer, wash):
    with pytest.raises(Doubtful, match="no signal word and no H statement"):
        add(engineer, wash, says_signal="", says_h=[])
    assert add(engineer, wash, says_signal="", says_h=[], sure=["says-nothing"]).says_signal == ""


def test_an_older_one_is_asked_about_kept_and_does_not_replace(engineer, wash):
    newer = add_sheet(engineer, wash, date(2024, 3, 15))
    older = {"sheet": kept_sheet("Wash of old"), "revised_on": date(2020, 1, 2)}
    with pytest.raises(Doubtful, match="of 15 March 2024, which is later"):
        add(engineer, wash, **older)
    kept_too = add(engineer, wash, **older, sure=["older"])
    assert queries.supplier_sheet_in_force(wash) == newer
    assert set(queries.supplier_sheets_of(wash)) == {newer, kept_too}
    latest = add(engineer, wash, sheet=kept_sheet("Wash of late"), revised_on=date(2025, 1, 2))
    assert queries.supplier_sheet_in_force(wash) == latest


def test_of_the_same_day_the_later_taken_in_counts_once_it_was_asked(engineer, wash):
    add_sheet(engineer, wash)
    with pytest.raises(Doubtful, match="has that same date"):
        add(engineer, wash, sheet=kept_sheet("Other"))
    second = add(engineer, wash, sheet=kept_sheet("Another"), sure=["same-day"])
    assert queries.supplier_sheet_in_force(wash) == second


def test_each_language_has_its_own_in_force_and_the_latest_counts(engineer, wash):
    english = add_sheet(engineer, wash)
    german = add(engineer, wash, sheet=kept_sheet("Reiniger"), language="de", revised_on=date(2023, 1, 1))
    assert set(queries.supplier_sheets_in_force()) == {english, german}
    assert queries.supplier_sheets_in_force_of([wash, make_substance("Other")]) == {wash.pk: english}


def test_the_same_file_twice_is_refused_with_when_it_came(engineer, wash):
    add(engineer, wash)
    with pytest.raises(Refused, match="taken in for this substance on 3 March 2025") as no:
        add(engineer, wash)
    assert no.value.field == "file"
    assert add(engineer, make_substance("Other wash")).pk


@pytest.mark.django_db(transaction=True)
def test_the_same_file_by_two_at_once_is_kept_once(engineer, owner, wash):
    first, second = kept_sheet(), kept_sheet()
    done = together(
        lambda: add(engineer, wash, sheet=first, sure=["same-day"]),
        lambda: add(owner, wash, sheet=second, sure=["same-day"]),
    )
    assert SupplierSheet.objects.count() == 1
    assert sorted(type(one).__name__ for one in done) == ["Refused", "SupplierSheet"]


def test_a_press_repeated_is_one_sheet(engineer, wash):
    token, sheet = uuid4(), kept_sheet()
    facts = {"revised_on": date(2024, 3, 15), "supplier_name": "Fennimore Fluids", "says_signal": "Danger"}
    made = [
        actions.add_supplier_sheet(by=engineer, once=token, substance=wash, sheet=one, **facts)
        for one in (sheet, kept_sheet())
    ]
    assert made[0] == made[1]
    assert SupplierSheet.objects.count() == 1


def test_only_engineers_take_in_and_withdraw(assistant, visitor, engineer, wash):
    sheet = add_sheet(engineer, wash)
    for person in (assistant, visitor):
        with pytest.raises(NotAllowed):
            add(person, wash, sheet=kept_sheet("Other"))
        with pytest.raises(NotAllowed):
            actions.withdraw_supplier_sheet(by=person, once=uuid4(), sheet=sheet, why="x")


def test_a_sheet_is_never_changed_or_removed(engineer, wash):
    sheet = add_sheet(engineer, wash)
    for harm in (
        lambda: SupplierSheet.objects.filter(pk=sheet.pk).update(says_signal=""),
        lambda: SupplierSheet.objects.filter(pk=sheet.pk).delete(),
    ):
        with pytest.raises(DatabaseError, match="never changed or removed"), transaction.atomic():
            harm()


# Withdrawing ----------------------------------------------------------------------------------------------------------


def test_a_withdrawn_one_stays_and_the_one_before_is_in_force_again(engineer, wash):
    before = add_sheet(engineer, wash, date(2022, 1, 1))
    wrong = add_sheet(engineer, wash)
    actions.withdraw_supplier_sheet(by=engineer, once=uuid4(), sheet=wrong, why="Another product's.")
    assert queries.supplier_sheet_in_force(wash) == before
    assert SupplierSheet.objects.count() == 2
    with pytest.raises(Refused, match="taken in on 3 March 2025, and withdrawn: Another product's"):
        add(engineer, wash, sheet=kept_sheet(wash.name, revised="2024-03-15"))
    with pytest.raises(Changed, match="withdrawn already"):
        actions.withdraw_supplier_sheet(by=engineer, once=uuid4(), sheet=wrong, why="Again.")
    assert SupplierSheetWithdrawn.objects.count() == 1


def test_a_reason_is_needed(engineer, wash):
    with pytest.raises(Refused, match="Write something"):
        actions.withdraw_supplier_sheet(by=engineer, once=uuid4(), sheet=add_sheet(engineer, wash), why=" ")


# What worries ---------------------------------------------------------------------------------------------------------


def worries(**which):
    return [one for one in concerns(clock.now()) if one.key.startswith("safety:supplier-sheet")]


def test_substances_without_a_sheet_are_one_concern(engineer, wash):
    make_substance("Lamp oil")
    make_substance("Of old", is_active=False)
    (one,) = worries()
    assert (one.grade, one.headline) == (Grade.NOTE, "2 substances without a supplier's sheet")
    assert "Lamp oil, Spindle wash" in one.reason
    add_sheet(engineer, wash)
    (one,) = worries()
    assert one.headline == "Lamp oil: no supplier's sheet"


def test_what_is_given_no_class_here_is_a_note(wash, engineer):
    add_sheet(engineer, wash)
    make_substance("Cut thread", no_class_why="Who made it decides.")
    (one,) = worries()
    assert (one.grade, one.headline) == (Grade.NOTE, "Cut thread: no sheet of its maker")
    make_substance("Oil", no_class_why="Its supplier decides.")
    (one,) = worries()
    assert one.headline == "2 materials without a maker's sheet"
    assert "Cut thread, Oil" in one.reason


def test_a_withdrawn_sheet_is_none(engineer, wash):
    sheet = add_sheet(engineer, wash)
    assert worries() == []
    actions.withdraw_supplier_sheet(by=engineer, once=uuid4(), sheet=sheet, why="Another product's.")
    assert [(one.key, one.grade) for one in worries()] == [("safety:supplier-sheets:missing", Grade.NOTE)]


@pytest.mark.parametrize(
    ("revised", "years", "grade"),
    [
        (date(2022, 3, 4), 3, None),
        (date(2022, 3, 3), 3, Grade.NOTE),
        (date(2021, 3, 4), 3, Grade.NOTE),
        (date(2021, 3, 3), 3, Grade.CARE),
        (date(2022, 3, 3), 5, None),
        (date(2024, 3, 3), 1, Grade.NOTE),
    ],
)
def test_a_sheet_past_the_shops_own_years_is_a_note_and_a_year_later_care(engineer, wash, revised, years, grade):
    SafetyRules.objects.create(pk=1, sheet_years=years)
    add_sheet(engineer, wash, revised)
    assert [one.grade for one in worries()] == ([grade] if grade else [])


def test_without_rules_of_its_own_the_room_goes_by_three_years(engineer, wash):
    add_sheet(engineer, wash, date(2022, 3, 3))
    (one,) = worries()
    assert one.link == queries.supplier_sheet_in_force(wash).get_absolute_url()
    assert "after 3 years, which was on 3 March 2025" in one.reason


# Pages ----------------------------------------------------------------------------------------------------------------


def said(answer):
    return " ".join(answer.content.decode().split())


def send(client, substance, content=None):
    return client.post(reverse("safety:add-supplier-sheet", args=[substance.slug]), {"file": upload(content)})


def facts_of(form, **typed):
    usual = {
        "once": str(uuid4()),
        "kept": form.ticket,
        "supplier_name": "Fennimore Fluids",
        "revised_on": "2024-03-15",
        "language": "en",
        "says_signal": "Danger",
        "says_pictograms": ["GHS02"],
        "says_h": "H225, H319",
        "says_p": "P210; P303 + P361 + P353",
        "compared": "on",
    }
    return usual | typed


def test_what_was_read_stands_there_as_a_suggestion_to_be_compared(engineer, wash, client_of):
    client = client_of(engineer)
    answer = send(client, wash)
    form = answer.context["form"]
    assert answer.status_code == 200
    assert form["says_h"].value() == "H225, H319"
    assert form["says_p"].value() == "P210, P303+P361+P353"
    assert (form["says_signal"].value(), form["revised_on"].value()) == ("Danger", "2024-03-15")
    assert "It misreads. Compare every box with the sheet itself" in said(answer)
    address = reverse("safety:add-supplier-sheet", args=[wash.slug])
    unsaid = client.post(address, facts_of(form, compared=""))
    assert unsaid.context["form"].errors["compared"] == ["Compare what was filled in with the sheet, and say so here."]
    done = client.post(address, facts_of(form))
    sheet = SupplierSheet.objects.get()
    assert (done.status_code, done.url) == (302, sheet.get_absolute_url())
    assert sheet.says_p == ["P210", "P303+P361+P353"]


def test_two_signal_words_are_pointed_out_and_neither_is_chosen(engineer, wash, client_of):
    lines = sheet_lines()
    lines[0].insert(5, "Signal word: Warning")
    answer = send(client_of(engineer), wash, plain_pdf(lines))
    assert answer.context["form"]["says_signal"].value() in (None, "")
    assert "Both Danger and Warning stand in its section 2" in said(answer)


def test_a_file_without_words_asks_for_them_by_hand(engineer, wash, client_of):
    client = client_of(engineer)
    answer = send(client, wash, plain_pdf([[""]]))
    assert "Nothing could be read out of this file" in said(answer)
    assert "compared" not in answer.context["form"].fields
    address = reverse("safety:add-supplier-sheet", args=[wash.slug])
    typed = facts_of(answer.context["form"], says_signal="none", says_h="", says_p="", says_pictograms=[])
    asked = client.post(address, typed)
    assert [doubt.key for doubt in asked.context["form"].doubts] == ["says-nothing"]
    assert client.post(address, typed | {"sure": "says-nothing"}).status_code == 302
    sheet = SupplierSheet.objects.get()
    assert (sheet.says_signal, sheet.first_pages) == ("", {})
    assert "It gives no signal word." in said(client.get(sheet.get_absolute_url()))


def test_the_file_is_kept_through_refusals_and_is_the_senders_alone(engineer, owner, wash, client_of):
    client, address = client_of(engineer), reverse("safety:add-supplier-sheet", args=[wash.slug])
    form = send(client, wash).context["form"]
    again = client.post(address, facts_of(form, says_h="H225, H999", note="kept"))
    assert again.status_code == 422
    assert "There is no H statement H999" in said(again)
    assert 'value="kept"' in said(again)
    foreign = client_of(owner).post(address, facts_of(form))
    assert foreign.status_code == 422
    assert "The file is no longer here" in said(foreign)
    assert not SupplierSheet.objects.exists()
    assert client.post(address, facts_of(again.context["form"])).status_code == 302


def test_a_press_again_leads_to_the_first(engineer, wash, client_of):
    client, address = client_of(engineer), reverse("safety:add-supplier-sheet", args=[wash.slug])
    typed = facts_of(send(client, wash).context["form"])
    first, second = client.post(address, typed), client.post(address, typed)
    assert first.url == second.url
    assert SupplierSheet.objects.count() == 1


def test_the_file_goes_out_to_be_kept_and_is_run_nowhere(engineer, visitor, wash, client_of):
    sheet = add_sheet(engineer, wash)
    answer = client_of(visitor).get(reverse("safety:supplier-sheet-file", args=[sheet.pk]))
    assert answer.content == kept.content_of(sheet)
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"] == 'attachment; filename="spindle-wash-2024-03-15-en.pdf"'
    assert answer["Content-Security-Policy"] == "sandbox; default-src 'none'"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Cache-Control"] == "private, no-store"
    file = kept.file_of(sheet.file)
    assert not file.is_relative_to(settings.STATIC_ROOT)
    assert re.fullmatch(r"[0-9a-f]{32}", sheet.file)


def test_a_file_that_is_gone_or_damaged_is_said_to_be(engineer, wash, client_of):
    sheet = add_sheet(engineer, wash)
    address = reverse("safety:supplier-sheet-file", args=[sheet.pk])
    file = kept.file_of(sheet.file)
    file.write_bytes(file.read_bytes()[:-7] + b"%%EOF \n")
    assert client_of(engineer).get(address).status_code == 404
    file.unlink()
    answer = client_of(engineer).get(address)
    assert answer.status_code == 404
    assert "not on this machine as it was kept" in said(answer)


def test_a_stranger_gets_no_file(engineer, wash, client):
    sheet = add_sheet(engineer, wash)
    answer = client.get(reverse("safety:supplier-sheet-file", args=[sheet.pk]))
    assert (answer.status_code, answer.url.partition("?")[0]) == (302, reverse("people:sign-in"))


def test_the_pages_tell_how_each_stands(engineer, visitor, wash, client_of, django_assert_max_num_queries):
    older = add_sheet(engineer, wash, date(2020, 5, 1))
    sheet = add_sheet(engineer, wash)
    bare = make_substance("Lamp oil")
    client = client_of(visitor)
    with django_assert_max_num_queries(12):
        every = said(client.get(reverse("safety:supplier-sheets")))
    assert "15 March 2024</a>, Fennimore Fluids" in every
    assert "1 older" in every
    assert "No sheet in force" in every
    assert "29 CFR 1910.1020(d)(1)(ii)(B)" in every
    assert "Take one in" not in every
    with django_assert_max_num_queries(12):
        of_wash = said(client.get(reverse("safety:supplier-sheets-of", args=[wash.slug])))
    assert of_wash.index("15 Mar 2024") < of_wash.index("1 May 2020")
    with django_assert_max_num_queries(12):
        one = said(client.get(sheet.get_absolute_url()))
    assert "<span>First aid</span> <b>p. 2</b>" in one
    assert "H225</b> Highly flammable liquid and vapour." in one
    assert "replaces neither the supplier&#x27;s safety data sheet" in one or "replaces neither the supplier's" in one
    assert "An older one. In force is" in said(client.get(older.get_absolute_url()))
    assert "No sheet is kept for it yet" in said(client.get(reverse("safety:supplier-sheets-of", args=[bare.slug])))
    assert "Take one in" in said(client_of(engineer).get(reverse("safety:supplier-sheets")))


def test_withdrawing_on_its_page(engineer, wash, client_of):
    client, sheet = client_of(engineer), add_sheet(engineer, wash)
    address = reverse("safety:withdraw-supplier-sheet", args=[sheet.pk])
    assert client.post(address, {"once": str(uuid4()), "why": ""}).status_code == 422
    answer = client.post(address, {"once": str(uuid4()), "why": "Another product's."})
    assert (answer.status_code, answer.url) == (302, sheet.get_absolute_url())
    seen = said(client.get(sheet.get_absolute_url()))
    assert "Withdrawn on 3 March 2025 by Edvin Maarsk: Another product&#x27;s." in seen
    assert "It was taken in by mistake" not in seen
    assert "It was withdrawn on 3 March 2025" in said(client.get(address))


def test_files_that_no_sheet_took_up_go_after_two_days(engineer, wash):
    taken, old, fresh = add_sheet(engineer, wash).file, kept_sheet("Old").name, kept_sheet("Fresh").name
    past = (clock.now() - timedelta(days=3)).timestamp()
    now = clock.now().timestamp()
    for name, when in ((taken, past), (old, past), (fresh, now)):
        os.utime(kept.file_of(name), (when, when))
    kept.clear_unclaimed()
    assert [kept.file_of(name).exists() for name in (taken, old, fresh)] == [True, False, True]


@pytest.mark.parametrize("name", ["", "..", "a" * 31, "A" * 32, "../" + "a" * 29])
def test_only_our_names_name_a_file(name):
    with pytest.raises(ValueError, match="no such file"):
        kept.file_of(name)

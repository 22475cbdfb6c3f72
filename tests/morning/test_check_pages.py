"""The pages of checks: what they refuse, what they keep, what they show."""

from uuid import uuid4

import pytest

from shop.morning.models import Check, Overruling
from shop.room.models import Reading
from tests.morning.makers import (
    CAN,
    EXITS,
    LAMP,
    ask,
    correct_check,
    form_data,
    make_check,
    overrule,
)


def post_check(client, **typed):
    page = client.get("/check/")
    return client.post("/check/", form_data(page, **typed))


def errors_of(answer):
    return {name: list(errors) for name, errors in answer.context["form"].errors.items()}


# Making one -----------------------------------------------------------------------------------------------------------


def test_the_form_asks_the_rooms_own_list_in_its_order(hands):
    page = hands.get("/check/").content.decode()
    places = [page.index(text) for text in (EXITS, CAN, LAMP, "Room temperature", "Nitrogen gauge")]
    assert places == sorted(places)
    assert "No reading before this one." in page


def test_the_last_reading_stands_under_each_box(hands, assistant, at):
    make_check(assistant)
    with at("2025-03-04 08:00"):
        page = hands.get("/check/").content.decode()
    assert "Yesterday at 08:05: 190\u00a0bar" in page
    assert "Yesterday at 08:05: 45\u00a0%" in page


def test_signing_saves_it_and_shows_the_verdict(hands):
    answer = post_check(hands, note="Fine.")
    assert answer.status_code == 302
    assert answer["Location"] == "/"
    check = Check.objects.get()
    assert (check.verdict, check.note, check.signed_as) == ("clear", "Fine.", "Asta Pellow")
    page = hands.get("/").content.decode()
    assert "The check is signed: Clear to cut." in page


def test_a_no_with_its_note_is_kept(hands):
    post_check(hands, **{CAN: "no", f"{CAN} note": "Half full."})
    answer = Check.objects.get().answers.get(text=CAN)
    assert (answer.yes, answer.note) == (False, "Half full.")


def test_of_a_reading_and_why_there_is_none_neither_is_if_one_likes(hands, asked):
    page = post_check(hands, room_c="").content.decode()
    number = asked["room_c"].pk
    assert "Give the reading, or say why it can&#x27;t be read." in page
    for name in (f"q{number}", f"q{number}_note"):
        assert "if you like" not in page.split(f'for="id_{name}"')[1].split("</label>")[0]
    assert "if you like" in page.split(f'for="id_q{asked[CAN].pk}_note"')[1].split("</label>")[0]


@pytest.mark.parametrize(
    ("typed", "kept"), [("20,5", 20.5), (" 20.5 ", 20.5), ("68.9 F", 20.5), ("20.5 °C", 20.5), ("20", 20.0)]
)
def test_comma_spaces_and_a_typed_unit_are_taken(hands, typed, kept):
    assert post_check(hands, room_c=typed).status_code == 302
    assert Reading.objects.get(kind="room_c").value == pytest.approx(kept)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("twenty", "is not a number"),
        ("1e400", "is not a number"),
        ("9" * 60, "too long for a number"),
        ("999999999", "cannot be above"),
        ("20 psi", "is not a unit for this"),
        ("1,234", "1234, or 1.234"),
        ("", "Give the reading, or say why it can't be read."),
        ("<b>20</b>", "is not a number"),
    ],
)
def test_a_bad_reading_is_told_at_its_field_and_all_is_kept(hands, asked, typed, said):
    answer = post_check(hands, room_c=typed, **{CAN: "no", f"{CAN} note": "Half full."})
    assert answer.status_code == 422
    errors = errors_of(answer)
    assert list(errors) == [f"q{asked['room_c'].pk}"]
    assert said in errors[f"q{asked['room_c'].pk}"][0]
    page = answer.content.decode()
    assert "<title>Error: Morning check" in page
    assert "Half full." in page
    assert "<b>20</b>" not in page
    assert not Check.objects.exists()
    assert not Reading.objects.exists()


@pytest.mark.parametrize("unit", ["degC", "degF"])
@pytest.mark.parametrize("typed", ["-1000000000000", "-460", "-300", "-280", "-273.15", "-250", "155"])
def test_a_temperature_that_there_is_not_is_answered_in_a_sentence(hands, assistant, asked, typed, unit):
    assistant.temperature_unit = unit
    assistant.save()
    answer = post_check(hands, room_c=typed)
    assert answer.status_code == 422
    errors = errors_of(answer).get(f"q{asked['room_c'].pk}", [])
    (sentence,) = {*errors, *(doubt.sentence for doubt in answer.context["form"].doubts)}
    assert "Did you mean" not in sentence


def test_humidity_beyond_its_bounds_is_refused(hands, asked):
    for typed in ("101", "-3"):
        answer = post_check(hands, room_rh=typed)
        assert "between 0 and 100" in errors_of(answer)[f"q{asked['room_rh'].pk}"][0]
    assert not Check.objects.exists()


def test_an_unanswered_question_is_told(hands, asked):
    answer = post_check(hands, **{EXITS: ""})
    assert errors_of(answer) == {f"q{asked[EXITS].pk}": ["Answer yes or no."]}


def test_an_answer_that_is_neither_is_refused(hands, asked):
    assert f"q{asked[EXITS].pk}" in errors_of(post_check(hands, **{EXITS: "perhaps"}))


def test_a_temperature_in_the_wrong_unit_is_asked_about_once(hands, asked):
    page = hands.get("/check/")
    data = form_data(page, room_c="68")
    answer = hands.post("/check/", data)
    assert answer.status_code == 422
    (doubt,) = answer.context["form"].doubts
    assert "Did you mean 68 °F" in doubt.sentence
    assert f'value="{doubt.key}"' in answer.content.decode()
    assert not Check.objects.exists()
    assert hands.post("/check/", data | {"sure": [doubt.key]}).status_code == 302
    assert Reading.objects.get(kind="room_c").value == 68.0


def test_a_confirmed_doubt_does_not_confirm_another_value(hands, asked):
    data = form_data(hands.get("/check/"), room_c="68")
    (doubt,) = hands.post("/check/", data).context["form"].doubts
    data |= {f"q{asked['room_c'].pk}": "69", "sure": [doubt.key]}
    assert hands.post("/check/", data).status_code == 422
    assert not Check.objects.exists()


def test_a_gauge_above_the_service_pressure_or_rising_is_asked_about(hands, assistant, at):
    assert "above" in post_check(hands, nitrogen_bar="230").context["form"].doubts[0].sentence
    make_check(assistant, nitrogen_bar=185.0)
    with at("2025-03-04 08:00"):
        answer = post_check(hands, nitrogen_bar="199")
    assert answer.status_code == 422
    assert "does not rise by itself" in answer.context["form"].doubts[0].sentence
    assert Check.objects.count() == 1


def test_markup_in_a_note_is_shown_as_text(hands):
    post_check(hands, **{CAN: "no", f"{CAN} note": "<script>alert(1)</script>", "note": "<i>x</i>"})
    check = Check.objects.get()
    for address in ("/", f"/checks/{check.pk}/", f"/checks/{check.pk}/paper/"):
        page = hands.get(address).content.decode()
        assert "<script>alert(1)" not in page
        assert "<i>x</i>" not in page
        assert "&lt;script&gt;alert(1)" in page


def test_a_changed_list_is_looked_through_again(hands, engineer):
    data = form_data(hands.get("/check/"))
    extra = ask(engineer, "Is the kettle off?")
    data[f"q{extra.pk}"] = "yes"
    answer = hands.post("/check/", data)
    assert answer.status_code == 422
    assert "list was changed" in errors_of(answer)["__all__"][0]
    assert not Check.objects.exists()
    data["asked"] = answer.context["form"].fingerprint
    assert f'value="{data["asked"]}"' in answer.content.decode()
    assert hands.post("/check/", data).status_code == 302


def test_posted_twice_it_is_one(hands):
    data = form_data(hands.get("/check/"))
    assert hands.post("/check/", data).status_code == 302
    assert hands.post("/check/", data).status_code == 302
    assert Check.objects.count() == 1


def test_the_same_token_with_another_answer_is_told(hands):
    data = form_data(hands.get("/check/"))
    hands.post("/check/", data)
    other = next(name for name, value in data.items() if value == "yes")
    data[other] = "no"
    answer = hands.post("/check/", data)
    assert answer.status_code == 409
    page = answer.content.decode()
    assert f'href="{Check.objects.get().get_absolute_url()}">What was saved the first time' in page
    assert answer.context["form"][other].value() == "no"
    assert data["once"] not in page
    assert Check.objects.get().verdict == "clear"


@pytest.mark.parametrize("once", ["", "not a token"])
def test_a_missing_token_saves_nothing(hands, once):
    data = form_data(hands.get("/check/")) | {"once": once}
    answer = hands.post("/check/", data)
    assert answer.status_code == 422
    assert not Check.objects.exists()
    assert not Reading.objects.exists()


def test_a_stolen_token_saves_nothing(hands, desk):
    data = form_data(hands.get("/check/"))
    hands.post("/check/", data)
    assert desk.post("/check/", data).status_code == 409
    assert Check.objects.count() == 1


def test_a_second_check_says_there_is_one(hands, assistant):
    make_check(assistant)
    page = hands.get("/check/").content.decode()
    assert "Asta Pellow signed a check at 08:05 today" in page


def test_an_empty_list_says_what_to_do_first(engineer, assistant, client_of):
    assert "/questions/" in client_of(engineer).get("/check/").content.decode()
    assert "An engineer writes them first" in client_of(assistant).get("/check/").content.decode()


# Correcting and overruling --------------------------------------------------------------------------------------------


def test_a_correction_starts_from_what_was_given(hands, assistant, asked):
    check = make_check(assistant, no=[CAN], notes={CAN: "Half full."}, room_rh=41.0)
    page = hands.get(f"/checks/{check.pk}/correct/")
    text = page.content.decode()
    assert "Half full." in text
    assert 'value="41"' in text
    data = form_data(page, **{CAN: "yes", f"{CAN} note": "Half full.", "note": "Emptied."}, room_rh="41")
    answer = hands.post(f"/checks/{check.pk}/correct/", data)
    fresh = Check.objects.latest("id")
    assert answer["Location"] == f"/checks/{fresh.pk}/"
    assert (fresh.corrects, fresh.verdict) == (check, "clear")
    for place in ("", "paper/"):
        assert "Half full." not in hands.get(f"/checks/{fresh.pk}/{place}").content.decode()
    assert "Corrected since" in hands.get(f"/checks/{check.pk}/").content.decode()


def test_a_rounded_value_sent_back_untouched_is_the_same_reading(hands, assistant, asked):
    assistant.pressure_unit = "psi"
    assistant.save()
    check = make_check(assistant, nitrogen_bar=187.3)
    page = hands.get(f"/checks/{check.pk}/correct/")
    assert 'value="2717"' in page.content.decode()
    hands.post(f"/checks/{check.pk}/correct/", form_data(page, nitrogen_bar="2717", note="Only the lamp."))
    assert Check.objects.count() == 2
    assert Reading.objects.filter(kind="nitrogen_bar").count() == 1


def test_a_correction_without_a_word_is_refused(hands, assistant, asked):
    check = make_check(assistant)
    answer = hands.post(f"/checks/{check.pk}/correct/", form_data(hands.get(f"/checks/{check.pk}/correct/")))
    assert errors_of(answer) == {"note": ["Say what is put right, and why."]}


def test_one_that_cannot_be_corrected_says_why(hands, assistant, asked, at):
    check = make_check(assistant)
    correct_check(assistant, check)
    assert "has been corrected already" in hands.get(f"/checks/{check.pk}/correct/").content.decode()
    with at("2025-03-04 08:00"):
        assert "stays as it was given" in hands.get(f"/checks/{check.pk}/correct/").content.decode()


def test_the_latest_is_found_without_its_address(hands, assistant, asked, visitor, client_of):
    assert hands.get("/check/latest/correct/")["Location"] == "/check/"
    check = make_check(assistant)
    assert hands.get("/check/latest/correct/")["Location"] == f"/checks/{check.pk}/correct/"
    assert client_of(visitor).get("/check/latest/correct/")["Location"] == f"/checks/{check.pk}/"


def test_overruling_is_kept_and_shown(desk, assistant, asked):
    check = make_check(assistant, no=[CAN])
    page = desk.get(f"/checks/{check.pk}/overrule/")
    data = {"once": page.context["form"].token, "reason": "It stands outside."}
    assert desk.post(f"/checks/{check.pk}/overrule/", data).status_code == 302
    assert desk.post(f"/checks/{check.pk}/overrule/", data).status_code == 302
    assert Overruling.objects.count() == 1
    for address in ("/", f"/checks/{check.pk}/"):
        assert "Overruled by Edvin Maarsk at 08:05: It stands outside." in desk.get(address).content.decode()


def test_overruling_without_a_reason_is_refused(desk, assistant, asked):
    check = make_check(assistant, no=[CAN])
    answer = desk.post(f"/checks/{check.pk}/overrule/", {"once": str(uuid4()), "reason": " "})
    assert errors_of(answer) == {"reason": ["Give the reason; it is kept with the check."]}


# Reading them ---------------------------------------------------------------------------------------------------------


def test_a_check_speaks_the_readers_units(hands, desk, assistant, engineer, asked):
    check = make_check(assistant)
    engineer.pressure_unit, engineer.temperature_unit = "psi", "degF"
    engineer.save()
    assert "190\u00a0bar" in hands.get(f"/checks/{check.pk}/").content.decode()
    page = desk.get(f"/checks/{check.pk}/").content.decode()
    assert "2756\u00a0psi" in page
    assert "68.0\u00a0°F" in page


def test_a_reading_corrected_elsewhere_says_so_and_keeps_its_value(hands, assistant, engineer, asked):
    from shop.room import actions as room

    check = make_check(assistant)
    wrong = check.answers.get(question__reading="room_rh").reading
    room.correct_reading(by=engineer, once=uuid4(), reading=wrong, value=47.0, reason="Wrong line.")
    page = hands.get(f"/checks/{check.pk}/").content.decode()
    assert '45\u00a0%</b> <span class="quiet">corrected since' in page


def test_the_list_narrows_by_verdict_and_day_and_leafs(hands, assistant, asked, at):
    for day in range(1, 32):
        with at(f"2025-05-{day:02} 08:00"):
            make_check(assistant, no=[CAN] if day == 7 else [])
    with at("2025-05-31 09:00"):
        first = hands.get("/checks/")
        assert len(first.context["table"].rows) == 30
        assert "31 May 2025" in first.content.decode()
        second = hands.get(f"/checks/?from={first.context['leaf'].older}")
        assert [str(row.record.day) for row in second.context["table"].rows] == ["2025-05-01"]
        care = hands.get("/checks/?verdict=care")
        assert [str(row.record.day) for row in care.context["table"].rows] == ["2025-05-07"]
        one = hands.get("/checks/?day=2025-05-20")
        assert [str(row.record.day) for row in one.context["table"].rows] == ["2025-05-20"]
        assert hands.get("/checks/?day=yesterday").status_code == 200
        assert hands.get("/checks/?verdict=superb&from=o9999999999999999999").status_code == 200


def test_the_list_says_what_became_of_each(hands, assistant, engineer, asked):
    check = make_check(assistant, no=[CAN])
    overrule(engineer, correct_check(assistant, check, no=[CAN]))
    page = hands.get("/checks/").content.decode()
    assert "Corrected since" in page
    assert "Corrects an earlier one, overruled" in page
    assert "1 care" in page


def test_lists_and_pages_keep_to_their_queries(hands, assistant, asked, at, django_assert_max_num_queries):
    for day in range(1, 29):
        with at(f"2025-05-{day:02} 08:00"):
            check = make_check(assistant, no=[CAN])
    for address in ("/checks/", f"/checks/{check.pk}/", f"/checks/{check.pk}/paper/", "/check/"):
        with django_assert_max_num_queries(12):
            assert hands.get(address).status_code == 200


def test_whoever_logs_a_side_is_told_of_a_verdict_against_it(hands, asked, engineer, assistant, at):
    says = "Today's verdict: <b>"
    with at("2025-03-03 08:05"):
        assert says not in hands.get("/cutting/log-side/").content.decode()
        check = make_check(assistant, no=[EXITS])
        page = hands.get("/cutting/log-side/").content.decode()
        assert f'{says}Hold</b>. <a href="/">See why</a>' in page
        overrule(engineer, check)
        assert f"{says}Hold</b>, overruled by Edvin Maarsk. " in hands.get("/cutting/log-side/").content.decode()
    with at("2025-03-04 08:05"):
        assert says not in hands.get("/cutting/log-side/").content.decode()
        make_check(assistant)
        assert says not in hands.get("/cutting/log-side/").content.decode()

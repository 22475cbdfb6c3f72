"""Pages of going through a programme: what is next, cards, signing on whoever's device, questions, the record."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse

from shop import clock
from shop.people.models import Person, Role
from shop.training import actions, queries
from shop.training.models import (
    Answer,
    Authority,
    How,
    Programme,
    ProgrammeChange,
    ReadAgain,
    SelfSigning,
    SignOff,
    Step,
)
from tests.makers import PASSWORD, make_person
from tests.people.makers import CODE, make_code
from tests.safety import hazard_sheets
from tests.training.makers import answer, enrol, give, make_act, make_programme, make_question, sign, step_of
from tests.training.programme_makers import change


@pytest.fixture
def programme(db):
    made = make_programme("watch:Walk the exits", "do:Wet the chip", "answer:What burns", "read:Read the lamp")
    step_of(made, "Wet the chip").needs.add(step_of(made, "Walk the exits"))
    Step.objects.filter(title="Wet the chip").update(times=2, how="Pour.\nWait.", goes_wrong="Too little.", day=2)
    Step.objects.filter(title="Read the lamp").update(sheet="hot-lamp", refresh_months=12)
    make_question(step_of(made, "What burns"))
    return made


@pytest.fixture
def course(engineer, assistant, programme):
    return enrol(engineer, programme, assistant, mentor=engineer)


@pytest.fixture
def exits(programme):
    return step_of(programme, "Walk the exits")


def text(answer):
    return " ".join(answer.content.decode().split())


# What is next ---------------------------------------------------------------------------------------------------------


def test_what_is_next_and_with_whom(owner, engineer, assistant, course, client_of):
    page = text(client_of(assistant).get(reverse("training:next")))
    assert "0 of 4 steps done" in page
    assert f"With {engineer.name} or {owner.name}." in page
    assert "after Walk the exits" in page
    assert f"Day 1, with {engineer.name}" in page


def test_it_keeps_to_its_queries_however_many_acts_and_steps(
    owner, engineer, assistant, course, programme, client_of, django_assert_max_num_queries
):
    client = client_of(assistant)
    for number in range(8):
        act = make_act(owner, f"Act {number}")
        give(owner, act, owner)
        Step.objects.create(programme=programme, order=number, kind="show", title=f"Show {number}", act=act)
    client.get(reverse("training:next"))
    with django_assert_max_num_queries(18):
        client.get(reverse("training:next"))


def test_it_says_what_one_may_do_alone_and_with_whom_the_rest(owner, engineer, assistant, client_of):
    give(owner, make_act(owner, "Trim the felt"), assistant)
    give(owner, make_act(owner, "Fit the tip"), engineer)
    page = text(client_of(assistant).get(reverse("training:next")))
    alone, _, beside = page.partition("With somebody beside me")
    assert "Trim the felt" in alone
    assert "Fit the tip" not in alone
    assert f"<b>Fit the tip</b> <span>with {engineer.name}</span>" in beside


def test_it_says_what_changed_since_one_looked_until_one_has_seen_it(engineer, assistant, course, exits, client_of):
    ProgrammeChange.objects.create(
        programme=exits.programme, step=exits, what="Both doors now.", at=clock.now(), by=engineer
    )
    client = client_of(assistant)
    assert "Both doors now." in text(client.get(reverse("training:next")))
    done = client.post(reverse("training:see-changes", args=[course.pk]), {"once": uuid4()}, follow=True)
    assert "Both doors now." not in text(done)


def test_somebody_elses_changes_are_not_seen_for_them(engineer, course, client_of):
    answer = client_of(engineer).post(reverse("training:see-changes", args=[course.pk]), {"once": uuid4()})
    assert answer.status_code == 422


def test_a_stopped_programme_says_so_and_keeps_what_was_done(engineer, assistant, course, exits, client_of):
    sign(engineer, exits, assistant)
    Programme.objects.update(is_active=False)
    page = text(client_of(assistant).get(reverse("training:next")))
    assert "This programme is stopped" in page
    assert "1 of 4 steps done" in page


def test_the_board_says_who_is_behind(engineer, assistant, course, client_of, at):
    with at(f"{clock.today() + timedelta(days=5)} 09:00"):
        page = text(client_of(engineer).get(reverse("training:board")))
    assert assistant.name in page
    assert "1 behind the plan." in page


def test_the_board_keeps_to_its_queries(
    owner, engineer, assistant, programme, client_of, django_assert_max_num_queries
):
    for number in range(5):
        enrol(owner, programme, make_person(f"p{number}", f"Person {number}", Role.ASSISTANT))
    client = client_of(owner)
    with django_assert_max_num_queries(12):
        client.get(reverse("training:board"))


def test_a_card_tells_how_why_and_what_goes_wrong(engineer, assistant, course, programme, client_of):
    wet = step_of(programme, "Wet the chip")
    page = text(client_of(assistant).get(reverse("training:card", args=[course.pk, wet.pk])))
    for said in ("First comes:", "Pour.", "Too little.", "0 of 2 times done"):
        assert said in page
    assert "Sign it off" not in page


def test_a_card_of_another_programme_is_not_there(assistant, course, client_of):
    other = step_of(make_programme("watch:Else", name="Else"), "Else")
    assert client_of(assistant).get(reverse("training:card", args=[course.pk, other.pk])).status_code == 404


# Signing --------------------------------------------------------------------------------------------------------------


@pytest.fixture
def typed(engineer):
    make_code(engineer)
    return {
        "once": str(uuid4()),
        "edition": 1,
        "signer": engineer.pk,
        "on": clock.today(),
        "note": "Both doors.",
        "proof": CODE,
    }


def address(course, step):
    return reverse("training:sign-off", args=[course.pk, step.pk])


def test_it_is_signed_on_the_assistants_device_by_a_code(engineer, assistant, course, exits, typed, client_of):
    done = client_of(assistant).post(address(course, exits), typed)
    assert done.status_code == 302
    made = SignOff.objects.get()
    assert (made.by, made.person, made.how, made.note) == (engineer, assistant, How.CODE, "Both doors.")


def test_and_by_the_password_on_ones_own(engineer, assistant, course, exits, typed, client_of):
    client_of(engineer).post(address(course, exits), typed | {"proof": PASSWORD})
    assert SignOff.objects.get().how == How.PASSWORD


def test_a_press_twice_is_one(engineer, assistant, course, exits, typed, client_of):
    client = client_of(assistant)
    assert [client.post(address(course, exits), typed).status_code for _ in range(2)] == [302, 302]
    assert SignOff.objects.count() == 1


def test_a_step_changed_while_it_stands_there_is_shown_as_it_is_now_and_the_next_press_signs_that(
    owner, assistant, course, exits, typed, client_of
):
    client = client_of(assistant)
    assert '<input type="hidden" name="edition" value="1"' in text(client.get(address(course, exits)))
    change(owner, exits, how="Open each door.", substance=True, note="Each door is opened.")
    page = client.post(address(course, exits), typed)
    assert page.status_code == 422
    said = text(page)
    assert said.count("The step was changed while it stood here.") == 1
    assert "Open each door." in said
    assert '<input type="hidden" name="edition" value="2"' in said
    assert "Both doors." in said
    assert not SignOff.objects.exists()
    again = typed | {"once": page.context["form"].token, "edition": page.context["form"]["edition"].value()}
    assert client.post(address(course, exits), again).status_code == 302
    assert SignOff.objects.get().edition == 2


def test_a_page_without_the_edition_is_refused(assistant, course, exits, typed, client_of):
    page = client_of(assistant).post(address(course, exits), {**typed, "edition": ""})
    assert page.status_code == 422
    assert "The page lost track of what it showed." in text(page)
    assert not SignOff.objects.exists()


def test_six_wrong_codes_are_held_up_and_what_was_typed_stays(assistant, course, exits, typed, client_of):
    client = client_of(assistant)
    status = [client.post(address(course, exits), typed | {"proof": "111 222"}).status_code for _ in range(6)]
    assert status == [422] * 5 + [429]
    page = client.post(address(course, exits), typed)
    assert page.status_code == 429
    assert "Both doors." in text(page)
    assert not SignOff.objects.exists()


def test_a_wrong_password_is_refused_and_the_secret_is_not_sent_back(assistant, course, exits, typed, client_of):
    page = client_of(assistant).post(address(course, exits), typed | {"proof": "not the password at all"})
    assert page.status_code == 422
    assert "That is not the password of" in text(page)
    assert "not the password at all" not in text(page)


def test_a_wrong_code_counts_though_the_press_is_refused_for_another_reason_too(
    engineer, assistant, course, programme, typed, client_of
):
    client = client_of(assistant)
    client.post(address(course, step_of(programme, "Wet the chip")), typed | {"proof": "111222"})
    engineer.personal_code.refresh_from_db()
    assert engineer.personal_code.misses == 1


def test_what_comes_first_is_named_on_the_form(assistant, course, programme, typed, client_of):
    page = client_of(assistant).post(address(course, step_of(programme, "Wet the chip")), typed)
    assert page.status_code == 422
    assert "First comes: Walk the exits." in text(page)


def test_one_whose_authority_ran_out_yesterday_is_told_so(
    owner, engineer, assistant, course, exits, typed, client_of, at
):
    give(owner, make_act(owner, "Sign off"), engineer, until=clock.today())
    give(owner, make_act(owner, "Else"), owner)
    tomorrow = clock.today() + timedelta(days=1)
    with at(f"{tomorrow} 09:00"):
        page = client_of(assistant).post(address(course, exits), typed | {"on": tomorrow})
    assert page.status_code == 422
    assert "holds the authority “Sign off” no more: it ran out on" in text(page)


def listed(page):
    return [label for _, label in page.context["form"]["signer"].field.choices]


def test_only_those_who_may_sign_it_are_named(owner, engineer, assistant, course, exits, client_of):
    """Not the learner, not another account of theirs, not who holds one of the two authorities, or held it."""
    other, third, fourth, alike = (
        make_person(f"p{number}", name, Role.ENGINEER)
        for number, name in enumerate(("Only Signs", "Ran Out", "Both Held", assistant.name))
    )
    act, signs = make_act(owner, "Walk alone"), make_act(owner, "Sign off")
    Step.objects.filter(pk=exits.pk).update(act=act)
    for person in (other, fourth, alike, assistant):
        give(owner, signs, person)
    for person in (third, fourth, alike, assistant, engineer):
        give(owner, act, person)
    gone = give(owner, signs, third)
    actions.withdraw_authority(by=owner, once=uuid4(), authority=gone, why="Away.")
    assert listed(client_of(assistant).get(address(course, exits))) == [str(fourth)]
    Person.objects.filter(pk=fourth.pk).update(same_as=assistant)
    page = client_of(assistant).get(address(course, exits))
    assert "Nobody here may sign it for" in text(page)
    assert "Ask the owner, who gives them." in text(page)
    assert 'name="signer"' not in text(page)
    assert fourth.name not in text(page)


@pytest.mark.parametrize("title", ["What burns", "Read the lamp"])
def test_a_step_that_nobody_signs_has_no_form(engineer, assistant, course, programme, typed, client_of, title):
    there = address(course, step_of(programme, title))
    client = client_of(engineer)
    for page in (client.get(there), client.post(there, typed)):
        assert page.status_code == 422
        assert "Nobody signs this step: it is done once the sheet is read" in text(page)
        assert 'name="proof"' not in text(page)
    assert not SignOff.objects.exists()


def test_a_second_account_does_not_sign_and_the_owner_is_told(owner, engineer, programme, exits, typed, client_of):
    second = make_person("maarsk2", "Second Account", Role.ASSISTANT)
    Person.objects.filter(pk=second.pk).update(same_as=engineer)
    page = client_of(second).post(address(enrol(owner, programme, second), exits), typed)
    assert page.status_code == 422
    assert "are accounts of one person" in text(page)
    (kept,) = SelfSigning.objects.all()
    assert (kept.by, kept.person, kept.step) == (engineer, second, exits)
    assert not SignOff.objects.exists()


def test_without_the_pages_token_nothing_is_kept_of_it(owner, engineer, programme, exits, typed, client_of):
    second = make_person("maarsk2", "Second Account", Role.ASSISTANT)
    Person.objects.filter(pk=second.pk).update(same_as=engineer)
    page = client_of(second).post(address(enrol(owner, programme, second), exits), typed | {"once": ""})
    assert page.status_code == 422
    assert not SelfSigning.objects.exists()


def test_a_guess_at_a_code_is_no_attempt_of_that_person(owner, engineer, programme, exits, typed, client_of):
    second = make_person("maarsk2", "Second Account", Role.ASSISTANT)
    Person.objects.filter(pk=second.pk).update(same_as=engineer)
    client_of(second).post(address(enrol(owner, programme, second), exits), typed | {"proof": "111222"})
    assert not SelfSigning.objects.exists()


def test_the_authority_is_offered_where_nothing_is_missing_and_given_along(
    owner, engineer, assistant, course, exits, typed, client_of
):
    act = make_act(owner, "Walk alone", months=6)
    Step.objects.filter(pk=exits.pk).update(act=act)
    client = client_of(assistant)
    assert "And with it, alone from today: Walk alone" in text(client.get(address(course, exits)))
    done = client.post(address(course, exits), typed | {"give": "on"}, follow=True)
    assert f"{assistant.name} may do it alone: Walk alone." in text(done)
    assert Authority.objects.get().person == assistant


def test_it_is_not_offered_to_one_who_holds_it_as_long_and_that_is_said(
    owner, assistant, engineer, course, exits, typed, client_of
):
    act = make_act(owner, "Walk alone", months=6)
    Step.objects.filter(pk=exits.pk).update(act=act)
    for holder in (assistant, engineer):
        give(owner, act, holder)
    client = client_of(assistant)
    page = text(client.get(address(course, exits)))
    assert f"{assistant.name} may do “Walk alone” alone already, until" in page
    assert "And with it" not in page
    done = text(client.post(address(course, exits), typed | {"give": "on"}, follow=True))
    assert f"{assistant.name} may do it alone already until" in done
    assert SignOff.objects.get().authorities.count() == 0
    assert Authority.objects.filter(person=assistant).count() == 1


def test_it_is_not_offered_while_something_is_missing(owner, assistant, course, programme, client_of):
    wet = step_of(programme, "Wet the chip")
    Step.objects.filter(pk=wet.pk).update(act=make_act(owner))
    assert "And with it" not in text(client_of(assistant).get(address(course, wet)))


def test_it_is_withdrawn_on_a_page(engineer, assistant, course, exits, client_of):
    made = sign(engineer, exits, assistant)
    there = reverse("training:withdraw-sign-off", args=[made.pk])
    client = client_of(engineer)
    assert client.post(there, {"once": uuid4(), "why": ""}).status_code == 422
    assert client.post(there, {"once": uuid4(), "why": "Seen from afar."}).status_code == 302
    page = text(client.get(reverse("training:card", args=[course.pk, exits.pk])))
    assert f"by {engineer.name}: Seen from afar." in page


# Questions and reading ------------------------------------------------------------------------------------------------


def test_a_question_is_answered_and_the_reason_told(assistant, course, programme, client_of):
    there = reverse("training:answer-question", args=[step_of(programme, "What burns").pk])
    client = client_of(assistant)
    form = client.get(there).context["form"]
    question = client.get(there).context["question"]
    sent = {"once": form.token, "question": question.pk, "edition": 1, "chosen": 0}
    page = client.post(there, sent, follow=True)
    assert "Not right" in text(page)
    assert "It burns without air; water cools it." in text(page)
    assert "It comes round again on" in text(page)
    client.post(there, sent)
    assert Answer.objects.count() == 1


@pytest.mark.parametrize("chosen", [0, 2, ""])
def test_a_question_changed_while_it_stands_there_is_shown_as_it_is_now_and_the_next_press_answers(
    assistant, course, programme, client_of, chosen
):
    step = step_of(programme, "What burns")
    there = reverse("training:answer-question", args=[step.pk])
    client = client_of(assistant)
    page = client.get(there)
    sent = {"once": page.context["form"].token, "question": page.context["question"].pk, "edition": 1, "chosen": chosen}
    step.questions.update(edition=2, text="What cools it?", choices=["Water", "Wind"], right=0)
    page = client.post(there, sent)
    assert page.status_code == 422
    said = text(page)
    assert said.count("The question was changed while it stood here.") == 1
    assert "What cools it?" in said
    assert "Choose one" not in said
    assert '<input type="hidden" name="edition" value="2"' in said
    assert "checked" not in said
    assert f'data-draft="{there}{sent["question"]}/2/"' in said
    assert not Answer.objects.exists()
    form = page.context["form"]
    again = {"once": form.token, "question": sent["question"], "edition": form["edition"].value(), "chosen": 0}
    assert client.post(there, again).status_code == 302
    assert (Answer.objects.get().edition, Answer.objects.get().right) == (2, True)


def test_somebody_elses_answer_is_not_told(engineer, assistant, course, programme, client_of):
    made = answer(assistant, step_of(programme, "What burns").questions.get(), right=False)
    there = reverse("training:answer-question", args=[step_of(programme, "What burns").pk])
    assert "Not right" not in text(client_of(engineer).get(f"{there}?after={made.pk}"))
    assert client_of(assistant).get(f"{there}?after=x").status_code == 200


def test_a_sheet_is_read_and_after_a_year_again(owner, engineer, assistant, course, programme, client_of, at):
    lamp = step_of(programme, "Read the lamp")
    client = client_of(assistant)
    card = reverse("training:card", args=[course.pk, lamp.pk])
    assert "not in force yet" in text(client.get(card))
    version = hazard_sheets.make_in_force(engineer, owner)
    hazard_sheets.read(assistant, version)
    there = reverse("training:read-again", args=[lamp.pk])
    assert client.post(there, {"once": uuid4()}).status_code == 422
    assert queries.course_of(course).line_of(lamp).standing.was_done
    with at(f"{clock.today() + timedelta(days=370)} 09:00"):
        assert "I have read it again" in text(client_of(assistant).get(card))
        assert client_of(assistant).post(there, {"once": uuid4()}).status_code == 302
        assert queries.course_of(course).line_of(lamp).standing.stands == "done"
    assert ReadAgain.objects.get().sheet_version == version


def test_the_rules_are_the_owners(owner, client_of):
    there = reverse("training:change-training-rules")
    client = client_of(owner)
    typed = {"once": uuid4(), "version": 0, "keep_years": "30"}
    assert client.post(there, typed).status_code == 302
    assert queries.training_rules().keep_years == 30
    for years, version in (("0", 1), ("20", 0)):
        answer = client.post(there, typed | {"once": uuid4(), "keep_years": years, "version": version})
        assert answer.status_code == 422
    assert actions.change_training_rules.roles == {"owner"}

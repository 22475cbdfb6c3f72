"""Pages of programmes and their steps, what goes out as a file, and the paper."""

import re
from io import BytesIO
from uuid import uuid4

import pypdf
import pytest
from django.urls import reverse

from shop import clock
from shop.people.models import Paper, Room
from shop.people.starter import load_starter
from shop.training import ladder, queries
from shop.training.models import Enrolment, Programme, Question, Step
from tests.safety.papers import is_accessible, stands_within
from tests.training import programme_makers as of
from tests.training.makers import make_act


def said(answer):
    return " ".join(answer.content.decode().split())


def at(name, *args):
    return reverse(f"training:{name}", args=args)


def filled(form):
    """What a browser would send of the form as it stands."""
    sent = {"once": str(uuid4())}
    for box in form:
        value = box.value()
        if box.name in ("once", "sure", "questions") or value in (None, False, "", []):
            continue
        sent[box.name] = "on" if value is True else box.field.prepare_value(value)
    return sent


@pytest.fixture
def starter(room_row):
    load_starter()
    return Programme.objects.get(pk=1)


@pytest.fixture
def programme(owner):
    return of.begin(owner, why="For those who come.")


# Reading --------------------------------------------------------------------------------------------------------------


def test_the_list_says_what_each_leads_to_and_who_is_under_way(owner, assistant, client_of, starter):
    Enrolment.objects.create(programme=starter, person=assistant, starts_on=clock.today(), at=clock.now(), by=owner)
    page = said(client_of(assistant).get(at("programmes")))
    assert "48 steps. 1 person is under way." in page
    assert "Work on the vacuum line" in page
    assert "Begin a programme" not in page
    assert "Begin a programme" in said(client_of(owner).get(at("programmes")))


def test_an_empty_list_says_what_to_do(owner, client_of):
    assert "There is none yet" in said(client_of(owner).get(at("programmes")))


def test_a_programme_shows_its_steps_by_week_with_what_each_rests_on(assistant, client_of, starter):
    page = said(client_of(assistant).get(starter.get_absolute_url()))
    assert [week.number for week in queries.outline(starter).weeks] == [1, 2, 3, 4, 5, 6]
    assert "After 8 Watch a side being cut, from the stool and 5 Read: Moving" not in page  # in the order of the list
    assert re.search(r"After 5 Read: Moving and electrical parts and 8 Watch a side being cut, from the stool\.", page)
    assert "Leads to: Change a cylinder" in page


def test_who_is_under_way_is_named_to_engineers_only(owner, engineer, assistant, visitor, client_of, starter):
    Enrolment.objects.create(programme=starter, person=assistant, starts_on=clock.today(), at=clock.now(), by=owner)
    page = said(client_of(engineer).get(starter.get_absolute_url()))
    assert assistant.name in page
    assert "Put somebody on it" in page
    page = said(client_of(visitor).get(starter.get_absolute_url()))
    assert assistant.name not in page
    assert "Put somebody on it" not in page


@pytest.mark.parametrize("name", ["programmes", "programme", "step", "change-step"])
def test_pages_take_few_queries(owner, client_of, starter, django_assert_max_num_queries, name):
    client = client_of(owner)
    args = [] if name == "programmes" else [starter.pk if name == "programme" else 36]
    client.get(at(name, *args))
    with django_assert_max_num_queries(12):
        assert client.get(at(name, *args)).status_code == 200


def test_right_answers_are_shown_to_engineers_only(engineer, assistant, client_of, starter):
    step = Step.objects.filter(kind="answer")[0]
    reason = step.questions.first().reason
    assert reason in said(client_of(engineer).get(step.get_absolute_url()))
    page = said(client_of(assistant).get(step.get_absolute_url()))
    assert reason not in page
    assert "6 questions" in page
    assert client_of(assistant).get(at("change-questions", step.pk)).status_code == 403


def test_a_step_shows_how_it_was_worded_before(owner, client_of, programme):
    step = of.add(owner, programme, "Wet it", how="A cup of water.")
    of.change(owner, step, how="Two cups.", substance=True, note="One was too little.")
    page = said(client_of(owner).get(step.get_absolute_url()))
    assert "How it was worded before (1)" in page
    assert "A cup of water." in page
    assert "One was too little." in page


def test_a_step_of_questions_without_any_says_so(assistant, owner, client_of, programme):
    step = of.add(owner, programme, "Asks", "answer")
    assert "It has no questions yet" in said(client_of(assistant).get(step.get_absolute_url()))


def test_the_ladder_tells_in_words_what_it_draws(starter):
    outline = queries.outline(starter)
    words = ladder.told(outline)
    assert words.startswith("48 steps; the longest way has ")
    for act in ("Change a cylinder", "Work on the vacuum line", "Fit a stylus"):
        assert f"“{act}” is reached by step" in words
    drawn = ladder.ladder(starter, outline)
    assert words in drawn
    assert all(f">{number}<" in drawn for number in range(1, 49))


def test_steps_without_a_day_come_under_the_week_they_are_listed_in(owner, programme):
    for title, day in (("A", None), ("B", 9), ("C", None), ("D", 2)):
        of.add(owner, programme, title, day=day)
    weeks = queries.outline(programme).weeks
    assert [(week.number, [line.step.title for line in week.lines]) for week in weeks] == [
        (None, ["A"]),
        (2, ["B", "C", "D"]),
    ]


# Writing --------------------------------------------------------------------------------------------------------------


def test_a_programme_is_begun_and_its_first_step_added(owner, client_of):
    client = client_of(owner)
    page = client.post(at("add-programme"), {"once": uuid4(), "name": "Second weeks"}, follow=True)
    assert "Add what comes first" in said(page)
    programme = Programme.objects.get()
    typed = {"once": uuid4(), "kind": "do", "title": "Wet it", "times": "3", "changed_refreshes": "on"}
    page = client.post(at("add-step", programme.pk), typed, follow=True)
    assert "Wet it: it is in the programme." in said(page)
    assert "Do it under somebody&#x27;s eye, 3 times" in said(page)


def test_a_step_of_questions_leads_on_to_its_questions(owner, client_of, programme):
    page = client_of(owner).post(at("add-step", programme.pk), {"once": uuid4(), "kind": "answer", "title": "Asks"})
    assert page.url == at("change-questions", Step.objects.get().pk)


def test_a_step_is_changed_by_its_form_as_it_stands_and_then_nothing_is(owner, client_of, starter):
    client = client_of(owner)
    address = at("change-step", 36)
    form = client.get(address).context["form"]
    answer = client.post(address, filled(form))
    assert answer.status_code == 422
    assert "Nothing in it is changed." in said(answer)
    assert client.post(address, filled(form) | {"title": "Otherwise"}).status_code == 302
    changed = Step.objects.get(pk=36)
    assert (changed.title, changed.version) == ("Otherwise", 2)
    assert [one.pk for one in changed.needs.all()] == form["needs"].value()


def test_a_loop_is_refused_at_the_box_with_its_steps_named(owner, client_of, programme):
    first = of.add(owner, programme, "First")
    second = of.add(owner, programme, "Second", needs=[first])
    client = client_of(owner)
    form = client.get(at("change-step", first.pk)).context["form"]
    answer = client.post(at("change-step", first.pk), filled(form) | {"needs": [second.pk]})
    assert answer.status_code == 422
    assert answer.context["form"].errors["needs"] == [
        "That goes round in a loop, and nobody could begin: “First” needs “Second”, “Second” needs “First”."
    ]


def test_a_stale_save_shows_what_is_saved_and_keeps_what_was_typed(owner, client_of, programme):
    first = of.add(owner, programme, "First")
    step = of.add(owner, programme, "Second")
    client = client_of(owner)
    typed = filled(client.get(at("change-step", step.pk)).context["form"]) | {"why": "Typed here."}
    of.change(owner, step, why="Saved there.", needs=[first])
    answer = client.post(at("change-step", step.pk), typed)
    page = said(answer)
    assert answer.status_code == 422
    assert "Saved there." in page
    assert "Typed here." in page
    assert ("Which steps come first", "First") in answer.context["form"].saved_facts
    again = typed | {"once": uuid4(), "version": answer.context["form"]["version"].value()}
    assert client.post(at("change-step", step.pk), again).status_code == 302
    assert Step.objects.get(pk=step.pk).why == "Typed here."


def test_a_step_is_moved_by_its_form(owner, client_of, programme):
    steps = [of.add(owner, programme, title) for title in ("A", "B", "C")]
    client = client_of(owner)
    form = client.get(at("move-step", steps[2].pk)).context["form"]
    assert form["after"].value() == steps[1].pk
    client.post(at("move-step", steps[2].pk), filled(form) | {"after": ""})
    assert of.titles(programme) == ["C", "A", "B"]


def test_stopping_with_people_under_way_names_them_and_asks(owner, assistant, client_of, programme):
    Enrolment.objects.create(programme=programme, person=assistant, starts_on=clock.today(), at=clock.now(), by=owner)
    client = client_of(owner)
    page = client.get(at("stop-programme", programme.pk))
    going = Enrolment.objects.get()
    assert f'Under way in it: <b><a href="{going.get_absolute_url()}">{assistant.name}</a></b>' in said(page)
    typed = filled(page.context["form"]) | {"why": "It is old."}
    assert "why" not in page.context["form"].initial
    answer = client.post(at("stop-programme", programme.pk), typed)
    assert answer.status_code == 422
    (doubt,) = answer.context["form"].doubts
    client.post(at("stop-programme", programme.pk), typed | {"sure": doubt.key})
    assert not Programme.objects.get().is_active


def test_questions_are_typed_in_rows_and_read_back(owner, client_of, programme):
    step = of.add(owner, programme, "Asks", "answer")
    client = client_of(owner)
    address = at("change-questions", step.pk)
    one = {"q1_text": "Which?", "q1_choice1": "This", "q1_choice2": "That", "q1_right": "2", "q1_reason": "It is."}
    typed = {"once": str(uuid4()), "version": "1", "rows": "2"}
    assert client.post(address, typed | one).status_code == 302
    assert Question.objects.get().right == 1
    form = client.get(address).context["form"]
    assert (form["q0_text"].value(), form["q0_right"].value()) == ("Which?", 2)
    assert "Nothing in it is changed." in said(client.post(address, filled(form)))


def test_a_wrong_question_is_refused_in_its_row_and_more_rows_keep_what_was_typed(owner, client_of, programme):
    step = of.add(owner, programme, "Asks", "answer")
    client = client_of(owner)
    address = at("change-questions", step.pk)
    typed = {"once": str(uuid4()), "version": "1", "rows": "2", "q1_text": "Which?", "q1_choice1": "This"}
    answer = client.post(address, typed)
    assert answer.context["form"].errors == {"q1_choice2": ["Give 2 to 4 choices, from the first on."]}
    answer = client.post(address, typed | {"more": "1"})
    form = answer.context["form"]
    assert (answer.status_code, form.row_count, form["q1_text"].value()) == (200, 4, "Which?")
    assert not Question.objects.exists()


# Files and paper ------------------------------------------------------------------------------------------------------


def test_steps_go_out_as_a_file_and_those_of_one_programme_alone(owner, assistant, client_of, starter, programme):
    of.add(owner, programme, "Wet it")
    client = client_of(assistant)
    whole = b"".join(client.get(reverse("carrying:export-list", args=["programme-steps", "csv"])).streaming_content)
    assert whole.count(b"First weeks in a cutting room") == 48
    address = reverse("carrying:export-list", args=["programme-steps", "csv"]) + f"?programme={programme.pk}"
    alone = b"".join(client.get(address).streaming_content).decode("utf-8-sig").splitlines()
    assert len(alone) == 2
    assert "Second weeks" in alone[1]


@pytest.mark.paper
@pytest.mark.parametrize("paper", list(Paper.values))
def test_the_paper_has_every_step_and_can_be_read_out(visitor, client_of, starter, tmp_path, paper):
    Room.objects.update(paper=paper)
    made = client_of(visitor).get(at("programme-pdf", starter.pk)).content
    pages = [" ".join(page.extract_text().split()) for page in pypdf.PdfReader(BytesIO(made)).pages]
    for title in of.titles(starter):
        assert title in pages[0]  # all of them at a glance
        assert title in " ".join(pages[1:])
    assert "At a glance" not in " ".join(pages[1:])
    is_accessible(made, tmp_path)
    stands_within(made, paper, tmp_path)


@pytest.mark.paper
def test_the_paper_of_an_empty_programme_says_so(owner, client_of, programme):
    made = client_of(owner).get(at("programme-pdf", programme.pk)).content
    assert "It has no steps yet." in pypdf.PdfReader(BytesIO(made)).pages[0].extract_text()


def test_an_act_names_the_programmes_that_lead_to_it_and_nothing_that_is_stopped(owner, client_of, programme):
    act = make_act(owner)
    step = of.add(owner, programme, "Leads there", act=act)
    page = client_of(owner).get(act.get_absolute_url())
    assert list(page.context["programmes"]) == [programme]
    assert "How one comes to it" in said(page)
    assert queries.acts_by_programme() == {programme.pk: [act]}
    of.stop(owner, step, sure=["act"])
    assert queries.acts_by_programme() == {}
    assert "How one comes to it" not in said(client_of(owner).get(act.get_absolute_url()))


@pytest.mark.parametrize("name", ["change-step", "move-step", "stop-step", "change-questions"])
def test_an_engineer_is_told_that_the_owner_may(owner, engineer, client_of, name):
    step = of.add(owner, of.begin(owner), "Walk the exits")
    page = client_of(engineer).get(at(name, step.pk))
    assert page.status_code == 403
    assert "Ask the owner." in said(page)
    assert "Ask the owner or an engineer." not in said(page)


def test_a_visitor_is_told_of_engineers_where_they_may_too(owner, visitor, client_of):
    page = client_of(visitor).get(at("add-act"))
    assert page.status_code == 403
    assert "Ask the owner or an engineer." in said(page)

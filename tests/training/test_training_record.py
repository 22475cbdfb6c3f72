"""A person's training record, on the page and on paper."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.conf import settings
from django.urls import reverse

from shop import clock
from shop.people.models import Person, Room
from shop.training import actions, editions, queries
from shop.training.models import Step, TrainingRules
from tests.safety import hazard_sheets
from tests.safety.papers import is_accessible, stands_within, words
from tests.training.makers import answer, enrol, give, make_act, make_programme, make_question, sign, step_of


@pytest.fixture
def programme(db):
    made = make_programme("watch:Walk the exits", "show:Empty the trap", "answer:What burns")
    make_question(step_of(made, "What burns"))
    return made


@pytest.fixture
def told(owner, engineer, assistant, programme):
    """A short history: sign-offs, one of them withdrawn; a sheet read, a wrong answer, an authority and a past one."""
    version = hazard_sheets.make_in_force(engineer, owner)
    exits, trap = step_of(programme, "Walk the exits"), step_of(programme, "Empty the trap")
    act = make_act(owner, "Empty it alone", months=12)
    Step.objects.filter(pk=exits.pk).update(sheet="hot-lamp", edition=3)
    Step.objects.filter(pk=trap.pk).update(act=act)
    editions.keep_step(Step.objects.get(pk=exits.pk), by=engineer)
    enrol(engineer, programme, assistant, mentor=engineer)
    sign(engineer, exits, assistant, note="Both doors, twice.")
    sign(engineer, Step.objects.get(pk=trap.pk), assistant, give=True)
    actions.withdraw_sign_off(
        by=engineer, once=uuid4(), sign_off=sign(owner, exits, assistant), why="It was somebody else."
    )
    hazard_sheets.read(assistant, version)
    answer(assistant, step_of(programme, "What burns").questions.get(), right=False)
    past = give(owner, make_act(owner, "Fit it alone"), assistant)
    actions.withdraw_authority(by=owner, once=uuid4(), authority=past, why="Too early.", sure=["last"])
    Step.objects.filter(pk=exits.pk).update(title="Walk all the exits", edition=4)
    return assistant


#: What must stand in it, each as it was and not as it is now.
SAID = (
    "Walk the exits edition 3",
    "Hot lamp, version 1",
    "Edvin Maarsk",
    "Both doors, twice.",
    "It was somebody else.",
    "1 answer, 0 right",
    "By sign-off, Edvin Maarsk",
    "Fit it alone",
    "Too early.",
    "First weeks: 2 of 3 steps done",
)


def test_all_of_it_stands_on_the_page(told, engineer, client_of):
    page = client_of(engineer).get(reverse("training:training-record", args=[told.pk])).content.decode()
    plain = " ".join(page.replace("<b>", "").replace("</b>", "").replace('<span class="quiet">', "").split())
    for said in (*SAID, "Withdrawn on", "Taken back from"):
        assert said in plain
    assert "Walk all the exits" not in plain


@pytest.mark.paper
@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_all_of_it_stands_on_paper_which_screen_readers_read(told, engineer, client_of, tmp_path, size):
    Room.objects.update(paper=size)
    answer = client_of(engineer).get(reverse("training:training-record-pdf", args=[told.pk]))
    assert answer["Content-Type"] == "application/pdf"
    text = " ".join(words(answer.content))
    for said in SAID:
        assert said in text
    assert "1 of 1" in text
    is_accessible(answer.content, tmp_path)
    stands_within(answer.content, size, tmp_path)


@pytest.mark.paper
def test_a_long_record_runs_over_numbered_pages(engineer, assistant, programme, client_of, tmp_path):
    enrol(engineer, programme, assistant)
    for _ in range(60):
        sign(
            engineer, step_of(programme, "Walk the exits"), assistant, note="Walked it once more, with the lights off."
        )
    made = client_of(engineer).get(reverse("training:training-record-pdf", args=[assistant.pk])).content
    pages = words(made)
    assert len(pages) > 1
    assert all(f"{number} of {len(pages)}" in page for number, page in enumerate(pages, start=1))
    stands_within(made, "A4", tmp_path)


@pytest.mark.paper
def test_a_very_long_word_in_a_note_breaks_within_the_page(engineer, assistant, programme, client_of, tmp_path):
    enrol(engineer, programme, assistant)
    made = sign(engineer, step_of(programme, "Walk the exits"), assistant, note="W" * 499)
    actions.withdraw_sign_off(by=engineer, once=uuid4(), sign_off=made, why="M" * 300)
    paper = client_of(engineer).get(reverse("training:training-record-pdf", args=[assistant.pk])).content
    text = "".join(words(paper))
    assert text.count("W") >= 499
    assert text.count("M") >= 300
    stands_within(paper, "A4", tmp_path)


def test_a_very_long_word_in_a_note_may_break_in_the_table(engineer, assistant, programme, client_of):
    enrol(engineer, programme, assistant)
    sign(engineer, step_of(programme, "Walk the exits"), assistant, note="W" * 499)
    page = client_of(assistant).get(reverse("training:my-training-record")).content.decode()
    assert f'class="typed" data-label="Note">{"W" * 499}' in page
    rules = (settings.BASE_DIR / "shop/static/shop/learning.css").read_text()
    assert "td.typed" in rules.partition("{ overflow-wrap: anywhere; }")[0]


@pytest.mark.paper
def test_an_empty_one_says_so(assistant, client_of):
    made = client_of(assistant).get(reverse("training:my-training-record-pdf")).content
    assert "Nothing is on record yet." in words(made)[0]


def test_ones_own_is_for_oneself_and_others_for_engineers(told, owner, visitor, client_of):
    there = reverse("training:training-record", args=[owner.pk])
    assert client_of(told).get(there).status_code == 403
    assert client_of(visitor).get(reverse("training:my-training-record")).status_code == 403
    assert "Both doors, twice." in client_of(told).get(reverse("training:my-training-record")).content.decode()


def test_it_takes_no_more_queries_however_long_it_is(told, engineer, client_of, django_assert_max_num_queries):
    there = reverse("training:training-record", args=[told.pk])
    client = client_of(engineer)
    client.get(there)
    for _ in range(5):
        sign(engineer, Step.objects.get(title="Walk all the exits"), told)
    with django_assert_max_num_queries(24):
        client.get(there)


# For how long it is kept ----------------------------------------------------------------------------------------------


def test_it_is_kept_while_one_works_here_and_so_many_years_after_the_last_line(told, at):
    assert queries.training_record(told).kept_until is None
    Person.objects.filter(pk=told.pk).update(is_active=False)
    told.refresh_from_db()
    TrainingRules.objects.update_or_create(pk=1, defaults={"keep_years": 4})
    today = clock.today()
    with at(f"{today + timedelta(days=3 * 365)} 09:00"):
        record = queries.training_record(told)
        assert record.kept_until.year == record.last_on.year + 4
        assert record.last_on >= today


def test_the_page_says_from_when_it_need_not_be_kept_and_nothing_is_removed(told, engineer, client_of, at):
    Person.objects.filter(pk=told.pk).update(is_active=False)
    TrainingRules.objects.update_or_create(pk=1, defaults={"keep_years": 1})
    with at(f"{clock.today() + timedelta(days=6 * 365)} 09:00"):
        page = client_of(engineer).get(reverse("training:training-record", args=[told.pk])).content.decode()
    assert "it need not be kept any longer" in page
    assert "Both doors, twice." in page

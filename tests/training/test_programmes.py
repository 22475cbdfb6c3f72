"""Programmes and their steps, as the shop writes and changes them."""

from uuid import uuid4

import pytest

from shop import clock
from shop.refusal import Changed, Doubtful, NotAllowed, Refused
from shop.training import actions
from shop.training.models import Enrolment, Programme, ProgrammeChange, Question, Step, StepEdition
from shop.training.programmes import LONGEST_CHOICE, Facts, WantedQuestion
from tests.training import programme_makers as of
from tests.training.makers import make_act


@pytest.fixture
def programme(owner):
    return of.begin(owner)


@pytest.fixture
def chain(owner, programme):
    """Three steps, each needing the one before."""
    first = of.add(owner, programme, "First")
    second = of.add(owner, programme, "Second", needs=[first])
    return [first, second, of.add(owner, programme, "Third", needs=[second])]


def told(programme):
    return list(ProgrammeChange.objects.filter(programme=programme).order_by("pk").values_list("what", flat=True))


def under_way(owner, programme, person):
    return Enrolment.objects.create(
        programme=programme, person=person, starts_on=clock.today(), at=clock.now(), by=owner
    )


# Programmes -----------------------------------------------------------------------------------------------------------


def test_one_is_begun_and_says_so(owner, programme):
    assert (programme.name, programme.is_active, told(programme)) == ("Second weeks", True, ["It was begun."])


def test_a_name_is_taken_once(owner, programme):
    with pytest.raises(Refused) as no:
        of.begin(owner, "second WEEKS")
    assert no.value.field == "name"


@pytest.mark.parametrize("who", ["engineer", "assistant", "visitor"])
def test_only_the_owner_writes(request, programme, chain, who):
    person = request.getfixturevalue(who)
    for press in (
        lambda: of.begin(person, "Another"),
        lambda: of.add(person, programme, "Fourth"),
        lambda: of.change(person, chain[0], why="So."),
        lambda: of.move(person, chain[0], None),
        lambda: of.stop(person, chain[0]),
        lambda: of.ask(person, chain[0], [of.ONE]),
        lambda: actions.copy_programme(by=person, once=uuid4(), programme=programme, name="Copy"),
        lambda: actions.stop_programme(by=person, once=uuid4(), programme=programme, version=1, why="So."),
    ):
        with pytest.raises(NotAllowed):
            press()


def test_one_press_is_one_programme_and_one_step(owner):
    once = uuid4()
    pressed = [actions.add_programme(by=owner, once=once, name="Twice") for _ in range(2)]
    assert pressed[0] == pressed[1]
    once = uuid4()
    steps = [actions.add_step(by=owner, once=once, programme=pressed[0], facts=of.facts("Once")) for _ in range(2)]
    assert steps[0] == steps[1]
    assert Step.objects.count() == 1


def test_it_is_called_otherwise_and_not_over_somebody_elses_change(owner, programme):
    changed = actions.change_programme(by=owner, once=uuid4(), programme=programme, version=1, name="Later", why="So.")
    assert (changed.name, changed.why, changed.version) == ("Later", "So.", 2)
    assert told(programme)[1:] == ["It was called “Second weeks”.", "What it is for was reworded."]
    with pytest.raises(Changed):
        actions.change_programme(by=owner, once=uuid4(), programme=programme, version=1, name="Never")


def test_a_programme_with_nobody_in_it_is_stopped_and_taken_up_again(owner, programme):
    stopped = actions.stop_programme(by=owner, once=uuid4(), programme=programme, version=1, why="It is old.")
    assert not stopped.is_active
    with pytest.raises(Changed):
        actions.stop_programme(by=owner, once=uuid4(), programme=programme, version=2, why="Again.")
    assert actions.resume_programme(by=owner, once=uuid4(), programme=programme, version=2).is_active
    assert told(programme)[1:] == ["It was stopped: nobody else begins it. It is old.", "It was taken up again."]


def test_one_with_people_in_it_is_not_stopped_silently_and_they_go_on(owner, assistant, programme):
    enrolment = under_way(owner, programme, assistant)
    stop = {"by": owner, "programme": programme, "version": 1, "why": "It is old."}
    with pytest.raises(Doubtful) as asked:
        actions.stop_programme(once=uuid4(), **stop)
    (doubt,) = asked.value.doubts
    assert assistant.name in doubt.sentence
    assert Programme.objects.get().is_active
    actions.stop_programme(once=uuid4(), sure=[doubt.key], **stop)
    enrolment.refresh_from_db()
    assert enrolment.ended_at is None


def test_who_came_in_meanwhile_is_asked_about_too(owner, assistant, engineer, programme):
    under_way(owner, programme, assistant)
    stop = {"by": owner, "programme": programme, "version": 1, "why": "It is old."}
    with pytest.raises(Doubtful) as asked:
        actions.stop_programme(once=uuid4(), **stop)
    under_way(owner, programme, engineer)
    with pytest.raises(Doubtful):
        actions.stop_programme(once=uuid4(), sure=[asked.value.doubts[0].key], **stop)


def test_a_copy_is_its_own_and_leaves_out_what_is_stopped(owner, programme, chain):
    asks = of.add(owner, programme, "Asks", "answer", needs=[chain[2]])
    of.ask(owner, asks, [of.ONE, of.TWO])
    of.ask(owner, asks, [of.ONE])  # written anew as another question; the first ones are left out
    of.stop(owner, chain[1])
    copy = actions.copy_programme(by=owner, once=uuid4(), programme=programme, name="Copy")
    assert of.titles(copy) == ["First", "Third", "Asks"]
    third = copy.steps.get(title="Third")
    assert [one.title for one in third.needs.all()] == ["First"]
    assert [one.text for one in Question.objects.filter(step__programme=copy)] == ["Which?"]
    assert StepEdition.objects.filter(step__programme=copy).count() == 3
    of.change(owner, third, title="Otherwise")
    assert chain[2].title == Step.objects.get(pk=chain[2].pk).title == "Third"


# Steps ----------------------------------------------------------------------------------------------------------------


def test_a_step_stands_at_the_end_or_behind_the_one_it_is_put_behind(owner, programme, chain):
    of.add(owner, programme, "Last")
    of.add(owner, programme, "Early", after=chain[0])
    assert of.titles(programme) == ["First", "Early", "Second", "Third", "Last"]


def test_what_needs_a_later_one_comes_behind_it(owner, programme, chain):
    of.add(owner, programme, "Needs the third", needs=[chain[2]], after=chain[0])
    assert of.titles(programme)[-1] == "Needs the third"
    of.change(owner, chain[0], needs=[of.add(owner, programme, "Even before")])
    assert of.titles(programme) == ["Even before", "First", "Second", "Third", "Needs the third"]


def test_a_loop_is_refused_and_named(owner, chain):
    with pytest.raises(Refused) as no:
        of.change(owner, chain[0], needs=[chain[2]])
    assert no.value.field == "needs"
    for words in ("“First” needs “Third”", "“Third” needs “Second”", "“Second” needs “First”"):
        assert words in no.value.sentence
    with pytest.raises(Refused, match="need itself"):
        of.change(owner, chain[1], needs=[chain[1]])


def test_a_loop_through_a_stopped_step_is_refused_too(owner, chain):
    of.stop(owner, chain[1])
    with pytest.raises(Refused, match="loop"):
        of.change(owner, chain[0], needs=[chain[2]])


def test_what_it_needs_is_of_its_own_programme_and_not_stopped(owner, programme, chain):
    elsewhere = of.add(owner, of.begin(owner, "Elsewhere"), "Far")
    with pytest.raises(Refused, match="another programme"):
        of.add(owner, programme, "Fourth", needs=[elsewhere])
    of.stop(owner, chain[1])
    with pytest.raises(Refused, match="stopped"):
        of.add(owner, programme, "Fourth", needs=[chain[1]])
    of.change(owner, chain[2], why="It may keep the one it had.")


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"kind": "dance"}, "kind"),
        ({"title": " \u200b "}, "title"),
        ({"title": "x" * 101}, "title"),
        ({"why": "x" * 501}, "why"),
        ({"how": "x" * 3001}, "how"),
        ({"goes_wrong": "x" * 1001}, "goes_wrong"),
        ({"kind": "read"}, "sheet"),
        ({"kind": "do", "times": 101}, "times"),
        ({"day": 0}, "day"),
        ({"refresh_months": 121}, "refresh_months"),
    ],
)
def test_facts_that_are_wrong_are_refused_at_their_box(owner, programme, given, field):
    with pytest.raises(Refused) as no:
        of.add(owner, programme, **({"title": "Step"} | given))
    assert no.value.field == field
    assert not Step.objects.exists()


def test_a_stopped_act_is_not_led_to_but_kept_where_it_was(owner, programme):
    act = make_act(owner)
    step = of.add(owner, programme, "Leads there", act=act)
    actions.stop_act(by=owner, once=uuid4(), act=act, version=1)
    act.refresh_from_db()
    with pytest.raises(Refused):
        of.add(owner, programme, "Leads there too", act=act)
    of.change(owner, step, why="Reworded.")


def test_only_doing_is_counted(owner, programme):
    assert of.add(owner, programme, "Shown", "show", times=5).times == 1
    assert of.add(owner, programme, "Done", "do", times=5).times == 5


def test_lines_are_tidied(owner, programme):
    assert of.add(owner, programme, " A  step ", how=" Wet it \n\n  lift  it ").how == "Wet it\nlift it"


def test_expected_before_what_it_needs_is_asked_about(owner, programme):
    late = of.add(owner, programme, "Late", day=9)
    with pytest.raises(Doubtful) as asked:
        of.add(owner, programme, "Early", needs=[late], day=3)
    of.add(owner, programme, "Early", needs=[late], day=3, sure=[asked.value.doubts[0].key])


def test_a_change_is_told_in_a_sentence_and_keeps_the_words_before(owner, programme, chain):
    of.change(owner, chain[0], title="First of all", why="Because.", needs=[])
    assert told(programme)[-1] == "“First”. Changed: its title and why it matters."
    kept = list(StepEdition.objects.filter(step=chain[0]).values_list("title", "edition"))
    assert kept == [("First", 1), ("First of all", 1)]


def test_a_change_of_substance_counts_the_edition_up_with_its_note(owner, programme, chain):
    with pytest.raises(Refused) as no:
        of.change(owner, chain[0], how="Wet it.", substance=True)
    assert no.value.field == "note"
    changed = of.change(owner, chain[0], how="Wet it.", substance=True, note="The trap is new.")
    assert (changed.edition, changed.edition_note) == (2, "The trap is new.")
    assert told(programme)[-1] == "“First”. Changed: how it is done. The trap is new. Asked anew."


@pytest.mark.parametrize("other", [{"times": 5}, {"kind": "show"}])
def test_another_kind_or_number_is_always_of_substance(owner, programme, other):
    step = of.add(owner, programme, "Done", "do", times=3)
    changed = of.change(owner, step, **other)
    assert changed.edition == 2
    assert changed.edition_note.startswith("Changed: ")


def test_nothing_changed_is_said(owner, chain):
    with pytest.raises(Refused, match="Nothing"):
        of.change(owner, chain[0])
    with pytest.raises(Changed):
        of.change(owner, chain[0], why="Stale.", version=7)


def test_a_step_is_moved_but_not_past_what_it_needs_or_what_needs_it(owner, programme, chain):
    alone = of.add(owner, programme, "Alone")
    of.move(owner, alone, None)
    assert of.titles(programme)[0] == "Alone"
    assert told(programme)[-1] == "“Alone” was moved to the beginning."
    of.move(owner, alone, chain[1])
    assert of.titles(programme) == ["First", "Second", "Alone", "Third"]
    with pytest.raises(Refused, match="“First”"):
        of.move(owner, chain[1], None)
    with pytest.raises(Refused, match="“Second” needs it"):
        of.move(owner, chain[0], chain[2])
    with pytest.raises(Refused):
        of.move(owner, alone, alone)


def test_a_step_is_stopped_with_why_and_taken_up_again(owner, programme, chain):
    of.stop(owner, chain[1])
    assert told(programme)[-1] == "“Second” is asked for no more. Nobody does it so."
    with pytest.raises(Changed):
        of.stop(owner, chain[1])
    assert of.resume(owner, chain[1]).is_active
    assert told(programme)[-1] == "“Second” is asked for again."
    with pytest.raises(Changed):
        of.resume(owner, chain[1])


def test_stopping_what_leads_to_an_act_is_asked_about(owner, programme):
    act = make_act(owner)
    step = of.add(owner, programme, "Leads there", act=act)
    with pytest.raises(Doubtful) as asked:
        of.stop(owner, step)
    assert "only the owner gives it" in asked.value.doubts[0].sentence
    assert not of.stop(owner, step, sure=["act"]).is_active


# Questions ------------------------------------------------------------------------------------------------------------


@pytest.fixture
def asks(owner, programme):
    return of.add(owner, programme, "Asks", "answer")


def kept(step, only_asked=True):
    found = step.questions.order_by("order", "pk")
    return list(found.filter(is_active=True) if only_asked else found)


def again(one, **other):
    said = {"text": one.text, "choices": one.choices, "right": one.right, "reason": one.reason, "kept": one.pk}
    return WantedQuestion(**(said | other))


def test_questions_are_asked_in_their_order(owner, programme, asks):
    of.ask(owner, asks, [of.ONE, of.TWO])
    assert [one.text for one in kept(asks)] == ["Which?", "How many?"]
    assert told(programme)[-1] == "“Asks”. Questions: 2 added."


def test_a_reworded_one_is_the_same_and_one_with_other_choices_is_asked_anew(owner, programme, asks):
    of.ask(owner, asks, [of.ONE, of.TWO])
    one, two = kept(asks)
    of.ask(owner, asks, [again(two, choices=["Two", "One"], right=1), again(one, reason="Because it says so.")])
    now = kept(asks)
    assert [(said.pk, said.edition) for said in now] == [(two.pk, 2), (one.pk, 1)]
    assert told(programme)[-1] == "“Asks”. Questions: 2 changed and in another order."
    assert [said.choices for said in two.editions.all()] == [["One", "Two"], ["Two", "One"]]


def test_a_change_of_substance_asks_all_that_were_reworded_anew(owner, asks):
    of.ask(owner, asks, [of.ONE, of.TWO])
    one, two = kept(asks)
    step = of.ask(owner, asks, [again(one, text="Which one?"), again(two)], substance=True, note="It was unclear.")
    assert step.edition == 2
    assert [said.edition for said in kept(asks)] == [2, 1]


def test_one_left_out_is_asked_no_more_and_stays(owner, asks):
    of.ask(owner, asks, [of.ONE, of.TWO])
    one, two = kept(asks)
    of.ask(owner, asks, [again(two)])
    assert kept(asks) == [two]
    assert one in kept(asks, only_asked=False)
    with pytest.raises(Refused, match="Nothing"):
        of.ask(owner, asks, [again(two)])


@pytest.mark.parametrize(
    ("other", "box"),
    [
        ({"text": ""}, "text"),
        ({"choices": ["Only"]}, "choice2"),
        ({"choices": ["", "That"]}, "choice1"),
        ({"choices": ["This", "this"]}, "choice2"),
        ({"choices": ["a", "b", "c", "d", "e"]}, "choice4"),
        ({"choices": ["x" * (LONGEST_CHOICE + 1), "b"]}, "choice1"),
        ({"right": 3}, "right"),
        ({"right": None}, "right"),
        ({"reason": " "}, "reason"),
    ],
)
def test_a_wrong_one_is_refused_in_its_row(owner, asks, other, box):
    with pytest.raises(Refused) as no:
        of.ask(owner, asks, [of.TWO, WantedQuestion(**(vars(of.ONE) | other))])
    assert no.value.field == f"questions.1.{box}"
    assert kept(asks) == []


def test_the_same_is_not_asked_twice_and_rows_of_another_step_are_refused(owner, programme, asks):
    with pytest.raises(Refused) as no:
        of.ask(owner, asks, [of.ONE, of.ONE])
    assert no.value.field == "questions.1.text"
    other = of.add(owner, programme, "Asks too", "answer")
    of.ask(owner, other, [of.ONE])
    with pytest.raises(Refused, match="lost track"):
        of.ask(owner, asks, [again(kept(other)[0])])


def test_only_a_step_of_questions_has_some(owner, chain):
    with pytest.raises(Refused):
        of.ask(owner, chain[0], [of.ONE])


def test_facts_hold_all_columns_that_a_change_tells_of():
    from shop.training.programmes import COLUMNS

    assert set(COLUMNS) == {name for name in Facts.__dataclass_fields__ if name != "needs"}

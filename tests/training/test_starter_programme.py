"""The starter programme: whole, without loops, from the ways out to each act that somebody new should reach."""

import json
import re

import pytest

from shop.calc import order
from shop.people.starter import load_starter
from shop.training import queries
from shop.training.models import Act, Programme, Question, Step, StepEdition, StepKind
from tests.house.files import ROOT


def _records(name, model):
    told = json.loads((ROOT / "fixtures" / name).read_text(encoding="utf-8"))
    return {record["pk"]: record["fields"] for record in told if record["model"] == model}


STEPS = _records("starter_training_programme.json", "training.step")
QUESTIONS = _records("starter_training_programme.json", "training.question")
ACTS = _records("starter_training_acts.json", "training.act")
SHEETS = {one["slug"] for one in _records("starter_safety_hazard_sheets.json", "safety.hazardsheet").values()}
WORDS = json.dumps([STEPS, QUESTIONS], ensure_ascii=False)
#: What somebody new is to be trusted with at the end of their first weeks; the other acts are for those who stay.
REACHED = {"change-cylinder", "vacuum-line", "fit-stylus"}
#: Where steps are from: nowhere published, or what the hazard sheets of the same thing name.
PUBLISHED = (
    "International Chemical Safety Card 1560",
    "NFPA 40, annex A",
    "US Chemical Safety Board, bulletin 2003-10-B",
    "29 CFR 1910.134(d)(2)(iii)",
)


def needs():
    return {pk: one["needs"] for pk, one in STEPS.items()}


def questions_of(pk):
    return [one for one in QUESTIONS.values() if one["step"] == pk]


def titles(pks):
    return {STEPS[pk]["title"] for pk in pks}


def test_it_is_some_forty_steps_of_every_kind():
    assert 38 <= len(STEPS) <= 50
    assert {one["kind"] for one in STEPS.values()} == set(StepKind)


def test_nothing_goes_round_and_nobody_waits_for_what_is_expected_later():
    assert order.find_loop(needs()) == []
    for one in STEPS.values():
        for before in one["needs"]:
            assert STEPS[before]["day"] <= one["day"]
            assert STEPS[before]["order"] < one["order"]


def test_all_of_it_leads_to_the_end():
    """No step stands beside the way: the last of all rests on each that is not only for itself."""
    last = max(STEPS, key=lambda pk: STEPS[pk]["order"])
    beside = set(STEPS) - order.rests_on([last], needs()) - {last}
    assert titles(beside) == {"Questions: solvents"}


@pytest.mark.parametrize("pk", STEPS)
def test_a_step_says_why_and_how_and_names_what_there_is(pk):
    one = STEPS[pk]
    assert len(one["why"]) >= 30
    assert one["how"]
    assert set(one["needs"]) <= set(STEPS)
    assert one.get("sheet", "fire") in SHEETS
    assert one.get("act", 1) in ACTS
    assert bool(one.get("sheet")) or one["kind"] != "read"
    assert (one.get("times", 1) > 1) == (one["kind"] == "do")
    assert bool(questions_of(pk)) == (one["kind"] == "answer")


@pytest.mark.parametrize("pk", STEPS)
def test_a_step_keeps_to_the_limits_and_a_line_is_a_line(pk):
    one = STEPS[pk]
    for name in ("title", "why", "how", "goes_wrong", "source"):
        assert len(one.get(name, "")) <= Step._meta.get_field(name).max_length
    for text in (one["how"], one.get("goes_wrong", "")):
        assert all(line == " ".join(line.split()) != "" for line in text.splitlines())


@pytest.mark.parametrize("pk", STEPS)
def test_a_step_says_where_it_is_from(pk):
    """A rule of our trade has no source and says so; a published one is one that the hazard sheets name as well."""
    source = STEPS[pk]["source"]
    sheets = (ROOT / "fixtures" / "starter_safety_hazard_sheets.json").read_text(encoding="utf-8")
    assert "common practice, no source" in source or "room's own sheet" in source
    for named in PUBLISHED:
        assert named in sheets
        source = source.replace(named, "")
    assert re.search(r"\d", source) is None, "a figure that is no source that was read"


@pytest.mark.parametrize("pk", [pk for pk in STEPS if STEPS[pk]["kind"] == "answer"])
def test_questions_have_one_right_answer_and_its_reason(pk):
    asked = questions_of(pk)
    assert 4 <= len(asked) <= 6
    assert len({one["right"] for one in asked}) > 1  # not always the same place
    for one in asked:
        assert 3 <= len(one["choices"]) <= 4
        assert len(set(one["choices"])) == len(one["choices"])
        assert 0 <= one["right"] < len(one["choices"])
        assert len(one["text"]) <= Question._meta.get_field("text").max_length
        assert 30 <= len(one["reason"]) <= Question._meta.get_field("reason").max_length


def test_there_are_eight_rounds_of_questions():
    assert sum(one["kind"] == "answer" for one in STEPS.values()) == 8


def test_each_act_that_somebody_new_should_reach_is_reached_by_showing_it_alone():
    ends = {ACTS[one["act"]]["slug"]: one for one in STEPS.values() if "act" in one}
    assert set(ends) == REACHED
    assert {one["kind"] for one in ends.values()} == {"show"}


@pytest.mark.parametrize(
    ("act", "first"),
    [
        ("vacuum-line", {"Read: Cut chip", "Questions: line, plug and talc", "Clear a plug from the spare hose"}),
        ("change-cylinder", {"Read: Nitrogen cylinder, changing it", "Questions: nitrogen"}),
        ("fit-stylus", {"Read: Hot tip and head", "Look at edges under the microscope"}),
    ],
)
def test_nobody_comes_to_an_act_past_its_sheet_its_questions_and_the_way_out(act, first):
    (end,) = [pk for pk, one in STEPS.items() if "act" in one and ACTS[one["act"]]["slug"] == act]
    before = titles(order.rests_on([end], needs()))
    assert first | {"Questions: ways out and chip on fire"} <= before


def test_whoever_opens_the_trap_has_walked_through_what_to_do_when_chip_smoulders():
    for pk, one in STEPS.items():
        if (
            one["kind"] in ("do", "show")
            and one.get("sheet") in ("chip", "blocked-line")
            and "spare" not in one["title"]
        ):
            assert "Chip smoulders: walk it through" in titles(order.rests_on([pk], needs()))


def test_on_burning_chip_it_says_what_the_sheet_says():
    (walk,) = [one for one in STEPS.values() if one["title"].startswith("Chip smoulders")]
    for words in (
        "Water in plenty, and only while it is small",
        "Never carbon dioxide, foam, blanket",
        "call the fire service",
    ):
        assert words in walk["how"]
    (asked,) = [one for one in QUESTIONS.values() if "may be used on chip" in one["text"]]
    assert asked["choices"][asked["right"]] == "Water, in plenty"


def test_it_gives_chip_no_number_and_no_class_and_promises_nothing():
    assert re.search(r"UN ?\d{4}|\bH\d{3}\b|\bP\d{3}\b|GHS\d\d|\bclass \d", WORDS) is None
    assert re.search(r"\b(safe|safely|harmless|risk-free|no danger|guaranteed)\b", WORDS, re.IGNORECASE) is None


def test_a_room_that_opens_has_it_and_keeps_its_words(room_row, assistant):
    load_starter()
    made = Programme.objects.get()
    assert made.steps.count() == len(STEPS) == StepEdition.objects.count()
    assert Question.objects.count() == len(QUESTIONS)
    assert queries.needs_of([made]) == {pk: sorted(one["needs"]) for pk, one in STEPS.items()}
    (way,) = queries.ways_to(Act.objects.get(slug="vacuum-line"), person=assistant, done=())
    assert len(way.missing) == len(way.steps) > 15

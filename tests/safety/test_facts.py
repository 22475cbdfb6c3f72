"""What is typed on a sheet, line by line, and what is new between two versions."""

import pytest

from shop.safety import facts
from shop.safety.facts import BadLines, Fact
from shop.safety.models import Part


@pytest.mark.parametrize(
    ("line", "read"),
    [
        ("It burns without air. [NFPA 40, annex A]", Fact("It burns without air.", "NFPA 40, annex A")),
        ("Cool the burn. [from memory]", Fact("Cool the burn.", "", from_memory=True)),
        ("Cool it. [first-aid practice; from memory]", Fact("Cool it.", "first-aid practice", from_memory=True)),
        ("Cool it. [first aid, From Memory ]", Fact("Cool it.", "first aid", from_memory=True)),
        ("Keep it shut. [common practice, no source]", Fact("Keep it shut.", "common practice, no source")),
        ("  Two   blanks.  ", Fact("Two blanks.")),
        ("Hidden\u202e turn. []", Fact("Hidden turn.")),
        ("Of memory [memory of Q.]", Fact("Of memory", "memory of Q.")),
    ],
)
def test_a_line_is_a_fact_and_its_source(line, read):
    assert facts.read_part(line) == [read]
    assert facts.read_part(read.typed) == [read]


@pytest.mark.parametrize(
    ("text", "line", "wrong"),
    [
        ("One. [a]\nTwo [b", 2, "One pair of square brackets"),
        ("[a] One.", 1, "One pair of square brackets"),
        ("One [a] and two [b]", 1, "One pair of square brackets"),
        ("One. [a]\n\n[b]", 3, "no fact before it"),
        ("x" * 301, 1, "Keep a fact to 300 characters; these are 301"),
        (f"One. [{'y' * 201}]", 1, "Keep a source to 200 characters; these are 201"),
        ("\n".join(["One. [a]"] * 13), 13, "at most 12 facts"),
    ],
)
def test_what_cannot_be_read_is_named_by_its_line(text, line, wrong):
    with pytest.raises(BadLines) as refused:
        facts.read_part(text)
    assert [(number, wrong in said) for number, said in refused.value.lines] == [(line, True)]
    assert str(refused.value).startswith(f"Line {line}: ")


def test_all_lines_that_are_wrong_are_named_at_once():
    with pytest.raises(BadLines) as refused:
        facts.read_part("[a]\nWell. [b]\nBad ] [c]")
    assert [number for number, _ in refused.value.lines] == [1, 3]


def test_parts_are_kept_in_reading_order_and_empty_ones_left_out():
    kept = facts.to_store({Part.WASTE: [Fact("Out.", "a")], Part.NEVER: [], Part.CAN_HURT: [Fact("Hot.")]})
    assert list(kept) == ["can-hurt", "waste"]
    assert facts.of_stored(kept) == {"can-hurt": [Fact("Hot.")], "waste": [Fact("Out.", "a")]}


def test_in_a_hurry_the_parts_on_what_went_wrong_come_first():
    kept = facts.to_store({part: [Fact(part.label, "a")] for part in Part})
    assert [section.slug for section in facts.sections(kept)] == list(Part.values)
    hurried = [section.slug for section in facts.in_a_hurry(kept)]
    ifs = ["if-fire", "if-spill", "if-breathed", "if-skin", "if-eyes", "if-other"]
    assert hurried[:6] == ifs
    assert hurried[6:] == [part for part in Part.values if part not in ifs]


def test_what_is_missing_depends_on_whether_it_is_on_a_substance():
    some = {"can-hurt": [Fact("Hot.")], "never": []}
    of_act = ["before", "while", "never", "if-fire", "wear"]
    assert facts.missing_parts(some, of_substance=False) == of_act
    on_one = facts.missing_parts(some, of_substance=True)
    assert set(on_one) == {*of_act, "if-spill", "if-breathed", "if-skin", "if-eyes", "apart", "waste"}
    assert on_one == [part for part in Part if part in on_one]


def test_versions_are_compared_line_by_line():
    a, b, c, d = (Fact(name, "s") for name in "abcd")
    before = facts.to_store({"never": [a, b, c], "wear": [a]})
    after = facts.to_store({"never": [a, d, Fact("c", "another source")], "wear": [a], "waste": [b]})
    never, wear, waste = facts.compare(before, after)
    assert [(how, fact.text) for how, fact in never.lines] == [
        ("same", "a"), ("gone", "b"), ("gone", "c"), ("new", "d"), ("new", "c"),
    ]  # fmt: skip
    assert (wear.is_changed, wear.lines) == (False, [("same", a)])
    assert (waste.is_changed, waste.label, waste.lines) == (True, "Waste", [("new", b)])

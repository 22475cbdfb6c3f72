"""The starter drafts: whole, each fact with its source, and what puts out a fire never merged with another's."""

import json
import re

import pytest

from shop.people.starter import load_starter
from shop.safety import facts, queries
from shop.safety.models import HazardSheet
from tests.house.files import ROOT

FILE = ROOT / "fixtures" / "starter_safety_hazard_sheets.json"
SHEETS = {record["fields"]["slug"]: record["fields"] for record in json.loads(FILE.read_text(encoding="utf-8"))}
#: The starter substance that cut chip is.
CHIP = 1
#: What puts out chip and what does not, and the documents that say so: ICSC 1560 (dry nitrocellulose) has water in
#: large amounts, no foam, no carbon dioxide; NFPA 40, annex A, that it burns without air, so that smothering fails.
CHIPS_FIRE = {
    "Water in plenty": "International Chemical Safety Card 1560",
    "No carbon dioxide, no foam.": "International Chemical Safety Card 1560",
    "No smothering": "NFPA 40, annex A",
}


def facts_of(slug):
    return [fact for told in facts.of_stored(SHEETS[slug]["draft"]).values() for fact in told]


def test_the_acts_and_substances_that_a_room_begins_with():
    assert set(SHEETS) == {
        "chip", "fire", "blocked-line", "blank-store", "acetone", "propan-2-ol", "solvent", "nitrogen",
        "nitrogen-moving", "nitrogen-storing", "hot-tip", "talc", "pump-oil", "moving-parts", "pump-noise",
    }  # fmt: skip


@pytest.mark.parametrize("slug", SHEETS)
def test_a_draft_lacks_no_part_and_each_fact_says_where_it_is_from(slug):
    draft = facts.of_stored(SHEETS[slug]["draft"])
    assert facts.missing_parts(draft, of_substance=SHEETS[slug]["substance"] is not None) == []
    assert facts.to_store(draft) == SHEETS[slug]["draft"]
    assert [fact.text for fact in facts_of(slug) if not fact.is_sourced] == []
    for told in draft.values():
        assert facts.read_part(facts.typed_part(told)) == told  # whoever writes on starts from the same


@pytest.mark.parametrize("slug", SHEETS)
def test_it_says_that_it_is_a_draft_and_promises_nothing(slug):
    assert SHEETS[slug]["draft_note"].startswith("Starter draft, not this room's yet")
    told = json.dumps(SHEETS[slug], ensure_ascii=False)
    assert re.search(r"\b(safe|safely|harmless|risk-free|no danger|guaranteed)\b", told, re.IGNORECASE) is None


@pytest.mark.parametrize("slug", SHEETS)
def test_it_is_short_enough_for_one_page(slug):
    told = facts_of(slug)
    assert 12 <= len(told) <= 26
    assert sum(len(fact.text) + len(fact.source) for fact in told) <= 2900


@pytest.mark.parametrize("slug", [slug for slug in SHEETS if SHEETS[slug]["substance"] == CHIP])
def test_on_chip_water_in_plenty_and_no_carbon_dioxide_foam_or_smothering(slug):
    fire = facts.of_stored(SHEETS[slug]["draft"])["if-fire"]
    for words, source in CHIPS_FIRE.items():
        (fact,) = [one for one in fire if one.text.startswith(words)]
        assert fact.source.startswith(source)
        assert not fact.from_memory
    assert any("get everybody out" in one.text and "call the fire service" in one.text for one in fire)


def test_chips_are_the_sheets_that_say_so():
    assert {slug for slug in SHEETS if SHEETS[slug]["substance"] == CHIP} == {"chip", "fire", "blocked-line"}


@pytest.mark.parametrize("slug", [slug for slug in SHEETS if SHEETS[slug]["substance"] != CHIP])
def test_no_other_sheet_gives_chips_advice_and_none_of_chips_gives_anothers(slug):
    told = json.dumps(SHEETS[slug]["draft"], ensure_ascii=False).lower()
    for words in ("water in plenty", "no carbon dioxide", "no foam", "smother"):
        assert words not in told
    assert any("fire service" in one["text"] for one in SHEETS[slug]["draft"]["if-fire"])


def test_chip_is_given_no_number_and_no_class():
    for slug in ("chip", "fire", "blocked-line"):
        told = json.dumps(SHEETS[slug]["draft"])
        assert re.search(r"UN ?\d{4}|\bH\d{3}\b|\bP\d{3}\b|GHS\d\d", told) is None


def test_what_chips_sheets_say_of_fire_is_said_of_nothing_else():
    own, others = set(), set()
    for fields in SHEETS.values():
        said = {one["text"] for one in fields["draft"]["if-fire"]}
        (own if fields["substance"] == CHIP else others).update(said)
    assert len(own) >= 4
    assert own & others == set()


def test_duties_name_sheets_that_there_are():
    named = {
        record["fields"]["sheet"]
        for record in json.loads((ROOT / "fixtures" / "starter_duties.json").read_text(encoding="utf-8"))
        if record["fields"].get("sheet")
    }
    assert named == {"chip", "fire", "nitrogen", "solvent"}
    assert named <= set(SHEETS)


@pytest.mark.django_db
def test_a_room_that_opens_has_them_as_drafts_and_none_is_in_force(room_row):
    load_starter()
    assert HazardSheet.objects.count() == len(SHEETS)
    assert not queries.versions_in_force().exists()
    assert {state.words for state in queries.sheet_states()} == {"Draft, not in force"}
    assert HazardSheet.objects.get(slug="chip").substance.pk == CHIP
    assert set(queries.sheets_for_duties({"chip", "fire", "nitrogen", "solvent"})) == {
        "chip",
        "fire",
        "nitrogen",
        "solvent",
    }

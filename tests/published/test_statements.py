"""The texts of H, P and EUH statements against two public lists, and against wordings quoted from the GHS.

statements/first.txt follows CLP, annexes III and IV; statements/second.txt UN GHS revision 9, annex 3. Neither is
without mistakes, which is why there are two, and why each place where ours differs is named here, with the reason.
The wording of UN GHS, annex 3, decides.
"""

import re
from pathlib import Path

import pytest

from shop.safety.statements import statement, texts

FOLDER = Path(__file__).parent / "statements"


def listed(name):
    lines = (FOLDER / name).read_text(encoding="utf-8").splitlines()
    return dict(line.split("=", 1) for line in lines if not line.startswith("#"))


FIRST, SECOND = listed("first.txt"), listed("second.txt")


def plain(text):
    """The words alone: without instructions in brackets, marks at the end, and what only type setting differs in."""
    text = re.sub(r"\s*<[^>]*>|\(Obsolete\)\s*", "", text).replace("...", "…").casefold()
    text = re.sub(r"\s*…[\s.]*", " … ", text.replace("/…", " …"))
    text = re.sub(r"\s*°\s*", " °", text.replace("/ ", "/"))
    return re.sub(r"\s+", " ", text).strip(" .:").replace(" … ]", " …]")


def differing(others):
    """The codes whose words differ from ours."""
    return {code for code, text in others.items() if plain(statement(code)) != plain(text)}


CLP_SPELLING = {
    **dict.fromkeys(("H270", "H271", "H272"), "CLP writes oxidiser"),
    "H229": "CLP writes pressurised",
    "H202": "CLP has a comma where the UN has a semicolon",
    "H251": "CLP has a colon where the UN has a semicolon",
    "H200": "CLP writes explosives",
    "H261": "CLP writes flammable gases",
}
OLDER = {
    "P103": "until the UN's revision 8: Read label before use",
    "P231": "until the UN's revision 6: Handle under inert gas",
    "P280": "hearing protection came with the UN's revision 8",
}
FIRST_MISTAKES = {
    "P270": "mistyped: Do no eat",
    "P336": "mistyped: Do no rub",
    "P350": "mistyped: pletny",
    "P410+P412": "mistyped: Do no expose",
    "P322": "has the text of P321",
    "EUH209A": "has the text of EUH209",
    "P502": "abridged",
}
SECOND_SPELLING = {
    **dict.fromkeys(("P260", "P261"), "US spelling: vapors"),
    **dict.fromkeys(
        ("H201", "H202", "H203", "H206", "H251", "H252", "H270", "H271", "H272", "H280", "H281"),
        "a colon where the UN has a semicolon",
    ),
}
SECOND_OLDER = {
    "P234": "container, before the UN's revision 6",
    "P240": "Ground/bond, before the UN's revision 7",
    "P242": "Use only non-sparking tools, before the UN's revision 7",
    "P243": "Take precautionary measures against static discharge, before the UN's revision 7",
    "P263": "pregnancy/while nursing, before the UN's revision 7",
    **dict.fromkeys(("P310", "P311", "P312"), "or doctor, as earlier revisions had it"),
}
SECOND_NEWER = dict.fromkeys(("P264", "P264+P265"), "revision 9 names hands: Wash hands [and …]")
SECOND_MISTAKES = {
    **dict.fromkeys(("H222", "H223"), "material, where the UN has aerosol"),
    "H302+H332": "or inhaled, where the UN has or if inhaled",
    "P210": "mistyped: hot surface",
    "P212": "desensitized agent: it is the agent that desensitizes, as in H206 and in CLP",
    "P236": "mistyped: configuraion",
    "P241": "a stroke too many",
    "P282": "mistyped: glovesand",
    "P317": "has the text of P316 in part",
    "P375": "mistyped: explorsion",
    "P302+P335+P334": "leaves out IF ON SKIN",
    "P305+P351+P338": "a dash where the UN has a full stop",
    "P305+P354+P338": "leaves out the comma after lenses",
    "P342+P316": "mistyped: emergence",
    "P406": "mistyped: corrosive resistant",
}


def test_every_difference_from_the_first_list_is_known():
    assert differing(FIRST) == {*CLP_SPELLING, *OLDER, *FIRST_MISTAKES}


def test_every_difference_from_the_second_list_is_known():
    assert differing(SECOND) == {*SECOND_SPELLING, *SECOND_OLDER, *SECOND_NEWER, *SECOND_MISTAKES}


def test_where_the_two_lists_differ_ours_sides_with_one_or_the_reason_is_named():
    """No text of ours is one that both lists contradict, but for those named."""
    both = differing(FIRST) & differing(SECOND)
    assert both == {"H202", "H251", "H270", "H271", "H272"}, "punctuation and spelling only: the UN's semicolons"


def test_what_neither_list_has_is_known():
    """Those rest on the official texts alone, as we know them; they are few."""
    missing = set(texts()) - set(FIRST) - set(SECOND)
    euh = {code for code in missing if code.startswith("EUH")}
    assert euh == {
        *("EUH006", "EUH211", "EUH212", "EUH380", "EUH381", "EUH430", "EUH431", "EUH440", "EUH441", "EUH450", "EUH451")
    }
    assert missing - euh == {"H232", "P336+P315", "P370+P380+P375+P378", "P411+P235"}


def test_what_a_list_has_and_ours_has_not_is_nothing():
    assert {*FIRST, *SECOND} - set(texts()) == set()


# Wordings read in UN GHS, annex 3, and CLP, annexes III and IV -------------------------------------------------------

QUOTED = {
    "H201": "Explosive; mass explosion hazard.",
    "H203": "Explosive; fire, blast or projection hazard.",
    "H206": "Fire, blast or projection hazard; increased risk of explosion if desensitizing agent is reduced.",
    "H207": "Fire or projection hazard; increased risk of explosion if desensitizing agent is reduced.",
    "H208": "Fire hazard; increased risk of explosion if desensitizing agent is reduced.",
    "H225": "Highly flammable liquid and vapour.",
    "H228": "Flammable solid.",
    "H280": "Contains gas under pressure; may explode if heated.",
    "H304": "May be fatal if swallowed and enters airways.",
    "H319": "Causes serious eye irritation.",
    "H335": "May cause respiratory irritation.",
    "H336": "May cause drowsiness or dizziness.",
    "EUH066": "Repeated exposure may cause skin dryness or cracking.",
    "P210": "Keep away from heat, hot surfaces, sparks, open flames and other ignition sources. No smoking.",
    "P212": "Avoid heating under confinement or reduction of the desensitizing agent.",
    "P233": "Keep container tightly closed.",
    "P240": "Ground and bond container and receiving equipment.",
    "P242": "Use non-sparking tools.",
    "P243": "Take action to prevent static discharges.",
    "P271": "Use only outdoors or in a well-ventilated area.",
    "P331": "Do NOT induce vomiting.",
    "P304+P340": "IF INHALED: Remove person to fresh air and keep comfortable for breathing.",
    "P337+P313": "If eye irritation persists: Get medical advice/attention.",
    "P370+P380+P375": "In case of fire: Evacuate area. Fight fire remotely due to the risk of explosion.",
    "P403+P233": "Store in a well-ventilated place. Keep container tightly closed.",
    "P403+P235": "Store in a well-ventilated place. Keep cool.",
    "P405": "Store locked up.",
    "P410+P403": "Protect from sunlight. Store in a well-ventilated place.",
}


@pytest.mark.parametrize("code", QUOTED)
def test_a_quoted_wording_is_ours(code):
    assert statement(code) == QUOTED[code]


def test_one_public_list_gives_h250_the_text_of_h251_and_ours_does_not():
    assert statement("H250") == "Catches fire spontaneously if exposed to air."
    assert statement("H251") == "Self-heating; may catch fire."
    assert plain(FIRST["H250"]) == plain(SECOND["H250"]) == plain(statement("H250"))

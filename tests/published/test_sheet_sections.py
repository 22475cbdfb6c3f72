"""The 16 sections of a safety data sheet, and how long sheets are kept, against the rules that say so."""

from pathlib import Path

import pytest
from django.conf import settings

from shop.safety.sheet_files.sections import TITLES

#: 29 CFR 1910.1200, appendix D, table D.1: "Minimum information for an SDS", the headings in its order.
APPENDIX_D = [
    "Identification",
    "Hazard(s) identification",
    "Composition/information on ingredients",
    "First-aid measures",
    "Fire-fighting measures",
    "Accidental release measures",
    "Handling and storage",
    "Exposure controls/personal protection",
    "Physical and chemical properties",
    "Stability and reactivity",
    "Toxicological information",
    "Ecological information",
    "Disposal considerations",
    "Transport information",
    "Regulatory information",
    "Other information",
]


def test_the_sections_have_the_titles_of_appendix_d():
    assert list(TITLES.items()) == list(enumerate(APPENDIX_D, 1))


@pytest.mark.parametrize(
    ("rule", "says"),
    [
        # safety data sheets are readily accessible during each work shift to employees in their work areas
        ("29 CFR 1910.1200(g)(8)", "each shift"),
        # a sheet need not be kept for any period if a record of the substance, where and when it was used is: 30 years
        ("29 CFR 1910.1020(d)(1)(ii)(B)", "kept for 30 years"),
    ],
)
def test_the_pages_name_the_rule_they_go_by(rule, says):
    part = (Path(settings.BASE_DIR) / "templates" / "safety" / "parts" / "sheets_kept.html").read_text()
    assert rule in part
    assert says in part

"""Finding the sections of a sheet by its words, and what its section 2 seems to say."""

import pytest

from shop.safety.sheet_files.section_two import suggested
from shop.safety.sheet_files.sections import TITLES, first_pages, section


def page(*lines):
    return "\n".join(lines)


@pytest.mark.parametrize(
    "how",
    [
        "SECTION {n}: {t}",
        "Section {n:02d} - {t}",
        "{n}. {T}",
        "{n} {t}",
        "{n}) {t}",
        "Section {n}\n{t}",
        "{t}",
        "{n}.\n{t}",
    ],
)
def test_each_way_of_writing_a_heading_is_found(how):
    texts = [page("some words", how.format(n=n, t=title, T=title.upper())) for n, title in TITLES.items()]
    assert first_pages(texts) == {n: n for n in TITLES}


@pytest.mark.parametrize(
    ("line", "number"),
    [
        ("SECTION 4: First aid measures", 4),
        ("4. FIRST\u2011AID MEASURES", 4),
        ("SECTION 2: Hazards identification", 2),
        ("SECTION 5: Firefighting measures", 5),
        ("1. PRODUCT AND COMPANY IDENTIFICATION", 1),
        ("ABSCHNITT 4: Erste-Hilfe-Ma\u00dfnahmen", 4),
        ("RUBRIQUE 4: Premiers secours", 4),
        ("Sezione 16: Altre informazioni", 16),
    ],
)
def test_other_words_and_languages(line, number):
    assert first_pages(["", line]) == {number: 2}


@pytest.mark.parametrize(
    "line",
    [
        "See section 8 for what to wear",
        "section 8: for what to wear see there",
        "8 hours",
        "4.1 Description of first aid measures",
        "17. First-aid measures",
        "Give first aid at once",
        "SECTION 4: " + "First-aid measures " * 9,
    ],
)
def test_what_is_no_heading_is_not_taken_for_one(line):
    assert first_pages([line]) == {}


def test_a_list_of_contents_is_passed_over():
    contents = page(*(f"{n}. {title} .... {n}" for n, title in TITLES.items()))
    texts = [contents, *(page(f"SECTION {n}: {title}") for n, title in TITLES.items())]
    assert first_pages(texts) == {n: n + 1 for n in TITLES}


def test_a_heading_out_of_order_drops_out():
    texts = [
        page("SECTION 1: Identification", "SECTION 2: Hazards identification"),
        page("SECTION 9: Physical and chemical properties", "SECTION 3: Composition"),
        page("SECTION 4: First-aid measures"),
    ]
    assert first_pages(texts) == {1: 1, 2: 1, 3: 2, 4: 3}


def test_none_is_found_where_there_are_no_words():
    assert first_pages([]) == first_pages(["", "\n\n"]) == {}
    assert section([""], 2) == ""


def test_words_made_to_be_slow_are_gone_through_all_the_same():
    slow = [("section " * 10 + "\n") * 2000, "1. " * 20_000, "SECTION 1: Identification\n" * 2000]
    assert first_pages(slow) == {1: 3}


def test_only_section_two_is_read_for_what_it_says():
    texts = [
        page("1. Identification", "H999 Wash", "2. Hazards identification", "Signal word", "Danger"),
        page("H225, H336 and H300 + H310", "P303 + P361 + P353; P210", "GHS02, GHS07", "EUH066"),
        page("3. Composition", "H301", "GHS06"),
    ]
    found = suggested(texts)
    assert found.signals == ["Danger"]
    assert found.h_codes == ["H225", "H336", "H300+H310", "EUH066"]
    assert found.p_codes == ["P303+P361+P353", "P210"]
    assert found.pictograms == ["GHS02", "GHS07"]


def test_two_signal_words_are_both_told():
    assert suggested(["2. Hazards identification\nDANGER\nWarning"]).signals == ["Danger", "Warning"]


@pytest.mark.parametrize(
    ("words", "day"),
    [
        ("Revision date: 2024-03-15", "2024-03-15"),
        ("Revised on 15.3.2024", "2024-03-15"),
        ("Date of revision: 15 March 2024", "2024-03-15"),
        ("Date of issue 1-Jan-2020\nRevision: 15 Mar 2024", "2024-03-15"),
        ("Revision date 03/04/2024", ""),
        ("Revision 3", ""),
        ("Revision date: 2024-02-31", ""),
        ("Printed 2024-03-15", ""),
    ],
)
def test_a_date_is_suggested_only_where_it_reads_one_way(words, day):
    assert suggested([words]).revised_on == day

"""What must not be in the project: places of the machine it was made on, and addresses of package registries."""

import re

import pytest

from tests.house.files import text_files

# Written in pieces, so that this file does not find itself.
FORBIDDEN = {
    "a folder of the machine it was made on": r"/wor"
    + r"k/|/tmp/te"
    + r"am|/roo"
    + r"t/|/hom"
    + r"e/\w+/|/opt/p"
    + "ypi",
    "a folder that is not in the project": r"(?<![\w/-])sha" + r"red/",
    "a package registry": r"py" + r"pi\.org|pythonhos" + r"ted|npm" + r"js\.org|deb\.deb" + r"ian\.org",
    "a key": r"-----BEGIN [A-Z ]*PRIVATE KEY",
}


@pytest.mark.parametrize("what", FORBIDDEN)
def test_no_file_holds(what):
    found = [f"{path}: {match[0]}" for path, text in text_files() if (match := re.search(FORBIDDEN[what], text))]
    assert not found


def test_no_screen_calls_a_room_safe():
    """Only the negative may be said: no page, paper or sentence of the program promises safety."""
    promise = re.compile(
        r"\b(?:room|it|everything|cutting) is (?:now )?safe\b|\bsafe to (?:cut|enter|work|use)\b", re.IGNORECASE
    )
    found = [
        f"{path}: {match[0]}"
        for path, text in text_files()
        if path.startswith(("shop/", "templates/", "fixtures/", "README"))
        and (match := promise.search(text))
        and "not " not in text[max(0, match.start() - 40) : match.start()].lower()
    ]
    assert not found


def test_no_page_says_where_a_figure_is_from_in_our_own_shorthand():
    """“From memory” is for those who read the code; a page says how far a figure is right."""
    found = [path for path, text in text_files() if path.startswith("templates/") and "(from memory)" in text]
    assert found == []


def test_per_cent_is_written_in_one_way():
    """As a unit is, with a no-break space before it: shop.wording.per_cent."""
    tight = re.compile(r"\d(?<!u00a0)%(?=[\s.,;:)'\"<])|:\.\df?%\}|f\}%(?=[\s.,;:)'\"<])")
    found = [
        f"{path}: {line.strip()}"
        for path, text in text_files()
        if path.startswith(("shop/", "templates/", "fixtures/")) and path.endswith((".py", ".html", ".json"))
        for line in text.splitlines()
        if tight.search(line)
    ]
    assert found == []

"""With the strict content policy nothing inline would work; so there is none."""

import re

import pytest
from django.template import TemplateSyntaxError, engines

from tests.house.files import ROOT, project_files

TEMPLATES = [path.relative_to(ROOT).as_posix() for path in project_files(".html", ".svg")]

INLINE = {
    "a style attribute": r"<[^>]*\sstyle\s*=",
    "a style element": r"<style[\s>]",
    "an inline script": r"<script(?![^>]*\ssrc=)[^>]*>",
    "an event attribute": r"<[^>]*\son[a-z]+\s*=",
    "hx-on": r"hx-on[:\w-]*\s*=",
    "a javascript address": r"javascript:",
    "an address of another host": r"""(?:src|href|action)\s*=\s*["'](?:https?:)?//""",
}


def test_no_template_has_anything_inline_or_from_elsewhere():
    found = {}
    for path in TEMPLATES:
        text = (ROOT / path).read_text()
        if here := [what for what, pattern in INLINE.items() if re.search(pattern, text, re.IGNORECASE)]:
            found[path] = here
    assert found == {}


@pytest.mark.parametrize(
    ("markup", "what"),
    [
        ('<p class="a" style="color: red">', "a style attribute"),
        ("<style>p {}</style>", "a style element"),
        ("<script>go()</script>", "an inline script"),
        ("<script defer>go()</script>", "an inline script"),
        ('<button onclick="go()">', "an event attribute"),
        ('<div hx-on:click="go()">', "hx-on"),
        ('<a href="javascript:go()">', "a javascript address"),
        ('<img src="//elsewhere.example/a.png">', "an address of another host"),
    ],
)
def test_each_pattern_finds_what_it_is_for(markup, what):
    assert re.search(INLINE[what], markup, re.IGNORECASE)


@pytest.mark.parametrize(
    "markup",
    ["<script src=\"{% static 'shop/press.js' %}\" defer></script>", '<p class="one-style=">', "<main>only</main>"],
)
def test_what_is_allowed_is_not_found(markup):
    assert not [what for what, pattern in INLINE.items() if re.search(pattern, markup, re.IGNORECASE)]


def test_every_template_can_be_read():
    broken = {}
    for name in _pages():
        try:
            engines["django"].get_template(name)
        except TemplateSyntaxError as wrong:
            broken[name] = str(wrong)
    assert broken == {}


def test_markup_made_in_code_has_no_style_attribute():
    inline = re.compile(r"""<[a-z][^>\n]*\s(?:style|on[a-z]+)\s*=\s*["'{]""")
    found = [path for path in project_files(".py") if "shop" in path.parts and inline.search(path.read_text())]
    assert found == []


def _pages():
    return [path.removeprefix("templates/") for path in TEMPLATES if re.match(r"templates/.*\.html$", path)]


def _actions_with_pages():
    """App and name of each action that dresses a page (`@writes(actions.hold_lot)`): it may name no template."""
    for path in [*(ROOT / "shop").glob("*/views.py"), *(ROOT / "shop").glob("*/views/*.py")]:
        app = path.relative_to(ROOT / "shop").parts[0]
        yield from ((app, act) for act in re.findall(r"@writes\(actions\.(\w+)\)", path.read_text()))


def test_no_template_lies_unused():
    """Every template is named by a view, a form or another template, or is the namesake of an action with a page."""
    named = {f"{app}/{act}.html" for app, act in _actions_with_pages()}
    for file in project_files(".py", ".html", ".toml"):
        named |= set(re.findall(r"""["']([\w/.-]+\.html)["']""", file.read_text()))
    assert [name for name in _pages() if name not in named and not name.startswith("django/")] == []

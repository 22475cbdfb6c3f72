"""No template carries script or style of its own, and each page can be found its way around in."""

import re
from pathlib import Path

import pytest
from django.conf import settings

TEMPLATES = sorted((Path(settings.BASE_DIR) / "templates").rglob("*.html"))
PAGES = [t for t in TEMPLATES if '{% extends "base.html" %}' in t.read_text()]

FORBIDDEN = {
    "a style attribute": re.compile(r"\sstyle\s*=", re.IGNORECASE),
    "a style element": re.compile(r"<style\b", re.IGNORECASE),
    "a handler": re.compile(r"\s(?:on[a-z]+|hx-on[\w:-]*|hx-vals\s*=\s*['\"]js:)\s*=", re.IGNORECASE),
    "an inline script": re.compile(r"<script\b(?![^>]*\bsrc=)", re.IGNORECASE),
    "a script address": re.compile(r"javascript:", re.IGNORECASE),
    "another host": re.compile(r"(?:src|href)\s*=\s*[\"'](?:https?:)?//", re.IGNORECASE),
}


def name(template: Path) -> str:
    return str(template.relative_to(settings.BASE_DIR))


@pytest.mark.parametrize("template", TEMPLATES, ids=name)
@pytest.mark.parametrize("what", FORBIDDEN)
def test_has_nothing_the_content_policy_forbids(template: Path, what: str) -> None:
    assert not FORBIDDEN[what].search(template.read_text())


@pytest.mark.parametrize("template", PAGES, ids=name)
def test_page_has_one_heading_and_a_title(template: Path) -> None:
    text = template.read_text()
    assert len(re.findall(r"<h1\b", text)) == 1
    assert "{% block title %}" in text


def test_the_search_finds_what_it_should() -> None:
    assert FORBIDDEN["a style attribute"].search('<p style="color:red">')
    assert FORBIDDEN["a handler"].search('<a onclick="x()">')
    assert FORBIDDEN["a handler"].search('<a hx-on:click="x()">')
    assert FORBIDDEN["an inline script"].search("<script>x()</script>")
    assert not FORBIDDEN["an inline script"].search('<script src="a.js" defer></script>')

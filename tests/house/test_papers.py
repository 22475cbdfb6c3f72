"""What the papers say can be done can be done: commands, links, pictures and settings."""

import re
import shlex

import pytest
from django.core.management import get_commands, load_command_class

from tests.house.files import ROOT

PAPERS = [name for name in ("README.md", "DEVELOPERS.md") if (ROOT / name).exists()]


def commands():
    """Each `python3 manage.py ...` of the papers, as its words."""
    for paper in PAPERS:
        for line in re.findall(r"manage\.py ([^`\n]+)", (ROOT / paper).read_text()):
            yield pytest.param(shlex.split(line, comments=True), id=f"{paper}: {line.strip()}")


@pytest.mark.parametrize("words", list(commands()))
def test_a_command_the_papers_name_exists_with_its_options(words):
    name, *rest = words
    assert name in get_commands()
    if name == "test":
        return  # what follows is pytest's
    parser = load_command_class(get_commands()[name], name).create_parser("manage.py", name)
    known = {option for action in parser._actions for option in action.option_strings}
    for word in rest:
        if word.startswith("--"):
            assert word.partition("=")[0] in known


def test_the_papers_are_there():
    assert PAPERS == ["README.md", "DEVELOPERS.md"]
    readme = (ROOT / "README.md").read_text()
    assert "python3 manage.py demo" in readme
    assert "python3 manage.py open" in readme


@pytest.mark.parametrize("paper", PAPERS)
def test_links_within_the_project_lead_somewhere(paper):
    text = (ROOT / paper).read_text()
    targets = re.findall(r"\]\(([^)\s]+)\)", text) + re.findall(r"""(?:src|srcset)="([^"]+)""", text)
    for target in targets:
        if "://" in target or target.startswith(("#", "mailto:")):
            continue
        assert (ROOT / target.partition("#")[0]).exists(), target


@pytest.mark.parametrize("paper", PAPERS)
def test_files_the_papers_name_exist(paper):
    for name in re.findall(r"`((?:shop|tests|templates|fixtures)/[\w./-]+)`", (ROOT / paper).read_text()):
        assert (ROOT / name).exists(), name


def test_every_setting_from_the_environment_is_explained():
    read = set(re.findall(r"""env\.\w+\(\s*"(\w+)\"""", (ROOT / "shop" / "settings.py").read_text()))
    for path in (ROOT / "shop").rglob("*.py"):
        read |= set(re.findall(r"LATHESIDE_[A-Z_]+", path.read_text()))
    assert len(read) >= 10
    told = (ROOT / "DEVELOPERS.md").read_text()
    assert [name for name in sorted(read) if name not in told] == []

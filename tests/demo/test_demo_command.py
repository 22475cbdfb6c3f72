"""`manage.py demo`: builds once, never over a real room, says how to sign in."""

import sys
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from shop.demo import cast, story
from shop.demo.management.commands import demo
from shop.people.models import Person, Room


@pytest.fixture
def folder(tmp_path: Path, settings, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A data folder of its own, and a story of two days."""
    settings.DATA_DIR = tmp_path
    monkeypatch.setattr(story, "DAYS", 2)
    return tmp_path


def run(*words: str) -> str:
    out = StringIO()
    call_command("demo", "--no-serve", *words, stdout=out)
    return out.getvalue()


@pytest.mark.django_db(transaction=True)
def test_it_builds_once_and_then_only_says_how_old_it_is(folder: Path) -> None:
    said = run()
    assert "The demo room is built" in said
    assert Room.objects.get().name == cast.ROOM
    assert (folder / demo.MARK).read_text()
    people = Person.objects.count()

    (folder / demo.MARK).write_text("2020-01-02")
    assert "ended on 2020-01-02" in run()
    assert Person.objects.count() == people


@pytest.mark.django_db(transaction=True)
def test_once_built_it_is_served_by_a_process_that_has_not_built(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    class Replaced(Exception):
        pass

    def replace(program: str, arguments: list[str]) -> None:
        raise Replaced(program, arguments)

    served: list[str] = []
    monkeypatch.setattr(demo.os, "execv", replace)
    monkeypatch.setattr(demo.server, "serve", lambda listen, **said: served.append(listen))
    with pytest.raises(Replaced) as by:
        call_command("demo", "--fresh", "--listen", "127.0.0.1:0", stdout=StringIO())
    program, (also, script, *words) = by.value.args
    assert (program, also, script) == (sys.executable, sys.executable, sys.argv[0])
    call_command(*words, stdout=StringIO())  # what takes its place serves, and builds no more
    assert served == ["127.0.0.1:0"]


@pytest.mark.django_db(transaction=True)
def test_it_leaves_a_real_room_alone(folder: Path, room_row: Room) -> None:
    with pytest.raises(CommandError, match="holds a real room"):
        run()
    with pytest.raises(CommandError, match="left alone"):
        run("--fresh")
    assert Room.objects.get().name == room_row.name


def test_it_says_how_to_sign_in(capsys: pytest.CaptureFixture[str]) -> None:
    out = StringIO()
    demo.Command(stdout=out)._say_how_to_sign_in("http://127.0.0.1:8000/")
    for sign_in in ("ottilie", "caspar", "juno", "pim"):
        assert sign_in in out.getvalue()
    assert cast.PASSWORD in out.getvalue()

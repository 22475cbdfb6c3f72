"""Opening a room: settings, owner and starter content together, or a sentence that says what to give instead."""

import io
import json
import re
from uuid import uuid4

import pytest
from django.apps import apps
from django.core.management import CommandError, call_command, load_command_class

from shop.duties.models import Meter
from shop.people import opening, starter
from shop.people.management.commands import open as open_command
from shop.people.models import Person, Role, Room
from shop.refusal import Refused

GOOD = {
    "name": "Brindle Lane Cutting",
    "zone": "America/St_Johns",
    "units": "us",
    "owner_name": "Orla  Tindrum",
    "sign_in": "orla",
    "password": "the lathe hums at four",
}


@pytest.mark.django_db
def test_a_room_opens_with_its_owner_and_starter_content():
    owner = opening.open_room(**GOOD)
    room = Room.objects.get()
    assert (room.name, room.zone, room.currency, room.paper) == (GOOD["name"], GOOD["zone"], "USD", "Letter")
    assert (room.pressure_unit, room.temperature_unit, room.liquid_unit, room.length_unit) == (
        "psi",
        "degF",
        "gal",
        "in",
    )
    assert Person.objects.get() == owner
    assert (owner.name, owner.role, owner.pressure_unit) == ("Orla Tindrum", Role.OWNER, "psi")
    assert owner.check_password(GOOD["password"])
    assert Meter.objects.filter(key="chip").exists()


@pytest.mark.django_db
def test_a_metric_room_has_euros_and_a4_unless_it_says_otherwise():
    opening.open_room(**GOOD | {"units": "metric", "currency": "chf"})
    room = Room.objects.get()
    assert (room.pressure_unit, room.currency, room.paper) == ("bar", "CHF", "A4")


@pytest.mark.django_db
def test_units_and_paper_may_be_in_capitals():
    opening.open_room(**GOOD | {"units": "US", "paper": "a4"})
    room = Room.objects.get()
    assert (room.pressure_unit, room.currency, room.paper) == ("psi", "USD", "A4")


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"name": "  "}, "name"),
        ({"name": "x" * 81}, "name"),
        ({"zone": "Europe/Nowhere"}, "zone"),
        ({"zone": ""}, "zone"),
        ({"zone": "../../etc/passwd"}, "zone"),
        ({"units": "imperial"}, "units"),
        ({"currency": "EURO"}, "currency"),
        ({"currency": "€€€"}, "currency"),
        ({"paper": "A3"}, "paper"),
        ({"owner_name": ""}, "owner_name"),
        ({"sign_in": ""}, "sign_in"),
        ({"sign_in": "or la"}, "sign_in"),
        ({"sign_in": "o" * 61}, "sign_in"),
        ({"password": "fourteen chars"}, "password"),
        ({"password": "Orla Tindrum 123", "owner_name": "Orla Tindrum 123"}, "password"),
    ],
)
def test_what_will_not_do_is_refused_and_nothing_is_written(given, field):
    with pytest.raises(Refused) as no:
        opening.open_room(**GOOD | given)
    assert no.value.field == field
    assert not Room.objects.exists()
    assert not Person.objects.exists()
    assert not Meter.objects.exists()


@pytest.mark.django_db
def test_a_room_opens_once():
    opening.open_room(**GOOD)
    with pytest.raises(Refused, match="open already"):
        opening.open_room(**GOOD | {"sign_in": "another"})
    assert Person.objects.count() == 1


def options_of(name):
    """Every option that a command of ours takes, as typed."""
    parser = load_command_class("shop.people", name).create_parser("manage.py", name)
    return {option for action in parser._actions for option in action.option_strings}


def test_units_may_be_typed_in_capitals_on_the_command_line():
    parser = load_command_class("shop.people", "open").create_parser("manage.py", "open")
    assert parser.parse_args(["--units", "US"]).units == "us"


class TestStarter:
    @pytest.mark.django_db
    def test_loading_again_adds_nothing_and_keeps_what_was_changed(self):
        assert starter.load_starter() > 0
        Meter.objects.filter(key="chip").update(name="Renamed")
        assert starter.load_starter() == 0
        assert Meter.objects.get(key="chip").name == "Renamed"

    @pytest.mark.django_db
    def test_a_record_made_afterwards_gets_a_number_of_its_own(self):
        starter.load_starter()
        meter = Meter.objects.get(key="chip")
        first = meter.pk
        meter.pk, meter.key = None, f"other-{uuid4().hex[:4]}"
        meter.save()
        assert meter.pk not in (None, first)

    @pytest.mark.django_db
    def test_each_app_with_files_of_content_is_known(self, settings):
        """A file is an app's, or an app's on one topic: starter_safety_substances.json."""
        known = {app: [] for app in starter.APPS}
        for path in (settings.BASE_DIR / "fixtures").glob("starter_*.json"):
            app = path.stem.split("_")[1]
            assert app in known, path.name
            known[app] += json.loads(path.read_text(encoding="utf-8"))
        assert sum(map(bool, known.values())) >= 5
        for app, records in known.items():
            for record in records:  # with neither, it would be added anew by each load
                assert record.get("pk") or hasattr(apps.get_model(record["model"]), "natural_key"), record
            assert {record["model"].partition(".")[0] for record in records} <= {app}
            numbers = [(record["model"], record["pk"]) for record in records if record.get("pk")]
            assert len(set(numbers)) == len(numbers), app


class TestCommand:
    """python3 manage.py open"""

    @pytest.fixture
    def password_file(self, tmp_path):
        file = tmp_path / "password"
        file.write_text(GOOD["password"] + "\n")
        return str(file)

    @pytest.fixture
    def options(self, password_file, settings):
        settings.DEBUG = True  # static files straight from the source: nothing to collect
        return {
            "name": GOOD["name"],
            "zone": GOOD["zone"],
            "units": GOOD["units"],
            "owner_name": GOOD["owner_name"],
            "sign_in": GOOD["sign_in"],
            "password_file": password_file,
            "no_serve": True,
        }

    @pytest.mark.django_db
    def test_options_open_a_room_without_a_question(self, options, capsys):
        call_command("open", **options)
        assert "Brindle Lane Cutting is open. Sign in as orla" in capsys.readouterr().out
        assert Person.objects.get().check_password(GOOD["password"])

    @pytest.mark.django_db
    def test_the_password_may_come_in_a_variable(self, options, monkeypatch):
        monkeypatch.setenv(open_command.PASSWORD_VARIABLE, GOOD["password"])
        call_command("open", **options | {"password_file": None})
        assert Person.objects.get().check_password(GOOD["password"])

    @pytest.mark.django_db
    def test_the_password_may_come_on_standard_input(self, options, monkeypatch):
        monkeypatch.setattr("sys.stdin", io.StringIO(GOOD["password"] + "\n"))
        call_command("open", **options | {"password_file": "-"})
        assert Person.objects.get().check_password(GOOD["password"])

    @pytest.mark.django_db
    @pytest.mark.parametrize("missing", ["name", "zone", "units", "owner_name", "sign_in", "password_file"])
    def test_with_nobody_to_ask_the_missing_option_is_named(self, options, monkeypatch, missing):
        monkeypatch.setattr("sys.stdin", io.StringIO())
        monkeypatch.delenv(open_command.PASSWORD_VARIABLE, raising=False)
        with pytest.raises(CommandError, match=f"--{missing.replace('_', '-')}"):
            call_command("open", **options | {missing: None})
        assert not Room.objects.exists()

    @pytest.mark.django_db
    def test_a_value_that_will_not_do_names_its_option(self, options):
        with pytest.raises(CommandError, match=r"not a time zone.*--zone"):
            call_command("open", **options | {"zone": "Europe/Nowhere"})

    @pytest.mark.django_db
    def test_a_password_file_that_is_not_there(self, options):
        with pytest.raises(CommandError, match="cannot be read"):
            call_command("open", **options | {"password_file": "/nowhere/at/all"})

    @pytest.mark.django_db
    def test_an_open_room_is_left_alone(self, options, capsys):
        call_command("open", **options)
        call_command("open", no_serve=True)
        assert "is open already" in capsys.readouterr().out
        with pytest.raises(CommandError, match="holds a room already"):
            call_command("open", **options)
        assert Person.objects.count() == 1

    @pytest.mark.django_db
    def test_a_person_is_asked_until_the_answer_will_do(self, options, monkeypatch, capsys):
        answers = iter(
            [
                "",
                "Brindle Lane Cutting",
                "Nowhere",
                "Europe/Lisbon",
                "furlongs",
                "METRIC",
                "Orla orla orla",
                "o r",
                "orla",
            ]
        )
        secrets = iter(
            ["too short", "orla orla orla!", GOOD["password"], "differs", GOOD["password"], GOOD["password"]]
        )
        monkeypatch.delenv(open_command.PASSWORD_VARIABLE, raising=False)
        monkeypatch.setattr("sys.stdin", type("Keyboard", (io.StringIO,), {"isatty": lambda self: True})())
        monkeypatch.setattr("builtins.input", lambda question: next(answers))
        monkeypatch.setattr("getpass.getpass", lambda question: next(secrets))
        call_command("open", no_serve=True)
        said = capsys.readouterr().out
        for sentence in (
            "Give a name.",
            "Nowhere is not a time zone",
            "Units are metric or us",
            "no blanks",
            "differ",
            "take at least 15 characters",
            "too much like the name",
        ):
            assert sentence in said
        assert Room.objects.get().zone == "Europe/Lisbon"
        assert Person.objects.get().check_password(GOOD["password"])
        assert list(answers) == list(secrets) == []

    @pytest.mark.django_db
    @pytest.mark.parametrize("leaving", [KeyboardInterrupt, EOFError])
    def test_who_leaves_at_a_question_is_let_go_with_one_sentence(self, options, monkeypatch, capsys, leaving):
        def leave(question):
            raise leaving

        monkeypatch.setattr("sys.stdin", type("Keyboard", (io.StringIO,), {"isatty": lambda self: True})())
        monkeypatch.setattr("builtins.input", leave)
        with pytest.raises(SystemExit) as end:
            call_command("open", no_serve=True)
        assert end.value.code == 130
        assert capsys.readouterr().out.strip() == "Stopped. No room was opened; the same command starts again."
        assert not Room.objects.exists()

    @pytest.mark.django_db
    def test_a_poor_password_names_what_it_can_be_given_by(self, options, tmp_path):
        (tmp_path / "short").write_text("short")
        with pytest.raises(CommandError) as no:
            call_command("open", **options | {"password_file": str(tmp_path / "short")})
        said = str(no.value)
        assert said.endswith(f"(--password-file, or the variable {open_command.PASSWORD_VARIABLE})")
        options_known = options_of("open")
        assert set(re.findall(r"--[a-z-]+", said)) <= options_known

    @pytest.mark.parametrize(
        ("path", "zone"),
        [
            ("/usr/share/zoneinfo/Europe/Lisbon", "Europe/Lisbon"),
            ("/var/db/timezone/zoneinfo/America/St_Johns", "America/St_Johns"),
            ("/usr/share/zoneinfo/Not/AZone", None),
            ("/etc/localtime", None),
        ],
    )
    def test_the_zone_of_the_machine_is_offered(self, monkeypatch, path, zone):
        monkeypatch.setattr("os.path.realpath", lambda _: path)
        assert open_command.zone_of_machine() == zone

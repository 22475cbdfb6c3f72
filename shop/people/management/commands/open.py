import getpass
import os
import sys
from argparse import ArgumentParser
from collections.abc import Callable
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from shop.jobs import server
from shop.people import opening, rules
from shop.people.models import Person
from shop.people.queries import the_room
from shop.refusal import Refused

#: The owner's password may be handed over in this variable, so that it stands in no list of running commands.
PASSWORD_VARIABLE = "LATHESIDE_OWNER_PASSWORD"


class Command(BaseCommand):
    help = "Open a real, empty room: its settings, its first owner and the starter content. Then serve it."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--name", help="the room's name")
        parser.add_argument("--zone", help="its time zone, as in Europe/Lisbon")
        parser.add_argument(
            "--units", type=str.lower, choices=list(opening.UNITS), help="what new people read and type in"
        )
        parser.add_argument("--currency", help="three letters; default: EUR, with --units us USD")
        parser.add_argument("--paper", help="A4 or Letter; default: A4, with --units us Letter")
        parser.add_argument("--owner-name", help="the first owner's name")
        parser.add_argument("--sign-in", help="the name the owner signs in with")
        parser.add_argument(
            "--password-file",
            metavar="FILE",
            help=f"read the owner's password from here (- is standard input); or set {PASSWORD_VARIABLE}",
        )
        parser.add_argument("--listen", default=server.LISTEN, metavar="HOST:PORT", help="default: %(default)s")
        parser.add_argument("--no-serve", action="store_true", help="open the room, and leave serving it for later")

    def handle(self, *args: Any, listen: str, no_serve: bool, **options: Any) -> None:
        if not no_serve:
            server.bind(listen).close()  # before questions are asked, not after
        server.prepare(self.stdout.write)
        if opening.is_open():
            self._refuse_options(options)
            self.stdout.write(f"{the_room().name} is open already.")
        else:
            try:
                owner = self._open(options)
            except (KeyboardInterrupt, EOFError):
                self.stdout.write("\nStopped. No room was opened; the same command starts again.")
                sys.exit(130)  # what a shell expects of a program stopped by Ctrl-C
            self.stdout.write(f"{the_room().name} is open. Sign in as {owner.sign_in}, with the password you gave.")
        if not no_serve:
            server.serve(listen, say=self.stdout.write)

    def _refuse_options(self, options: dict[str, Any]) -> None:
        given = ("name", "zone", "units", "currency", "paper", "owner_name", "sign_in", "password_file")
        if any(options[name] for name in given):
            raise CommandError(
                "This data folder holds a room already. Change it in the program, under Settings; or name another "
                "folder in LATHESIDE_DATA for a second room. To go on with this one: python3 manage.py serve"
            )

    def _open(self, options: dict[str, Any]) -> Person:
        asks = Asker(self.stdout.write)
        try:
            name = asks.for_("the room's name", "--name", options["name"], rules.check_name)
            zone = asks.for_("its time zone", "--zone", options["zone"], rules.check_zone, zone_of_machine())
            units = asks.for_("units, metric or us", "--units", options["units"], opening.check_units, "metric")
            owner_name = asks.for_("the owner's name", "--owner-name", options["owner_name"], rules.check_name)
            sign_in = asks.for_("a sign-in name", "--sign-in", options["sign_in"], rules.check_sign_in)
            return opening.open_room(
                name=name,
                zone=zone,
                units=units,
                currency=options["currency"],
                paper=options["paper"],
                owner_name=owner_name,
                sign_in=sign_in,
                password=asks.for_password(options["password_file"], Person(name=owner_name, sign_in=sign_in)),
            )
        except Refused as no:
            raise CommandError(f"{no.sentence} {_option(no.field)}".rstrip()) from no


def _option(field: str | None) -> str:
    """Where the refused value came from, in brackets."""
    if field == "password":
        return f"(--password-file, or the variable {PASSWORD_VARIABLE})"
    return f"(--{field.replace('_', '-')})" if field else ""


def zone_of_machine() -> str | None:
    """The time zone this machine is set to, as far as it says so."""
    _, found, name = os.path.realpath("/etc/localtime").partition("zoneinfo/")
    try:
        return rules.check_zone(name) if found else None
    except Refused:
        return None


class Asker:
    """Gets each answer from its option, else from the person at the keyboard, asking again until it will do."""

    def __init__(self, say: Callable[[str], Any]) -> None:
        self.say = say

    def _must_be_there(self, option: str) -> None:
        if not sys.stdin.isatty():
            raise CommandError(f"Nobody is here to ask: give {option} as well (python3 manage.py open --help).")

    def for_(
        self,
        what: str,
        option: str,
        given: str | None,
        check: Callable[[str], str],
        default: str | None = None,
    ) -> str:
        """The checked answer; a given one that will not do is refused (by open_room), not asked about."""
        if given is not None:
            return given
        self._must_be_there(option)
        while True:
            typed = input(f"{what[0].upper()}{what[1:]}{f' [{default}]' if default else ''}: ").strip()
            try:
                return check(typed or default or "")
            except Refused as no:
                self.say(no.sentence)

    def for_password(self, file: str | None, owner: Person) -> str:
        if file == "-":
            return sys.stdin.readline().rstrip("\r\n")
        if file is not None:
            try:
                return Path(file).read_text(encoding="utf-8").rstrip("\r\n")
            except (OSError, UnicodeDecodeError) as wrong:
                raise CommandError(f"The password file {file} cannot be read: {wrong}") from wrong
        if given := os.environ.get(PASSWORD_VARIABLE):
            return given
        self._must_be_there(f"--password-file, or the variable {PASSWORD_VARIABLE}")
        while True:
            first = getpass.getpass("A password, 15 letters or more: ")
            try:
                rules.check_password(first, owner)
            except Refused as no:
                self.say(no.sentence)
                continue
            if getpass.getpass("The same again: ") == first:
                return first
            self.say("The two differ.")

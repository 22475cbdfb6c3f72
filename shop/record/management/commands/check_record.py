"""`manage.py check_record`: does every line of the record still say what it said when it was written?"""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from shop.press.models import Line
from shop.press.record import broken


class Command(BaseCommand):
    help = (
        "Follow the record of who did what from its first line to its last. Says where it does not hold; exit code 1 "
        "if anywhere."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--noted",
            metavar="LINE:DIGEST",
            help="a line's number and digest as they were noted down elsewhere, from its page or an export",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if (found := broken()) is not None:
            raise CommandError(f"The record does not hold: {found.sentence}.", returncode=1)
        if options["noted"]:
            self._compare(options["noted"])
        self.stdout.write(f"The record holds: {Line.objects.count()} lines, each following from the one before.")

    def _compare(self, noted: str) -> None:
        number, _, digest = noted.partition(":")
        if not number.isdigit() or len(digest) < 12:
            raise CommandError("Give it as 1234:0a1b2c…, with at least 12 characters of the digest.", returncode=2)
        line = Line.objects.filter(number=int(number)).first()
        if line is None or not line.digest.startswith(digest.lower()):
            raise CommandError(
                f"Line {number} is not the one that was noted: the record was written anew.", returncode=1
            )

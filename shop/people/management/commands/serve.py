from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from shop.jobs import server
from shop.people import opening


class Command(BaseCommand):
    help = "Serve the room that is already open, with the clock that runs its jobs."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--listen", default=server.LISTEN, metavar="HOST:PORT", help="default: %(default)s")

    def handle(self, *args: Any, listen: str, **options: Any) -> None:
        server.bind(listen).close()  # a taken port is said before anything is made
        server.prepare(self.stdout.write)
        if not opening.is_open():
            raise CommandError(
                f"No room is open here yet (the data folder is {settings.DATA_DIR}), so nobody could sign in. Open it "
                "first: python3 manage.py open"
            )
        server.serve(listen, say=self.stdout.write)

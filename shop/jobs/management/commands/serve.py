from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand

from shop.jobs import server


class Command(BaseCommand):
    help = "Serve the room that is already open, with the clock that runs its jobs."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--listen", default=server.LISTEN, metavar="HOST:PORT", help="default: %(default)s")

    def handle(self, *args: Any, listen: str, **options: Any) -> None:
        server.serve(listen, say=self.stdout.write)

"""`manage.py check_ledger`: do the kept balances equal the sums of the ledger?"""

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from shop.stock.queries import ledger_faults


class Command(BaseCommand):
    help = (
        "Add up every movement and compare with what is kept on hand. Says what differs; exit code 1 if anything does."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        faults = ledger_faults()
        for fault in faults:
            self.stdout.write(fault)
        if faults:
            raise CommandError(f"{len(faults)} differences between the ledger and what is kept.", returncode=1)
        self.stdout.write("The ledger adds up: every lot's on hand equals the sum of its movements.")

from typing import Any

from django.contrib.staticfiles.management.commands.runserver import Command as StaticCommand

from shop.jobs.server import collect_static


class Command(StaticCommand):
    """Django's development server, which finds the static files also where LATHESIDE_DEBUG is off."""

    def get_handler(self, *args: Any, **options: Any) -> Any:
        collect_static()
        return super().get_handler(*args, **options)

import io
import os
import re
import shutil
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from threading import Thread
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import connection, connections
from waitress.server import create_server

from shop.cutting.models import Stylus
from shop.demo import cast
from shop.demo.standing import standing
from shop.demo.story import Story
from shop.jobs import server
from shop.people import opening

FOLDER = Path("fixtures") / "pictures"
#: One morning for good, so that a picture changes only where the program does.
WHEN = datetime(2027, 5, 11, 8, 5, tzinfo=ZoneInfo(cast.ZONE))
PHONE, DESK = (390, 844), (1440, 900)
COLOURS = 128

FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-sync",
    "--disable-background-networking",
    "--disable-component-update",
)


class Command(BaseCommand):
    help = "Make the README's pictures anew, from a demo room of their own."

    def handle(self, *args: Any, **options: Any) -> None:
        browser = next(
            (
                path
                for name in (os.environ.get("CHROMIUM"), "chromium", "chromium-browser", "google-chrome")
                if name and (path := shutil.which(name))
            ),
            None,
        )
        if browser is None:
            raise CommandError("Chromium is not installed; the pictures are taken with it.")
        server.prepare(self.stdout.write)
        if connection.vendor != "sqlite" or opening.is_open():
            raise CommandError("The pictures want an empty SQLite database. Start this with DATABASE_URL unset.")
        self.stdout.write("Building the demo room.")
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA synchronous=OFF")  # it is thrown away at the end
        Story(WHEN.date()).build()
        stylus = Stylus.objects.get(lives__fittings__off_at=None, lives__fittings__isnull=False).get_absolute_url()
        connections.close_all()
        for name in self._take(browser, _serve(), stylus):
            self.stdout.write(f"{FOLDER / name}: {(settings.BASE_DIR / FOLDER / name).stat().st_size // 1000} kB")

    def _take(self, browser: str, address: str, stylus: str) -> list[str]:
        from playwright.sync_api import sync_playwright  # of the test packages, which only this command needs

        taken: list[str] = []
        with sync_playwright() as playwright:
            chromium = playwright.chromium.launch(executable_path=browser, args=list(FLAGS))

            def sit(size: tuple[int, int], *, dark: bool = False, scale: float = 2) -> Any:
                context = chromium.new_context(
                    base_url=address,
                    viewport={"width": size[0], "height": size[1]},
                    device_scale_factor=scale,
                    color_scheme="dark" if dark else "light",
                    reduced_motion="reduce",
                    locale="en-GB",
                )
                page = context.new_page()
                page.goto("/people/sign-in/")
                page.get_by_label("Sign-in name").fill("juno")
                page.get_by_label("Password").fill(cast.PASSWORD)
                page.get_by_role("button", name="Sign in").click()
                page.wait_for_url("**/")
                return page

            def shoot(page: Any, name: str) -> None:
                page.evaluate("document.activeElement && document.activeElement.blur()")
                (settings.BASE_DIR / FOLDER).mkdir(parents=True, exist_ok=True)
                (settings.BASE_DIR / FOLDER / name).write_bytes(_smaller(page.screenshot(animations="disabled")))
                taken.append(name)

            _morning(sit(PHONE), shoot)
            dark = sit(PHONE, dark=True)
            dark.goto(stylus)
            dark.locator("figcaption").first.evaluate("(e) => e.scrollIntoView({ block: 'end' })")
            shoot(dark, "stylus-dark.png")
            desk = sit(DESK, scale=1)
            desk.goto("/")
            shoot(desk, "today-desk.png")
            chromium.close()
        return taken


def _serve() -> str:
    """Serve the room as it stands that morning, until this process ends; give the address."""
    from shop.wsgi import application  # not sooner: it looks through the static files as they are now

    door = server.bind("127.0.0.1:0")
    waiter = create_server(standing(application, WHEN), sockets=[door], threads=server.THREADS, ident=None)
    Thread(target=waiter.run, daemon=True).start()
    return server.address_of(door)


def _morning(page: Any, shoot: Callable[[Any, str], None]) -> None:
    """The check, as it is filled in; the verdict; the first side of the day."""
    page.goto("/check/")
    for question in page.locator(".check-form fieldset.field").all():
        question.get_by_text("Yes", exact=True).click()
    for line in page.locator(".line-reading").all():
        before = re.search(r": ([\d.,]+)", line.locator(".hint-before").inner_text())
        line.locator(".box-unit input").fill(before[1].replace(",", "") if before else "")
    page.evaluate("window.scrollTo(0, 0)")
    _bring_up(page, ".line-reading")
    shoot(page, "check-phone.png")
    page.get_by_role("button", name="Sign the check").click()
    page.wait_for_load_state("networkidle")
    if page.locator(".choice-sure").count():
        for tick in page.locator(".choice-sure").all():
            tick.click()
        page.get_by_role("button", name="Sign the check").click()
    page.locator(".verdict").wait_for()
    page.goto("/")
    shoot(page, "today-phone.png")
    page.get_by_role("link", name=re.compile("^Log it")).first.click()
    page.get_by_text("Good", exact=True).click()
    page.evaluate("window.scrollTo(0, 0)")
    shoot(page, "log-side-phone.png")


def _bring_up(page: Any, selector: str) -> None:
    """Scroll until the first of those stands near the top."""
    top = page.locator(selector).first.evaluate("(e) => e.getBoundingClientRect().top + window.scrollY")
    page.evaluate("(top) => window.scrollTo(0, top - 24)", top)


def _smaller(png: bytes) -> bytes:
    """The same picture in a palette, a third of the size."""
    from PIL import Image

    made = io.BytesIO()
    Image.open(io.BytesIO(png)).convert("RGB").quantize(COLOURS, dither=Image.Dither.NONE).save(
        made, "PNG", optimize=True
    )
    return made.getvalue()

"""People at their browsers, and what one may say of a page whoever reads it."""

from collections.abc import Callable
from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, Request, Response, WebError

from tests.browser.room import Room

PHONE, DESK = (390, 844), (1440, 900)
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
#: Where a shared browser waits between two tests: of the same origin, so that Chromium keeps its process, with all it
#: has made of axe, where an empty page would have it start another.
_REST = "/static/shop/tokens.css"
#: What a refused press answers with; a browser writes them to its console, and they are as they should be. Then what is
#: said of a page's service worker where `sit` was not told that this browser keeps pages, and of the resting place,
#: which has no icon.
REFUSED = (
    "status of 409",
    "status of 422",
    "Service Worker registration blocked by Playwright",
    f"{_REST}: Failed to load resource",
)

_WATCH = """
window.amiss = [];
document.addEventListener("securitypolicyviolation", (event) =>
  console.error(`policy: ${event.violatedDirective} stopped ${event.blockedURI} at ${event.sourceFile}`));
"""

#: Grooves, bars and dots are drawn near or behind words, and axe then does not look which colour the ground has; nor
#: does it where words are pushed out of sight, so a line of pages is laid out whole for it. What hovers over a page
#: that scrolls under it (the buttons by the thumb) would be taken to cover for good what it happens to cover.
_AXE_SAYS = """async (options) => {
    if (!window.axe) return null;
    if (!window.away) {
        window.away = true;
        const sheet = [...document.styleSheets].find((one) => one.href && one.href.includes("page"));
        const drawn = "main::before, h1::after, .head::after, .rail a::before, .door::before, .door::after, "
            + ".verdict::after, .concern::before, details > summary::before";
        sheet.insertRule(`${drawn} { display: none !important; }`, sheet.cssRules.length);
        sheet.insertRule("main > .pages ul { flex-wrap: wrap !important; }", sheet.cssRules.length);
        sheet.insertRule(".actions-thumb { position: static !important; }", sheet.cssRules.length);
        sheet.insertRule("main > .pages { mask-image: none !important; }", sheet.cssRules.length);
    }
    const { violations, incomplete } = await axe.run(options);
    return { violations, unsure: incomplete.filter((rule) => rule.id === "color-contrast") };
}"""

#: The program keeps things in these three places.
_EMPTY_THE_STORES = """async () => {
    sessionStorage.clear();
    localStorage.clear();
    for (const name of await caches.keys()) await caches.delete(name);
}"""


class Desk:
    """Opens browsers for people, each with a store and cookies of its own, and hears what goes wrong in any.

    amiss: errors on the console, breaches of the content policy, requests to another host, broken files. What a
    test brings about itself it names in `forgiven`, by words that the line holds.
    """

    def __init__(self, room: Room, chromium: Browser, chairs: "Chairs | None" = None) -> None:
        self.room, self.chromium, self.chairs = room, chromium, chairs
        self.forgiven: list[str] = list(REFUSED)
        self.heard: list[str] = []
        self.contexts: list[BrowserContext] = []
        self.axe = Axe()

    def sit(
        self,
        who: str = "",
        *,
        size: tuple[int, int] = PHONE,
        dark: bool = False,
        script: bool = True,
        touch: bool = False,
        keeps: bool = False,
    ) -> Page:
        """A fresh browser; with `who` (a sign-in name) somebody who signed in before. keeps: with service workers."""
        context = self.browser(lambda: self, size, dark=dark, script=script, touch=touch, keeps=keeps)
        if who:
            context.add_cookies([self.cookie(who)])
        self.contexts.append(context)
        return context.new_page()

    def browser(
        self,
        whose: "Callable[[], Desk | None]",
        size: tuple[int, int],
        *,
        dark: bool = False,
        script: bool = True,
        touch: bool = False,
        keeps: bool = False,
    ) -> BrowserContext:
        """A fresh browser, of which the desk that `whose` gives hears what goes wrong."""
        context = self.chromium.new_context(
            base_url=self.room.address,
            viewport={"width": size[0], "height": size[1]},
            color_scheme="dark" if dark else "light",
            java_script_enabled=script,
            has_touch=touch,
            locale="en-GB",
            timezone_id="Europe/London",
            reduced_motion="reduce",
            service_workers="allow" if keeps else "block",
        )
        context.set_default_timeout(20_000)
        context.add_init_script(_WATCH)
        for event, hear in {
            "console": Desk._hear_console,
            "weberror": Desk._hear_error,
            "request": Desk._hear_request,
            "response": Desk._hear_response,
        }.items():
            context.on(event, lambda told, hear=hear: hear(desk, told) if (desk := whose()) else None)  # type: ignore[call-overload]
        return context

    def cookie(self, who: str) -> Any:
        return {"name": "sessionid", "value": self.room.sessions[self.room.image][who], "url": self.room.address}

    def sit_again(self, who: str = "", *, size: tuple[int, int] = PHONE) -> Page:
        """The browser of the test before, with nobody's cookies and stores in it: only files fetched once are kept.

        For the many tests of one page each, which a fresh browser would take half as long again.
        """
        assert self.chairs is not None
        return self.chairs.take(self, who, size)

    def _hear_console(self, message: ConsoleMessage) -> None:
        if message.type in ("error", "warning"):
            self.heard.append(f"console of {message.page.url if message.page else '?'}: {message.text}")

    def _hear_error(self, error: WebError) -> None:
        self.heard.append(f"error: {error.error}")

    def _hear_request(self, request: Request) -> None:
        if not request.url.startswith((self.room.address, "data:", "blob:")):
            self.heard.append(f"request to elsewhere: {request.url}")

    def _hear_response(self, response: Response) -> None:
        if response.status >= 500 or ("/static/" in response.url and response.status >= 400):
            self.heard.append(f"{response.status}: {response.url}")

    @property
    def amiss(self) -> list[str]:
        return [line for line in self.heard if not any(words in line for words in self.forgiven)]

    def leave(self) -> None:
        for context in self.contexts:
            context.close()
        self.contexts = []

    # What one may say of any page -------------------------------------------------------------------------------------

    def flaws(self, page: Page) -> list[str]:
        """What axe finds at WCAG 2.2 A and AA, one line for each element; also words whose contrast it cannot judge."""
        options = {
            "runOnly": {"type": "tag", "values": TAGS},
            "resultTypes": ["violations", "incomplete"],
            "preload": False,  # none of these rules asks for the style sheets' text
        }
        found = page.evaluate(_AXE_SAYS, options)
        if found is None:
            page.evaluate(self.axe.axe_script)
            found = page.evaluate(_AXE_SAYS, options)
        unsure = found["unsure"]
        for rule in unsure:  # the words in pictures: tests/house computes theirs from the tokens
            rule["nodes"] = [node for node in rule["nodes"] if not node["html"].startswith("<text")]
        return [
            f"{rule['id']}: {node['target']} {node['html'][:160]} {_first_message(node)}"
            for rule in [*found["violations"], *unsure]
            for node in rule["nodes"]
        ]


class Chairs:
    """One browser for the tests of a file, at which their desks sit in turn (`Desk.sit_again`)."""

    def __init__(self) -> None:
        self.page: Page | None = None
        self.desk: Desk | None = None

    def take(self, desk: Desk, who: str, size: tuple[int, int]) -> Page:
        if self.page is None:
            self.page = desk.browser(lambda: self.desk, size).new_page()
        self.desk = desk
        self.page.context.clear_cookies()
        if who:
            self.page.context.add_cookies([desk.cookie(who)])
        look(self.page, size[0], height=size[1])
        return self.page

    def leave(self) -> None:
        """Show none of its pages any more, and empty the stores."""
        if self.page is None or self.desk is None:
            return
        self.page.goto(self.desk.room.address + _REST)
        self.page.evaluate(_EMPTY_THE_STORES)
        self.desk = None

    def end(self) -> None:
        if self.page is not None:
            self.page.context.close()


def _first_message(node: dict[str, Any]) -> str:
    messages = [check["message"] for kind in ("any", "all", "none") for check in node[kind]]
    return messages[0][:200] if messages else ""


def look(page: Page, width: int, *, dark: bool = False, height: int = 844) -> None:
    """Give the page another width and theme, in place."""
    page.set_viewport_size({"width": width, "height": height})
    page.emulate_media(color_scheme="dark" if dark else "light")


def overhang(page: Page) -> list[str]:
    """What sticks out of the page at the side at the present width; empty if it cannot be scrolled sideways."""
    return list(
        page.evaluate("""() => {
            const wide = document.documentElement.clientWidth;
            if (document.documentElement.scrollWidth <= wide && document.body.scrollWidth <= wide) return [];
            const scrolls = (e) => e !== document.body && getComputedStyle(e).overflowX !== "visible";
            const inside = (e) => { while ((e = e.parentElement) && !scrolls(e)); return !!e; };
            return [...document.querySelectorAll("body *")]
                .filter((e) => e.getBoundingClientRect().right > wide + 0.5 && !inside(e))
                .map((e) => `${e.tagName.toLowerCase()}.${e.className} ${e.textContent.trim().slice(0, 40)}`)
                .slice(0, 5).concat(`scrolls to ${document.documentElement.scrollWidth}`);
        }""")
    )


def small(page: Page, selector: str, least: float) -> list[str]:
    """The targets among `selector` (as one meets them: a tick with its words is one) that are under `least` px."""
    return list(
        page.evaluate(
            """([selector, least]) => {
                const seen = new Set(), found = [];
                for (const e of document.querySelectorAll(selector)) {
                    const target = e.closest("label.choice") || e;
                    if (seen.has(target)) continue;
                    seen.add(target);
                    const box = target.getBoundingClientRect();
                    if (!box.width || !target.checkVisibility({ visibilityProperty: true })) continue;
                    if (box.width > least - 0.1 && box.height > least - 0.1) continue;
                    const words = (target.textContent || target.name).trim().slice(0, 40);
                    found.push(`${target.tagName} “${words}” ${box.width.toFixed(0)} x ${box.height.toFixed(0)}`);
                }
                return found;
            }""",
            [selector, least],
        )
    )

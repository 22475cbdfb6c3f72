from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand

from tests.bench import fits, outlooks, start
from tests.bench.alone import ask

SIZES = (1_000, 100_000, 1_000_000)


class Command(BaseCommand):
    help = "Measure what the marks are about and print the table. Asserts nothing: times here are noisy."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--quick", action="store_true", help="leave the million movements out")

    def handle(self, *args: Any, quick: bool, **options: Any) -> None:
        self._pages(SIZES[:-1] if quick else SIZES)
        self._traces()
        self._fits()
        self._outlooks()
        self._figures()
        self._care()
        self._sweep()
        self._papers()
        self._sheets()
        self._presses()
        self._gauges()
        self._demo()
        self._start()

    def _line(self, what: str, found: str, mark: str = "") -> None:
        self.stdout.write(f"{what:<52}{found:<44}{mark}")
        self.stdout.flush()

    def _pages(self, sizes: tuple[int, ...]) -> None:
        first: dict[str, float] = {}
        for size in sizes:
            for name, page in ask("tests.bench.pages", size).items():
                growth = page["of_baseline"] / first.setdefault(name, page["of_baseline"])
                self._line(
                    f"{name} at {size:,} movements",
                    f"{page['ms']:.1f} ms CPU, {page['queries']} queries, x{growth:.2f}",
                    f"at most {15 if name == 'morning:today' else 12} queries; x1.3 at 1,000,000",
                )

    def _traces(self) -> None:
        for what, found in ask("tests.bench.traces", 100_000).items():
            self._line(
                f"{what}, 100,000 sides", f"{found['ms']:.1f} ms CPU, {found['queries']} queries", "at most 12 queries"
            )

    def _fits(self) -> None:
        fit = fits.measure()
        self._line(
            "Weibull fit, 200 lives",
            f"{fit['ours_ms']:.1f} ms, lifelines {fit['lifelines_ms']:.1f} ms, ratio {fit['ratio']:.2f}",
            f"ratio below 1; log-likelihood above theirs by {fit['closer_by']:.1e}",
        )
        self._line(
            "the same beside reliability",
            f"{fit['reliability_ms']:.1f} ms",
            f"log-likelihood above theirs by {fit['closer_than_reliability_by']:.1e}",
        )
        told = fits.measure_advice()
        self._line(
            f"posterior and advice, {told['styli']} styli, {told['lives']:,} lives",
            f"{told['s']:.2f} s ({told['cpu_s']:.2f} s CPU)",
            "under 1 s",
        )

    def _outlooks(self) -> None:
        found = outlooks.measure()
        self._line(
            f"stock outlook, {found['items']} items, 10 years of weeks",
            f"{found['s']:.2f} s ({found['cpu_s']:.2f} s CPU)",
            "under 1 s",
        )
        self._line(
            "one item: methods tried, forecast, stock for it",
            f"{found['one_ms']:.1f} ms, ratio {found['ratio']:.2f}",
            f"statsforecast {found['statsforecast_ms']:.1f} ms and stockpyl {found['stockpyl_ms']:.1f} ms together: 1",
        )

    def _figures(self) -> None:
        found = ask("tests.bench.figures", 200, 520)
        self._line(
            "outlook of 200 items from the tables, by the job",
            f"{found['anew_s']:.2f} s CPU, {found['again_ms']:.0f} ms when nothing changed",
            "under 1 s",
        )
        for name, most in (("stock:outlook", 12), ("morning:today", 15)):
            page = found[name]
            self._line(
                f"{name} with 200 items, 10 years of weeks",
                f"{page['ms']:.1f} ms CPU, {page['queries']} queries",
                f"at most {most} queries",
            )

    def _care(self) -> None:
        for what, found in ask("tests.bench.care", 2_000).items():
            page = what.startswith("duties:")
            self._line(
                f"{what}, 2,000 duties",
                f"{found['ms']:.0f} ms CPU, {found['queries']} queries",
                "at most 12 queries" if page else "the sweep under 2 s" if "sweep" in what else "",
            )

    def _sweep(self) -> None:
        for what, found in ask("tests.bench.sweep", 2_000, 500, 200).items():
            self._line(
                f"{what}, large room",
                f"{found['s']:.2f} s ({found['cpu_s']:.2f} s CPU), {found['queries']} queries",
                "2,000 duties, 500 lots, 200 styli: under 2 s" if "sweep" in what else "",
            )

    def _papers(self) -> None:
        paper = ask("tests.bench.papers")
        self._line(
            "a check as PDF",
            f"{paper['ms']:.0f} ms, {paper['ratio']:.2f} of WeasyPrint alone; kept one {paper['stored_ms']:.1f} ms",
            "below 1.2; kept one below 30 ms",
        )

    def _sheets(self) -> None:
        for ending in ("csv", "xlsx"):
            found = ask("tests.bench.sheets", 50_000, ending)
            self._line(
                f"50,000 lots taken in from {ending.upper()} ({found['mb_file']:.1f} MB)",
                f"read {found['read_s']:.1f} s, written {found['taken_s']:.1f} s CPU; {found['mb']:.0f} MB more",
                "flat memory; others wait for less than the 20 s they are given",
            )
        self._line("100 labels as PDF", f"{found['labels_s']:.2f} s CPU", "a few seconds")

    def _gauges(self) -> None:
        found = ask("tests.bench.gauges", 525_600, 10_000)
        for name, page in found["many"].items():
            what = f"the course of {name}" if name.endswith("days") else f"the page of the room, {name}"
            self._line(
                f"{what}, a year of minutes read",
                f"{page['ms']:.0f} ms ({page['cpu_ms']:.0f} ms CPU), {page['queries']} queries; with none "
                f"{found['few'][name]['ms']:.0f} ms",
                "under 300 ms" if name.endswith("days") else "as with none",
            )
        self._line(
            f"10,000 readings at once ({found['batch_kb']:.0f} KB)",
            f"kept in {found['kept_s']:.1f} s; sent again {found['known_s']:.1f} s",
            "a few seconds",
        )

    def _presses(self) -> None:
        found = ask("tests.bench.presses")
        self._line(
            "20 people pressing at once on SQLite",
            f"{found['saved']} saved, {found['refused']} refused, {found['records']} records, {found['faults']} faults",
            f"200, 0, 200, 0; a press took {found['median_ms']:.0f} ms, at worst {found['worst_ms']:.0f}",
        )

    def _demo(self) -> None:
        found = ask("tests.bench.demo")
        self._line("demo room built", f"{found['s']:.0f} s, {found['cpu_s']:.0f} s CPU", "under 30 s")
        for what in ("ended", "verdicts"):
            told = ", ".join(f"{name} {count}" for name, count in sorted(found[what].items()))
            self._line(f"demo room: {what}", f"{found['sides']} sides; {told}")

    def _start(self) -> None:
        found = start.measure()
        self._line(
            "start to first page",
            f"{found['first_page_s']:.2f} s, {found['mb']:.0f} MB; {found['mb_warm']:.0f} MB warmed up",
            "under 3 s; under 220 MB",
        )

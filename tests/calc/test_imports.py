"""Importing the calculations costs nothing, and they know nothing of the house above them."""

import pkgutil
import subprocess
import sys

import shop.calc

EVERY = sorted(found.name for found in pkgutil.walk_packages(shop.calc.__path__, "shop.calc."))
HEAVY = ("numpy", "scipy", "CoolProp", "pint", "django", "matplotlib")


def test_no_calculation_loads_a_heavy_library_or_django_on_import() -> None:
    assert {"shop.calc.groove", "shop.calc.life.posterior", "shop.calc.demand.rq"} <= set(EVERY)
    code = f"import sys, {', '.join(EVERY)}; print(*(name for name in {HEAVY!r} if name in sys.modules))"
    done = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    assert done.stdout.split() == []


def test_calculations_know_nobody_else_of_the_house() -> None:
    code = (
        f"import sys, {', '.join(EVERY)}; "
        "print(*(name for name in sys.modules if name.startswith('shop.') and not name.startswith('shop.calc')))"
    )
    done = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    assert done.stdout.split() == []

"""What the tests of cutting share."""

from collections.abc import Iterator

import pytest

from shop.people.models import Person
from tests.cutting.makers import Bench, make_bench
from tests.makers import at


@pytest.fixture
def bench(engineer: Person) -> Iterator[Bench]:
    """A room that can cut, with blanks enough, at ten in the morning."""
    with at("2025-03-03 08:00"):
        made = make_bench(engineer, blanks=300)
    with at("2025-03-03 10:00"):
        yield made

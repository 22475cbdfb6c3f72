from collections.abc import Iterator

import pytest

from tests.watch.makers import Worries, only


@pytest.fixture
def worries() -> Iterator[Worries]:
    with only(Worries()) as found:
        yield found

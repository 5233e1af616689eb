from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.grown import by_hand
from tests.grown.by_hand import Grown


@pytest.fixture(scope="module")
def grown() -> Iterator[Grown]:
    with by_hand.running() as found:
        yield found

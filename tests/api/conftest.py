"""What tests of the API share: no memory of requests or tokens from the test before."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from django.core.cache import cache


@pytest.fixture(autouse=True)
def forgetful() -> Iterator[None]:
    cache.clear()
    yield
    cache.clear()

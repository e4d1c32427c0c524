"""A copy of the checkout, with a demo of the fixed start in it."""

from __future__ import annotations

import shutil
from collections.abc import Iterator

import pytest

from fixtures_demo.build import expected
from tests.demo.checkout import Checkout, copy_checkout


@pytest.fixture(scope="module")
def checkout(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Checkout]:
    folder, data = tmp_path_factory.mktemp("checkout"), tmp_path_factory.mktemp("data")
    copied = copy_checkout(folder, data)
    done = copied.run("--no-server", "--fresh", "--start", expected()["start"])
    assert (done.returncode, done.stderr) == (0, "")
    assert "does not exist" in done.stdout
    yield copied
    shutil.rmtree(folder)

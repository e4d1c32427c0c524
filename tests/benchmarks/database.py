"""A database of a benchmark's own: its options, and where it stands while the run lasts."""

from __future__ import annotations

import argparse
import os
import tempfile
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

from tests.postgres import run_server


def parse_options(doc: str | None, size: str, default: int) -> argparse.Namespace:
    """`size` is the option by which the run is made larger or smaller; `doc` says in its first line what the run is."""
    parser = argparse.ArgumentParser(description=(doc or "").partition("\n")[0])
    parser.add_argument(size, type=int, default=default)
    parser.add_argument("--engine", choices=("sqlite", "postgresql"), default="sqlite")
    parser.add_argument("--profile", action="store_true")
    return parser.parse_args()


@contextmanager
def new_database(engine: str) -> Iterator[None]:
    """Named to Django, which is not set up yet; durable on either engine, and thrown away."""
    with ExitStack() as stack:
        folder = stack.enter_context(tempfile.TemporaryDirectory())
        os.environ |= {"DJANGO_SETTINGS_MODULE": "custody.settings", "CUSTODY_DATA": folder}
        os.environ["CUSTODY_DATABASE_URL"] = (
            stack.enter_context(run_server(durable=True))
            if engine == "postgresql"
            else f"sqlite:///{Path(folder) / 'custody.sqlite3'}"
        )
        yield

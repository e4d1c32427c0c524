"""From the telling to a database: the register by the usual load, the lines of the log through the usual door.

For the command `demo` and its tests. Whoever calls this has prepared the database it goes to.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from custody import store
from custody.services.load_register import LoadReport, load_register
from custody.services.record import Arrival, Receipt, record_entries

from .county import JURISDICTION, LOG, write_register
from .scribe import Line
from .times import MINUTE, Times

HERE = Path(__file__).resolve().parent
USER = "demo"
BATCH_LINES, BATCH_SPAN = 100, 30 * MINUTE


def expected() -> dict[str, Any]:
    """What the record shows at one fixed start: root, counts and the list of troubles."""
    document: dict[str, Any] = json.loads((HERE / "expected.json").read_text(encoding="utf-8"))
    return document


def put_register(times: Times) -> LoadReport:
    """Load the county, with its dates set for this start. Raises `ValueError` when the files are not sound."""
    with TemporaryDirectory() as folder:
        write_register(Path(folder), times)
        report = load_register(Path(folder), user=USER, now=times.on(-25, "09:00"), dry_run=False)
    if report.problems:
        raise ValueError("\n".join(map(str, report.problems)))
    return report


def open_log() -> store.LogHead:
    """The demo's log, a rehearsal, made if it is not there."""
    return store.make_log(JURISDICTION, LOG, store.LogKind.REHEARSAL)


def put_lines(lines: Iterable[Line], *, advance: Callable[[int], None] = lambda _: None) -> int:
    """Record lines in their order; how many are new. Those on record change nothing. Raises `ValueError` for a refusal."""
    log, new = open_log(), 0
    for batch in batches(list(lines)):
        answers = record_entries(log, [Arrival(envelope=line.envelope(), received=line.received) for line in batch])
        for line, answer in zip(batch, answers, strict=True):
            if not isinstance(answer, Receipt):
                raise ValueError(f"{answer.code}: {answer.detail} {line.payload}")
            new += answer.new
        advance(len(batch))
    return new


def batches(lines: Sequence[Line]) -> Iterator[list[Line]]:
    """Lines that are recorded together: never so many hours at once that something is first missed and then seen."""
    batch: list[Line] = []
    for line in lines:
        late = batch and line.received - batch[0].received > BATCH_SPAN
        if batch and (late or line.fresh_batch or len(batch) == BATCH_LINES):
            yield batch
            batch = []
        batch.append(line)
    if batch:
        yield batch

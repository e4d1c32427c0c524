"""One row of the register as its log has it, in the cells of its table's file, and the line that set it last."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from custody import registers, store
from custody.domain.register import row_key
from custody.errors import CustodyError
from custody.masterdata.drafts import TABLES, dump_cells
from custody.models.register import PersonalValue


@dataclass(frozen=True, slots=True, kw_only=True)
class RowOnRecord:
    """`cells` by column, empty for what was erased or never given; `received` in Unix seconds, `user` an opaque id."""

    cells: Mapping[str, str]
    log: str
    line: int
    received: int
    user: str


def get_row(table: str, jurisdiction: str, key: tuple[Any, ...], line: int) -> RowOnRecord:
    """The row of that key, which the line of that number set. `cells` is empty for a table that has no file.

    Raises `CustodyError("bad-line")` where the line does not hold it: the tables are not what the log says.
    """
    log = registers.open_register_log(jurisdiction)
    for stored in store.read_lines(log, line, line + 1):
        content = stored.content()
        change = content["change"]
        row = next((row for row in reversed(change["rows"]) if row_key(table, row) == key), None)
        if change["table"] == table and row is not None:
            cells = dump_cells(table, row) | _known(table, jurisdiction, key) if table in TABLES else {}
            if "jurisdiction" in cells:
                cells["jurisdiction"] = jurisdiction
            return RowOnRecord(
                cells=cells, log=log.path, line=stored.seq, received=stored.received, user=str(content["user"])
            )
    raise CustodyError("bad-line", f"Line {line} of {log.path} does not hold this row.", log=log.path, line=line)


def _known(table: str, jurisdiction: str, key: tuple[Any, ...]) -> dict[str, str]:
    """Of a person, what the log has only a commitment of."""
    if table != "people":
        return {}
    values = PersonalValue.objects.filter(jurisdiction=jurisdiction, person=key[0])
    return dict(values.values_list("field", "value"))

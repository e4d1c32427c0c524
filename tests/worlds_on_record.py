"""From a world of the simulator to a database: its register on the register's log, its deeds through the one door."""

from __future__ import annotations

from collections.abc import Iterable

from custody import store
from custody.models.log import LogKind
from custody.registers import forget
from custody.services.append_changes import append_changes
from custody.services.record import Arrival, Receipt, record_entries
from tests.world_acts import Acts, Deed
from tests.world_register import JURISDICTION, WorldRegister


def put_register(world: WorldRegister) -> None:
    """The world's register, as its rows stand, on an empty register log."""
    forget()
    log = store.lock_head(store.make_log(JURISDICTION, "register", LogKind.REGISTER))
    append_changes(log, world.rows, user="tests", now=Acts.time("08:00", day=-30))


def put_deeds(log: store.LogHead, deeds: Iterable[Deed], *, batch: int = 100) -> list[Receipt]:
    """Record deeds in the order given. All must be taken, but for those that claim the id of another."""
    waiting, receipts = list(deeds), []
    while waiting:
        arrivals = [Arrival(envelope=deed.envelope(), received=deed.received) for deed in waiting[:batch]]
        for answer in record_entries(log, arrivals):
            if isinstance(answer, Receipt):
                receipts.append(answer)
            elif answer.code != "id-taken":
                raise answer
        waiting = waiting[batch:]
    return receipts

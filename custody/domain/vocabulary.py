"""The words of the record: every closed list that an entry or a register row may draw from (format 1).

Each list is a contract with outside programs. A word is added here and nowhere else; the parser refuses a word that is not in
its list, so that a misspelt purpose cannot slip past a rule. Words for people (labels, translations) live above the domain.
"""

from __future__ import annotations

from enum import StrEnum


class ItemKind(StrEnum):
    """Kinds of accountable item. Seals are no items: they are known by their number."""

    BALLOT_CONTAINER = "ballot_container"
    TRANSFER_CASE = "transfer_case"
    MEMORY_DEVICE = "memory_device"
    RESULTS_TAPE = "results_tape"
    BALLOT_STOCK = "ballot_stock"
    SCANNER = "scanner"
    POLLBOOK = "pollbook"
    KEY_SET = "key_set"
    ENVELOPE = "envelope"
    SUPPLY_KIT = "supply_kit"


ITEM_LETTERS: dict[ItemKind, str] = {
    ItemKind.BALLOT_CONTAINER: "BC",
    ItemKind.TRANSFER_CASE: "TC",
    ItemKind.MEMORY_DEVICE: "MD",
    ItemKind.RESULTS_TAPE: "RT",
    ItemKind.BALLOT_STOCK: "BS",
    ItemKind.SCANNER: "SC",
    ItemKind.POLLBOOK: "PB",
    ItemKind.KEY_SET: "KS",
    ItemKind.ENVELOPE: "EN",
    ItemKind.SUPPLY_KIT: "SK",
}

CONTAINER_KINDS = frozenset(
    {
        ItemKind.BALLOT_CONTAINER,
        ItemKind.TRANSFER_CASE,
        ItemKind.ENVELOPE,
        ItemKind.SUPPLY_KIT,
        ItemKind.SCANNER,
    }
)


class SiteKind(StrEnum):
    """Kinds of place. Vaults and warehouses are the storage places whose every entry goes on the access log."""

    WAREHOUSE = "warehouse"
    POLLING_PLACE = "polling_place"
    RECEIVING_STATION = "receiving_station"
    VAULT = "vault"
    COUNT_CENTER = "count_center"
    DROP_BOX = "drop_box"


STORAGE_KINDS = frozenset({SiteKind.WAREHOUSE, SiteKind.VAULT})


class Role(StrEnum):
    """What a party answers for in a handoff, and what a person is assigned to for an election."""

    WAREHOUSE_CLERK = "warehouse_clerk"
    COURIER = "courier"
    POLL_CHIEF = "poll_chief"
    POLL_WORKER = "poll_worker"
    RECEIVING_CLERK = "receiving_clerk"
    VAULT_CUSTODIAN = "vault_custodian"
    TECHNICIAN = "technician"
    OFFICIAL = "official"
    AUDITOR = "auditor"
    OBSERVER = "observer"


# What these roles hold, everybody assigned to the same role at the same site holds: shifts change.
DESK_ROLES = frozenset({Role.WAREHOUSE_CLERK, Role.RECEIVING_CLERK, Role.VAULT_CUSTODIAN})


class Purpose(StrEnum):
    """Why an item is handed over."""

    ISSUE = "issue"
    DELIVER = "deliver"
    RELIEVE = "relieve"
    RETURN = "return"
    TRANSFER = "transfer"
    STORE = "store"
    RETRIEVE = "retrieve"
    AUDIT = "audit"


class UnsealReason(StrEnum):
    """Why a seal comes off."""

    OPEN_POLLS = "open_polls"
    CLOSE_POLLS = "close_polls"
    SERVICE = "service"
    COUNT = "count"
    AUDIT = "audit"
    RECOUNT = "recount"
    REPLACE_SEAL = "replace_seal"
    EMERGENCY = "emergency"


class SealState(StrEnum):
    """A seal as it was found, before anything was touched."""

    INTACT = "intact"
    DAMAGED = "damaged"
    NOT_HOLDING = "not_holding"
    MISSING = "missing"
    UNREADABLE = "unreadable"


NUMBERLESS_STATES = frozenset({SealState.MISSING, SealState.UNREADABLE})


class StepName(StrEnum):
    """Steps of opening, closing and what follows (common practice of the trade, no published source)."""

    SEALS_VERIFIED = "seals_verified"
    BIN_EMPTY = "bin_empty"
    AUXILIARY_BIN_EMPTY = "auxiliary_bin_empty"
    ZERO_TAPE_SIGNED = "zero_tape_signed"
    POLLS_OPENED = "polls_opened"
    AUXILIARY_BIN_OPENED = "auxiliary_bin_opened"
    AUXILIARY_BIN_CLEARED = "auxiliary_bin_cleared"
    POLLS_CLOSED = "polls_closed"
    RESULTS_TAPE_SIGNED = "results_tape_signed"
    MEMORY_REMOVED = "memory_removed"
    BIN_EMPTIED = "bin_emptied"
    UNIT_LOCKED = "unit_locked"
    SHOWN_EMPTY = "shown_empty"
    KEYS_TRIED = "keys_tried"
    RESULTS_READ_IN = "results_read_in"


class Figure(StrEnum):
    """Names of the figures that a count may hold."""

    BALLOTS_RECEIVED = "ballots_received"
    BALLOTS_CAST = "ballots_cast"
    BALLOTS_SPOILED = "ballots_spoiled"
    BALLOTS_UNUSED = "ballots_unused"
    BALLOTS_PROVISIONAL = "ballots_provisional"
    BALLOTS_AUXILIARY = "ballots_auxiliary"
    PUBLIC_COUNTER = "public_counter"
    PROTECTIVE_COUNTER = "protective_counter"
    BALLOTS_IN_CONTAINER = "ballots_in_container"
    VOTERS_CHECKED_IN = "voters_checked_in"
    CONTAINERS_SEALED = "containers_sealed"


COUNTERS = frozenset({Figure.PUBLIC_COUNTER, Figure.PROTECTIVE_COUNTER})


class Passage(StrEnum):
    """Which way somebody passes the door of a storage place."""

    ENTER = "enter"
    LEAVE = "leave"


class HoldMovement(StrEnum):
    """What an order that stops disposal does."""

    PLACE = "place"
    LIFT = "lift"


class Category(StrEnum):
    """What kind of incident it was."""

    LOST = "lost"
    FOUND = "found"
    DAMAGED = "damaged"
    POWER_LOSS = "power_loss"
    UNIT_FAILURE = "unit_failure"
    SEAL_VOID = "seal_void"
    OTHER = "other"


class Outcome(StrEnum):
    """How a finding was settled. `referred` passes it on and leaves it open."""

    EXPLAINED = "explained"
    CORRECTED = "corrected"
    ACCEPTED = "accepted"
    REFERRED = "referred"


class DisposalMethod(StrEnum):
    """How an item left the record's care."""

    DESTROYED = "destroyed"
    RELEASED = "released"

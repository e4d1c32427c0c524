"""Payloads of format 1: one sparse and one full sample of every kind, and strategies that draw any well-formed payload.

The form is written down here once more, by hand, from the record's specification (sections 3 and 4), not taken from the
parser's tables: the two can be wrong in different ways only.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from hypothesis import strategies as st

Payload = dict[str, Any]

ENTRY_ID, OTHER_ID = "0192f0c1-2b3c-7d4e-8f50-617283940a1b", "0192f0c1-2b3c-7d4e-9f50-617283940a1c"
HEADER: Payload = {"id": ENTRY_ID, "v": 1, "log": "ALDER/main", "election": "GEN26", "at": "2026-11-04T02:04:00Z"}
HEADER_MORE: Payload = {
    "site": "P01",
    "note": "the case was wet ± dried",
    "paper": "F-0017",
    "transcriber": "OFFICE-1",
    "photos": ["0f" * 32],
    "observers": ["WATCH-1"],
    "offset": -40,
}
CHIEF: Payload = {"role": "poll_chief", "people": ["CHIEF-P01", "WORKER-1-P01"], "site": "P01"}
DRIVERS: Payload = {"role": "courier", "people": ["DRIVER-1-P01", "DRIVER-2-P01"]}
INTACT: Payload = {"item": "BC000016", "point": "front", "number": "S0000026", "state": "intact"}
MISSING: Payload = {"item": "BC000016", "point": "back", "state": "missing"}
DAMAGED: Payload = {"item": "TC00001X", "point": "latch", "number": "T0000001", "maker": "Birch", "state": "damaged"}

SPARSE: dict[str, Payload] = {
    "register": {"items": ["BC000016"], "by": CHIEF},
    "handoff": {"items": ["BC000016"], "release": CHIEF, "receive": DRIVERS, "purpose": "return"},
    "seal": {"seals": [INTACT], "by": CHIEF},
    "unseal": {"seals": [INTACT], "reason": "close_polls", "by": CHIEF},
    "inspect": {"seals": [INTACT], "by": CHIEF},
    "pack": {"container": "TC00001X", "items": ["MD000012"], "by": CHIEF},
    "unpack": {"container": "TC00001X", "items": ["MD000012"], "by": CHIEF},
    "count": {"subject": "P01", "figures": {"ballots_cast": 0}, "by": CHIEF},
    "step": {"step": "polls_closed", "by": CHIEF},
    "access": {"movement": "enter", "purpose": "", "by": CHIEF},
    "incident": {"items": [], "category": "power_loss", "by": CHIEF},
    "hold": {"movement": "place", "items": [], "reason": "order 12", "by": CHIEF},
    "amend": {"amends": OTHER_ID, "replaces": {}, "reason": "", "by": CHIEF},
    "resolve": {"finding": f"lone-access/{OTHER_ID}", "outcome": "explained", "reason": "", "by": CHIEF},
    "dispose": {"items": ["BC000016"], "method": "destroyed", "by": CHIEF},
}
"""What an entry of each kind must have, beyond the header."""

FULL: dict[str, Payload] = {
    "register": {},
    "handoff": {"seals": [INTACT, MISSING, DAMAGED], "loose_seals": ["S0000026..S0000029", "S0000031"]},
    "seal": {"seals": [INTACT, INTACT | {"point": "back", "maker": "Arnby"}]},
    "unseal": {"seals": [INTACT, MISSING, DAMAGED]},
    "inspect": {"seals": [MISSING, DAMAGED | {"state": "not_holding"}, MISSING | {"state": "unreadable"}]},
    "pack": {},
    "unpack": {},
    "count": {"figures": {"ballots_cast": 512, "public_counter": -1, "voters_checked_in": 2**53 - 1}},
    "step": {"items": ["BC000016", "BC000016"]},
    "access": {"visitors": ["a locksmith"]},
    "incident": {"loose_seals": ["S0000026"]},
    "hold": {"movement": "lift", "items": ["BC000016"], "lifts": OTHER_ID},
    "amend": {"replaces": {"items": [], "note": "", "seals": [MISSING], "figures": {"ballots_cast": 512}}},
    "resolve": {},
    "dispose": {"method": "released"},
}
"""What it may have besides, or hold more of."""

KINDS = tuple(SPARSE)
SAMPLES: dict[str, Payload] = {
    f"{name}-{kind}": HEADER | more | {"kind": kind} | SPARSE[kind] | members
    for kind in KINDS
    for name, more, members in (("sparse", {}, {}), ("full", HEADER_MORE, FULL[kind]))
}

# Strategies

codes = st.text(st.characters(min_codepoint=0x21, max_codepoint=0x7E), min_size=1, max_size=12)
texts = st.text(st.sampled_from('abc äöü ß 雨 … “” \n\t"\\/\x00\u007f\U0001f5f3'), max_size=20)
integers = st.integers(-(2**53) + 1, 2**53 - 1)
times = st.datetimes().map(lambda moment: moment.strftime("%Y").zfill(4) + moment.strftime("-%m-%dT%H:%M:%SZ"))
ids = st.builds(
    lambda time, a, variant, b: f"{time[:8]}-{time[8:]}-7{a}-{variant}{b[:3]}-{b[3:]}",
    *(st.text("0123456789abcdef", min_size=size, max_size=size) for size in (12, 3)),
    st.sampled_from("89ab"),
    st.text("0123456789abcdef", min_size=15, max_size=15),
)


def words(text: str) -> list[str]:
    return text.split()


hashes = st.binary(min_size=32, max_size=32).map(bytes.hex)
ROLES = words(
    "warehouse_clerk courier poll_chief poll_worker receiving_clerk vault_custodian technician official auditor "
    "observer"
)
SITE_KINDS = words("warehouse polling_place receiving_station vault count_center drop_box")
ITEM_KINDS = words(
    "ballot_container transfer_case memory_device results_tape ballot_stock scanner pollbook key_set envelope supply_kit"
)
PURPOSES = words("issue deliver relieve return transfer store retrieve audit")
REASONS = words("open_polls close_polls service count audit recount replace_seal emergency")
STATES = words("intact damaged not_holding missing unreadable")
STEPS = words(
    "seals_verified bin_empty auxiliary_bin_empty zero_tape_signed polls_opened auxiliary_bin_opened "
    "auxiliary_bin_cleared polls_closed results_tape_signed memory_removed bin_emptied unit_locked shown_empty "
    "keys_tried results_read_in"
)
FIGURES = words(
    "ballots_received ballots_cast ballots_spoiled ballots_unused ballots_provisional ballots_auxiliary "
    "public_counter protective_counter ballots_in_container voters_checked_in containers_sealed"
)
CATEGORIES = words("lost found damaged power_loss unit_failure seal_void other")
OUTCOMES = words("explained corrected accepted referred")


def with_optional(required: dict[str, st.SearchStrategy[Any]], **optional: st.SearchStrategy[Any]) -> Any:
    return st.fixed_dictionaries(required, optional=optional)


def _range(prefix: str, first: int, more: int, width: int) -> str:
    width = max(width, len(str(first + more)))
    return f"{prefix}{first:0{width}d}..{prefix}{first + more:0{width}d}"


prefixes = st.text("ABST-", max_size=3)
ranges = st.one_of(codes.filter(lambda text: ".." not in text), st.builds(
    _range, prefixes, st.integers(0, 10**9), st.integers(0, 9_999), st.integers(1, 9)
))  # fmt: skip
parties = with_optional({"role": st.sampled_from(ROLES), "people": st.lists(codes, max_size=3)}, site=codes)


def readings(states: list[str]) -> st.SearchStrategy[Payload]:
    numbered = [state for state in states if state not in ("missing", "unreadable")]
    at = {"item": codes, "point": codes}
    found = with_optional({**at, "number": codes, "state": st.sampled_from(numbered)}, maker=codes)
    gone = st.fixed_dictionaries({**at, "state": st.sampled_from(["missing", "unreadable"])})
    return st.one_of(found, gone) if numbered != states else found


items, some_items = st.lists(codes, max_size=3), st.lists(codes, min_size=1, max_size=3)
seals, some_seals = st.lists(readings(STATES), max_size=3), st.lists(readings(STATES), min_size=1, max_size=3)
figures = st.dictionaries(st.sampled_from(FIGURES), integers, min_size=1)
loose = st.lists(ranges, max_size=2)
json_values: st.SearchStrategy[Any] = st.recursive(
    st.one_of(st.booleans(), integers, texts),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text("abcxyz_", max_size=6), inner, max_size=3),
    max_leaves=6,
)
FIXED = {"id", "v", "log", "kind", "election", "release", "receive", "by"}
replaces = st.dictionaries(st.text("abcdefilnorstu_", max_size=9).filter(lambda name: name not in FIXED), json_values)

MEMBERS: dict[str, Any] = {
    "register": with_optional({"items": some_items, "by": parties}),
    "handoff": with_optional(
        {"items": some_items, "release": parties, "receive": parties, "purpose": st.sampled_from(PURPOSES)},
        seals=seals,
        loose_seals=loose,
    ),
    "seal": with_optional({"seals": st.lists(readings(["intact"]), min_size=1, max_size=3), "by": parties}),
    "unseal": with_optional({"seals": some_seals, "reason": st.sampled_from(REASONS), "by": parties}),
    "inspect": with_optional({"seals": some_seals, "by": parties}),
    "pack": with_optional({"container": codes, "items": some_items, "by": parties}),
    "unpack": with_optional({"container": codes, "items": some_items, "by": parties}),
    "count": with_optional({"subject": codes, "figures": figures, "by": parties}),
    "step": with_optional({"step": st.sampled_from(STEPS), "by": parties}, items=items),
    "access": with_optional(
        {"movement": st.sampled_from(["enter", "leave"]), "purpose": texts, "by": parties}, visitors=items
    ),
    "incident": with_optional(
        {"items": items, "category": st.sampled_from(CATEGORIES), "by": parties}, loose_seals=loose
    ),
    "hold": st.one_of(
        st.fixed_dictionaries({"movement": st.just("place"), "items": items, "reason": texts, "by": parties}),
        st.fixed_dictionaries(
            {"movement": st.just("lift"), "items": items, "reason": texts, "by": parties, "lifts": ids}
        ),
    ),
    "amend": with_optional({"amends": ids, "replaces": replaces, "reason": texts, "by": parties}),
    "resolve": with_optional({"finding": codes, "outcome": st.sampled_from(OUTCOMES), "reason": texts, "by": parties}),
    "dispose": with_optional(
        {"items": some_items, "method": st.sampled_from(["destroyed", "released"]), "by": parties}
    ),
}
headers = with_optional(
    {"id": ids, "v": st.just(1), "log": st.just("ALDER/main"), "election": codes, "at": times},
    site=codes,
    note=texts,
    photos=st.lists(hashes, max_size=2),
    observers=items,
    offset=integers,
)
papers: st.SearchStrategy[Payload] = st.one_of(
    st.just({}), st.fixed_dictionaries({"paper": codes, "transcriber": codes})
)


def payloads(kind: str) -> st.SearchStrategy[Payload]:
    """Any well-formed payload of a kind."""
    join: Callable[..., Payload] = lambda header, paper, members: header | paper | members | {"kind": kind}  # noqa: E731
    return st.builds(join, headers, papers, MEMBERS[kind])


any_payload = st.sampled_from(KINDS).flatmap(payloads)

"""The one door: what is refused and why, what is on record already, what further signatures make of an entry."""

from __future__ import annotations

import base64
import copy
from collections.abc import Callable
from typing import Any

import pytest
from django.db import transaction

from custody import store
from custody.domain.instants import dump_instant
from custody.errors import REFUSAL_CODES, CustodyError, Refused
from custody.ledger import merkle
from custody.ledger.canonical import dump_canonical
from custody.ledger.envelope import dump_envelope, sign_envelope
from custody.ledger.signing import SMALL_ORDER, Signer, keyid
from custody.ledger.tiles import MAX_ENTRY_BYTES
from custody.models.log import LogKind
from custody.projections.apply import derive_log
from custody.projections.compare import list_differences
from custody.projections.reading import Tables
from custody.registers import get_register
from custody.services.record import Arrival, Receipt, record_entries, record_entry
from tests.world import Deed, World
from tests.world_register import signer_of
from tests.worlds_on_record import put_register

pytestmark = pytest.mark.django_db

PLACE = "P01"
WEAK = sorted(SMALL_ORDER)[3]
JsonEnvelope = dict[str, Any]


@pytest.fixture
def world() -> World:
    """The kit is on record, packed, sealed and issued: four entries, none of them recorded yet."""
    world = World(places=1)
    world.change("people", code="WEAK-1")
    world.change("keys", person="WEAK-1", public_key=base64.b64encode(WEAK).decode())
    world.prepare(PLACE)
    world.issue_kit(PLACE)
    put_register(world)
    return world


@pytest.fixture
def log(world: World) -> store.LogHead:
    return store.make_log("ALDER", "main", LogKind.MAIN)


def arrival(deed: Deed) -> Arrival:
    return Arrival(envelope=deed.envelope(), received=deed.received)


def head(log: store.LogHead) -> store.LogHead:
    return store.open_log(log.jurisdiction, log.name)


def signed(payload: dict[str, Any] | bytes, *people: str) -> JsonEnvelope:
    """Any payload, really signed."""
    data = payload if isinstance(payload, bytes) else dump_canonical(payload)
    return dump_envelope(sign_envelope(data, map(signer_of, people or ("CLERK-1",))))


def refusal(log: store.LogHead, envelope: object) -> str:
    """The code with which an envelope is refused. Nothing may have been written."""
    before = head(log).size
    with pytest.raises(Refused) as caught:
        record_entry(log, envelope, received=1_800_000_000)
    assert head(log).size == before
    assert caught.value.detail.endswith(".")
    return caught.value.code


def changed(deed: Deed, change: Callable[[dict[str, Any]], object]) -> dict[str, Any]:
    payload = copy.deepcopy(deed.payload)
    change(payload)
    return payload


def other_bytes(text: str) -> str:
    return ("B" if text[0] != "B" else "C") + text[1:]


def with_signature(deed: Deed, **members: str) -> JsonEnvelope:
    envelope = deed.envelope()
    envelope["signatures"][0] |= members
    return envelope


def one_more(deed: Deed, signer: Signer) -> JsonEnvelope:
    own = dump_envelope(sign_envelope(dump_canonical(deed.payload), [signer]))
    envelope = deed.envelope()
    return envelope | {"signatures": [*envelope["signatures"], *own["signatures"]]}


BAD: list[tuple[str, str, Callable[[Deed], object]]] = [
    ("not-envelope", "a list", lambda deed: [deed.envelope()]),
    ("not-envelope", "a member too many", lambda deed: deed.envelope() | {"more": 1}),
    ("not-envelope", "base64 of another alphabet", lambda deed: deed.envelope() | {"payload": "_w=="}),
    ("not-envelope", "one key twice", lambda deed: deed.envelope() | {"signatures": deed.envelope()["signatures"] * 2}),
    ("not-envelope", "a key id in capitals", lambda deed: with_signature(deed, keyid="A" * 64)),
    ("unknown-type", "another type", lambda deed: deed.envelope() | {"payloadType": "application/json"}),
    ("not-canonical", "white space", lambda deed: signed(dump_canonical(deed.payload).replace(b",", b", ", 1))),
    ("not-canonical", "not JSON", lambda deed: signed(b"seal")),
    ("missing-member", "no party", lambda deed: signed(changed(deed, lambda it: it.pop("by")))),
    ("unknown-member", "a colour", lambda deed: signed(deed.payload | {"colour": "red"})),
    ("wrong-type", "a time as a number", lambda deed: signed(deed.payload | {"at": 5})),
    ("wrong-type", "version 2", lambda deed: signed(deed.payload | {"v": 2})),
    ("unknown-word", "another kind", lambda deed: signed(deed.payload | {"kind": "sing"})),
    ("no-signature", "none at all", lambda deed: deed.envelope() | {"signatures": []}),
    ("bad-signature", "of other bytes", lambda deed: deed.envelope() | {"payload": signed({"a": 1})["payload"]}),
    ("bad-signature", "one bit", lambda deed: with_signature(deed, sig=other_bytes(deed.envelope()["signatures"][0]["sig"]))),
    ("unknown-key", "nobody's", lambda deed: one_more(deed, Signer(b"n" * 32))),
    ("weak-key", "anybody's", lambda deed: with_signature(deed, keyid=keyid(WEAK))),
    ("other-log", "for training", lambda deed: signed(deed.payload | {"log": "ALDER/drill"})),
    ("too-large", "a long note", lambda deed: signed(deed.payload | {"note": "x" * MAX_ENTRY_BYTES})),
]  # fmt: skip


@pytest.mark.parametrize(("code", "why", "spoil"), BAD, ids=[f"{code}: {why}" for code, why, _ in BAD])
def test_what_cannot_be_an_entry_is_refused(
    world: World, log: store.LogHead, code: str, why: str, spoil: Callable[[Deed], object]
) -> None:
    deed = world.log[0]
    assert refusal(log, spoil(deed)) == code
    # The same entry unspoilt is taken: nothing but what was spoilt made the difference.
    assert record_entry(log, deed.envelope(), received=deed.received).new


def test_every_code_of_a_refusal_is_met_here() -> None:
    assert {code for code, _, _ in BAD} | {"id-taken", "log-closed"} == set(REFUSAL_CODES)


def test_the_registers_log_takes_no_entry(world: World) -> None:
    register = store.open_log("ALDER", "register")
    deed = world.log[0]
    payload = deed.payload | {"log": "ALDER/register"}
    assert refusal(register, signed(payload, *deed.signers)) == "log-closed"


def test_a_jurisdiction_without_register_takes_no_entry(world: World) -> None:
    log = store.make_log("ELM", "main", LogKind.MAIN)
    with pytest.raises(CustodyError) as caught:
        record_entry(log, world.log[0].envelope(), received=1)
    assert caught.value.code == "no-jurisdiction"


def test_a_receipt_names_the_line(world: World, log: store.LogHead) -> None:
    deed = world.log[0]
    receipt = record_entry(log, deed.envelope(), received=deed.received)
    (line,) = store.read_lines(log)
    assert receipt.as_json() == {
        "id": deed.id,
        "log": "ALDER/main",
        "seq": 0,
        "received": dump_instant(deed.received),
        "leaf": merkle.leaf_hash(line.body).hex(),
    }
    assert line.content() == {"seq": 0, "received": dump_instant(deed.received), "envelope": deed.envelope()}


def test_the_same_again_is_the_same_receipt(world: World, log: store.LogHead) -> None:
    deed = world.log[0]
    first = record_entry(log, deed.envelope(), received=deed.received)
    again = record_entry(log, deed.envelope(), received=deed.received + 999)
    assert (again.new, again.as_json()) == (False, first.as_json())
    assert head(log).size == 1


def test_fewer_signatures_again_change_nothing(world: World, log: store.LogHead) -> None:
    deed = world.log[0]
    first = record_entry(log, deed.envelope(), received=deed.received)
    fewer = record_entry(log, signed(deed.payload, deed.signers[1]), received=deed.received + 9)
    assert (fewer.new, fewer.seq, head(log).size) == (False, first.seq, 1)


def test_further_signatures_are_a_line_of_their_own(world: World, log: store.LogHead) -> None:
    """The giver's phone and the taker's, both without a network: the entry's signers are all of them."""
    handoff = next(deed for deed in world.log if deed.payload["kind"] == "handoff")
    givers, takers = handoff.payload["release"]["people"], handoff.payload["receive"]["people"]
    first = record_entry(log, signed(handoff.payload, *givers), received=handoff.received)
    assert first.new
    second = record_entry(log, signed(handoff.payload, *givers[:1], *takers), received=handoff.received + 60)
    assert (second.new, second.seq, second.id) == (True, first.seq + 1, first.id)
    recorded = Tables(head(log)).load_entries([handoff.id])[handoff.id]
    received = {signature.keyid: signature.received - handoff.received for signature in recorded.signatures}
    assert received == {signer_of(each).keyid: 0 if each in givers else 60 for each in (*givers, *takers)}
    assert (recorded.seq, recorded.received) == (first.seq, first.received)
    again = record_entry(log, signed(handoff.payload, *takers), received=handoff.received + 99)
    assert (again.new, again.seq, head(log).size) == (False, first.seq, 2)


def test_another_payload_under_a_known_id_is_refused(world: World, log: store.LogHead) -> None:
    deed = world.log[0]
    record_entry(log, deed.envelope(), received=deed.received)
    assert refusal(log, signed(deed.payload | {"note": "other"}, *deed.signers)) == "id-taken"
    assert record_entry(log, deed.envelope(), received=deed.received).new is False


def test_a_bad_one_in_a_batch_holds_back_no_other(world: World, log: store.LogHead) -> None:
    deeds = world.log[:3]
    arrivals = [arrival(deed) for deed in deeds]
    arrivals.insert(1, Arrival(envelope={"payload": 1}, received=5))
    arrivals.append(Arrival(envelope=signed(deeds[0].payload | {"note": "x"}), received=6))
    arrivals.append(arrival(deeds[2]))
    answers = record_entries(log, arrivals)
    told = [each.code if isinstance(each, Refused) else (each.seq, each.new) for each in answers]
    assert told == [(0, True), "not-envelope", (1, True), (2, True), "id-taken", (2, False)]
    assert [line.entry_id for line in store.read_lines(log)] == [deed.id for deed in deeds]


def test_an_entry_and_its_further_signatures_may_come_in_one_batch(world: World, log: store.LogHead) -> None:
    deed = world.log[0]
    one, other = deed.signers[:2]
    arrivals = [Arrival(envelope=signed(deed.payload, each), received=deed.received) for each in (one, other, one)]
    answers = record_entries(log, arrivals)
    assert [isinstance(each, Receipt) and (each.seq, each.new) for each in answers] == [
        (0, True),
        (1, True),
        (0, False),
    ]
    assert len(Tables(head(log)).load_entries([deed.id])[deed.id].signatures) == 2


def test_the_largest_entry_that_fits_is_taken(world: World, log: store.LogHead) -> None:
    """To the byte: one more, and it is refused. Base64 has four characters for three bytes."""
    deed = world.log[0]

    def envelope(length: int) -> JsonEnvelope:
        return signed(deed.payload | {"note": "x" * length}, *deed.signers)

    def size(length: int) -> int:
        content = {"envelope": envelope(length)}
        return len(store.line_body(0, store.NewLine(received=deed.received, entry_id=deed.id, content=content)))

    length = next(each for each in range(48_000, 50_000) if size(each) > MAX_ENTRY_BYTES) - 1
    assert size(length) > MAX_ENTRY_BYTES - 4
    assert refusal(log, envelope(length + 1)) == "too-large"
    assert record_entry(log, envelope(length), received=deed.received).new


def test_what_was_too_large_leaves_its_id_free(world: World, log: store.LogHead) -> None:
    deed = world.log[0]
    large = Arrival(envelope=signed(deed.payload | {"note": "x" * MAX_ENTRY_BYTES}), received=1)
    refused, taken = record_entries(log, [large, arrival(deed)])
    assert isinstance(refused, Refused)
    assert refused.code == "too-large"
    assert isinstance(taken, Receipt)
    assert taken.new


def test_nothing_is_recorded_when_the_transaction_fails(world: World, log: store.LogHead) -> None:
    with pytest.raises(RuntimeError), transaction.atomic():
        record_entry(log, world.log[0].envelope(), received=5)
        raise RuntimeError
    assert head(log).size == 0
    assert list(store.read_lines(log)) == []


def test_handling_however_wrong_is_recorded(world: World, log: store.LogHead) -> None:
    """Reality cannot be refused: nobody's item, by people without a role, at no known site, signed by a stranger to it."""
    act = world.handoff(
        ["X-1"],
        {"role": "courier", "people": ["NOBODY"]},
        {"role": "vault_custodian", "people": ["NOBODY"], "site": "P99"},
        "store",
        signed_by=["AUDIT-1"],
        election="NEVER",
    )
    assert record_entry(log, act.envelope(), received=act.received).new


def test_the_tables_follow_every_call(world: World, log: store.LogHead) -> None:
    world.open_polls(PLACE)
    deeds = list(reversed(world.lines()))
    while deeds:
        record_entries(log, [arrival(deed) for deed in deeds[:5]])
        deeds = deeds[5:]
        assert list_differences(head(log), derive_log(head(log), get_register("ALDER"))) == []

"""The store: lines go on in order, come out as they went in, and every proof holds against the tree made afresh."""

from __future__ import annotations

from hashlib import sha256

import pytest
from django.db import connection, transaction

from custody import store
from custody.errors import CustodyError, Refused, Unverified
from custody.keys import log_signer, log_vkey
from custody.ledger.checkpoint import verify_checkpoint
from custody.ledger.merkle import EMPTY_ROOT, verify_consistency, verify_inclusion
from custody.ledger.signing import Signer
from custody.ledger.tiles import dump_tile, nodes_for_tile, parse_tile_path
from custody.ledger.tree import Tree
from custody.models.log import LogKind

NOON = 1_793_880_000  # 2026-11-05T12:00:00Z


def new_line(number: int, entry_id: str | None = None) -> store.NewLine:
    return store.NewLine(received=NOON + number, entry_id=entry_id, content={"envelope": {"payload": f"p{number}"}})


def append(log: store.LogHead, *lines: store.NewLine) -> list[store.StoredLine]:
    with transaction.atomic():
        return store.append(store.lock_head(log), lines)


def roots_made_afresh(log: store.LogHead) -> list[bytes]:
    """The roots for sizes 0, 1, 2 … from the bodies alone (RFC 6962 section 2.1)."""
    tree, roots = Tree(), [EMPTY_ROOT]
    for line in store.read_lines(log):
        tree.append(sha256(b"\x00" + line.body).digest())
        roots.append(tree.root())
    return roots


@pytest.fixture
def log(db: None) -> store.LogHead:
    return store.make_log("ALDER", "main", LogKind.MAIN)


def test_a_log_is_made_once_and_found_by_its_name(log: store.LogHead) -> None:
    assert (log.path, log.kind, log.origin, log.size) == ("ALDER/main", "main", "custody.example/ALDER/main", 0)
    assert store.make_log("ALDER", "main", LogKind.MAIN) == log
    assert store.open_log("ALDER", "main") == log
    drill = store.make_log("ALDER", "drill-2", LogKind.REHEARSAL)
    assert store.list_logs() == [drill, log]


def test_a_log_that_was_never_made_is_not_found(log: store.LogHead) -> None:
    with pytest.raises(CustodyError) as caught:
        store.open_log("ALDER", "drill-2")
    assert (caught.value.code, caught.value.data) == ("no-log", {"log": "ALDER/drill-2"})


@pytest.mark.parametrize(
    ("jurisdiction", "name", "kind"),
    [
        ("ALDER", "main", LogKind.REHEARSAL),
        ("ALDER", "register", LogKind.MAIN),
        ("ALDER", "drill", LogKind.MAIN),
        ("ALDER", "Drill", LogKind.REHEARSAL),
        ("ALDER", "", LogKind.REHEARSAL),
        ("ALDER", "../main", LogKind.REHEARSAL),
        ("ALDER", "dr+ill", LogKind.REHEARSAL),
        ("alder", "main", LogKind.MAIN),
        ("AL/DER", "main", LogKind.MAIN),
    ],
)
@pytest.mark.one_engine
@pytest.mark.django_db
def test_a_name_that_cannot_be_a_logs_is_turned_down(jurisdiction: str, name: str, kind: LogKind) -> None:
    with pytest.raises(CustodyError) as caught:
        store.make_log(jurisdiction, name, kind)
    assert caught.value.code == "bad-log"
    assert store.list_logs() == []


def test_a_line_is_stored_as_the_bytes_that_its_leaf_is_the_hash_of(log: store.LogHead) -> None:
    change = {"table": "people", "rows": [{"code": "P-1", "affiliation": "Ålder"}]}
    content = {"user": "u1", "change": change}
    (line,) = append(log, store.NewLine(received=NOON, entry_id=None, content=content))
    body = (
        '{"change":{"rows":[{"affiliation":"Ålder","code":"P-1"}],"table":"people"},'
        '"received":"2026-11-05T12:00:00Z","seq":0,"user":"u1"}'
    ).encode()
    assert line == store.StoredLine(
        seq=0, received=NOON, entry_id=None, body=body, nodes=sha256(b"\x00" + body).digest()
    )
    assert list(store.read_lines(log)) == [line]
    assert line.leaf == sha256(b"\x00" + body).digest()
    assert line.content() == {"seq": 0, "received": "2026-11-05T12:00:00Z", "change": change, "user": "u1"}


def test_lines_come_out_the_same_whether_they_went_in_singly_or_together(log: store.LogHead) -> None:
    drill = store.make_log("ALDER", "drill", LogKind.REHEARSAL)
    lines = [new_line(number) for number in range(41)]
    singly = [append(log, line)[0] for line in lines]
    together = [*append(drill, *lines[:13]), *append(drill, *lines[13:14]), *append(drill, *lines[14:])]
    assert together == singly
    assert list(store.read_lines(drill)) == list(store.read_lines(log)) == singly
    assert [line.seq for line in singly] == list(range(41))
    assert store.open_log("ALDER", "main").size == 41


def test_lines_are_read_from_start_to_stop_across_chunks(log: store.LogHead, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(store, "CHUNK", 7)
    append(log, *map(new_line, range(21)))
    for start, stop in ((0, 0), (0, 7), (3, 21), (0, 30), (7, 8), (21, 22)):
        assert [line.seq for line in store.read_lines(log, start, stop)] == list(range(start, min(stop, 21)))
    assert [line.seq for line in store.read_lines(log, 5)] == list(range(5, 21))


def test_lines_of_an_entry_are_found_in_order_and_in_their_own_log_only(
    log: store.LogHead, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(store, "CHUNK", 2)
    drill = store.make_log("ALDER", "drill", LogKind.REHEARSAL)
    append(log, new_line(0, "a"), new_line(1, "b"), new_line(2, "a"), new_line(3), new_line(4, "c"))
    append(drill, new_line(0, "a"))
    found = store.lines_of_entries(log, ["c", "a", "none", "b", "a"])
    assert {entry: [line.seq for line in lines] for entry, lines in found.items()} == {"a": [0, 2], "b": [1], "c": [4]}
    assert store.lines_of_entries(log, []) == {}


def test_a_line_too_large_is_refused_and_nothing_is_written(log: store.LogHead) -> None:
    def line_of(size: int) -> store.NewLine:
        frame = b'{"envelope":"","received":"2026-11-05T12:00:00Z","seq":1}'
        return store.NewLine(received=NOON, entry_id=None, content={"envelope": "x" * (size - len(frame))})

    with pytest.raises(Refused) as caught:
        append(log, new_line(0), line_of(65_536))
    assert caught.value.code == "too-large"
    assert caught.value.data == {"limit": 65_535, "index": 1}
    assert list(store.read_lines(log)) == []
    assert [len(line.body) for line in append(log, new_line(0), line_of(65_535))][1] == 65_535


def test_a_head_serves_one_append_only(log: store.LogHead) -> None:
    with transaction.atomic():
        head = store.lock_head(log)
        store.append(head, [new_line(0)])
        with pytest.raises(RuntimeError, match="used twice"):
            store.append(head, [new_line(1)])
    assert store.open_log("ALDER", "main").size == 1


def test_what_is_rolled_back_never_was(log: store.LogHead) -> None:
    append(log, new_line(0))
    with pytest.raises(CustodyError), transaction.atomic():
        store.append(store.lock_head(log), [new_line(1), new_line(2)])
        raise CustodyError("stop", "The transaction ends here.")
    assert append(log, new_line(3))[0].seq == 1


def test_roots_at_every_size_are_those_of_the_bodies(log: store.LogHead) -> None:
    append(log, *map(new_line, range(70)))
    assert [store.root_of(log, size) for size in range(71)] == roots_made_afresh(log)
    with pytest.raises(CustodyError) as caught:
        store.root_of(log, 71)
    assert (caught.value.code, caught.value.data["seq"]) == ("beyond-log", 70)


def test_every_line_is_proved_at_every_size(log: store.LogHead) -> None:
    lines = append(log, *map(new_line, range(19)))
    roots = roots_made_afresh(log)
    for size in range(1, 20):
        for line in lines[:size]:
            proof = store.inclusion_proof(log, line.seq, size)
            verify_inclusion(line.seq, size, line.leaf, proof, roots[size])
            with pytest.raises(Unverified):
                verify_inclusion(line.seq, size, line.leaf, proof, roots[size - 1])


def test_every_size_is_proved_to_continue_every_smaller_one(log: store.LogHead) -> None:
    append(log, *map(new_line, range(19)))
    roots = roots_made_afresh(log)
    for new in range(1, 20):
        for old in range(1, new + 1):
            proof = store.consistency_proof(log, old, new)
            verify_consistency(old, new, roots[old], roots[new], proof)
            with pytest.raises(Unverified):
                verify_consistency(old, new, roots[old - 1], roots[new], proof)


@pytest.mark.parametrize(("seq", "size"), [(-1, 5), (5, 5), (0, 6), (0, 0)])
def test_no_proof_of_a_line_that_is_not_there(log: store.LogHead, seq: int, size: int) -> None:
    append(log, *map(new_line, range(5)))
    with pytest.raises(CustodyError) as caught:
        store.inclusion_proof(log, seq, size)
    assert caught.value.code == "beyond-log"


@pytest.mark.parametrize(("old", "new"), [(0, 5), (4, 3), (5, 6), (6, 6)])
def test_no_proof_between_sizes_that_never_were(log: store.LogHead, old: int, new: int) -> None:
    append(log, *map(new_line, range(5)))
    with pytest.raises(CustodyError) as caught:
        store.consistency_proof(log, old, new)
    assert caught.value.code == "beyond-log"


def test_nodes_of_a_tile_come_from_the_rows(log: store.LogHead, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(store, "CHUNK", 100)
    lines = append(log, *map(new_line, range(300)))
    tile = parse_tile_path("tile/0/001.p/44")
    nodes = store.fetch_nodes(log, nodes_for_tile(tile))
    assert dump_tile(tile, lambda *node: nodes[node]) == b"".join(line.leaf for line in lines[256:])
    upper = parse_tile_path("tile/1/000.p/1")
    assert store.fetch_nodes(log, nodes_for_tile(upper)) == {(8, 0): store.root_of(log, 256)}


def test_a_checkpoint_speaks_of_the_log_and_is_signed_by_its_key(log: store.LogHead) -> None:
    signer = log_signer(log)
    empty = verify_checkpoint(store.sign_checkpoint(log, signer, NOON), log_vkey(log))
    assert (empty.origin, empty.size, empty.root) == ("custody.example/ALDER/main", 0, EMPTY_ROOT)
    append(log, *map(new_line, range(5)))
    note = store.sign_checkpoint(log, signer, NOON + 60)
    checkpoint = verify_checkpoint(note, log_vkey(log))
    assert (checkpoint.size, checkpoint.root) == (5, roots_made_afresh(log)[5])
    latest = store.StoredCheckpoint(size=5, root=checkpoint.root, note=note, created=NOON + 60)
    assert store.latest_checkpoint(log) == latest
    assert [one.size for one in store.last_checkpoints(log, 10)] == [5, 0]
    assert [one.size for one in store.last_checkpoints(log, 1)] == [5]


def test_a_log_that_has_not_grown_shows_the_same_checkpoint_again(log: store.LogHead) -> None:
    signer = log_signer(log)
    append(log, new_line(0))
    first = store.sign_checkpoint(log, signer, NOON)
    assert store.sign_checkpoint(log, signer, NOON + 3600) == first
    assert [one.created for one in store.last_checkpoints(log, 10)] == [NOON]


def test_a_log_does_not_go_on_with_another_key(log: store.LogHead) -> None:
    append(log, new_line(0))
    store.sign_checkpoint(log, log_signer(log), NOON)
    append(log, new_line(1))
    with pytest.raises(Unverified) as caught:
        store.sign_checkpoint(log, Signer(bytes(32)), NOON)
    assert caught.value.code == "no-signature"
    assert store.sign_checkpoint(log, log_signer(log), NOON).splitlines()[1] == "2"


@pytest.mark.parametrize("tampering", ["a cut tail", "another node"])
def test_a_log_that_lost_what_it_signed_signs_nothing_more(log: store.LogHead, tampering: str) -> None:
    append(log, *map(new_line, range(6)))
    store.sign_checkpoint(log, log_signer(log), NOON)
    statements = {
        "a cut tail": ["UPDATE custody_log SET size = 4", "DELETE FROM custody_line WHERE seq >= 4"],
        "another node": [
            "UPDATE custody_line SET nodes = (SELECT nodes FROM custody_line WHERE seq = 1) WHERE seq = 3"
        ],
    }
    with connection.cursor() as cursor:
        for trigger in ("custody_line_no_update", "custody_line_no_delete", "custody_log_no_update"):
            table = trigger.rpartition("_no_")[0]
            cursor.execute(f"DROP TRIGGER {trigger}" + (f" ON {table}" if connection.vendor == "postgresql" else ""))
        for statement in statements[tampering]:
            cursor.execute(statement)
    with pytest.raises(Unverified) as caught:
        store.sign_checkpoint(log, log_signer(log), NOON + 60)
    assert caught.value.code == "bad-consistency"

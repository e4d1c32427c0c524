"""The commands as outside programs call them: names, options, JSON and exit codes are a contract."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from custody import store
from custody.domain.instants import dump_instant
from custody.keys import log_signer
from custody.models.log import LogKind
from tests.services.test_tampering import take_triggers_away
from tests.world import HOUR, World, reading
from tests.worlds_on_record import put_register

pytestmark = pytest.mark.django_db
PLACE = "P01"
DRILL = {"rehearsal": "drill-1"}


class Ran:
    """What a command wrote, and how it ended."""

    def __init__(self, name: str, *arguments: Any, **options: Any) -> None:
        out, err = io.StringIO(), io.StringIO()
        self.code = 0
        try:
            call_command(name, *map(str, arguments), stdout=out, stderr=err, **options)
        except CommandError as error:
            self.code = error.returncode
            err.write(f"{error}\n")
        self.out, self.err = out.getvalue(), err.getvalue()

    @property
    def json(self) -> Any:
        return json.loads(self.out)


def run(name: str, *arguments: Any, **options: Any) -> Ran:
    return Ran(name, *arguments, **options)


def ask(name: str, *arguments: Any, **options: Any) -> Any:
    """The JSON of a command that must succeed."""
    ran = run(name, *arguments, "--format", "json", **options)
    assert (ran.code, ran.err) == (0, "")
    return ran.json


@pytest.fixture
def world() -> World:
    """A rehearsal of a day until its things are on the way back; a seal is misread on the road."""
    world = World(places=1, log="ALDER/drill-1")
    world.until(PLACE, "pack_for_return")
    world.depart(PLACE)
    kit = world.kits[PLACE]
    world.inspect([reading(kit.case, "latch", "S9999999")], world.drivers(PLACE))
    put_register(world)
    return world


def write(path: Path, lines: list[Any]) -> Path:
    path.write_text("".join(f"{line if isinstance(line, str) else json.dumps(line)}\n" for line in lines))
    return path


@pytest.fixture
def recorded(world: World, tmp_path: Path) -> World:
    file = write(tmp_path / "lines.jsonl", [deed.line() for deed in world.lines()])
    assert run("record", file, "--replay", **DRILL).code == 0
    return world


def test_record_replays_a_file_into_a_rehearsal_made_at_first_use(world: World, tmp_path: Path) -> None:
    lines = [deed.line() for deed in world.lines()]
    file = write(tmp_path / "lines.jsonl", [lines[0], "", "   ", *lines[1:]])
    document = ask("record", file, "--replay", **DRILL)
    assert document == {"log": "ALDER/drill-1", "recorded": len(lines), "known": 0, "refused": 0, "refusals": []}
    log = store.open_log("ALDER", "drill-1")
    assert (log.kind, log.size) == (LogKind.REHEARSAL, len(lines))
    assert [line.received for line in store.read_lines(log)] == [deed.received for deed in world.lines()]
    again = ask("record", file, "--replay", **DRILL)
    assert (again["recorded"], again["known"]) == (0, len(lines))


def test_record_takes_envelopes_from_a_file_and_from_standard_input(
    world: World, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    envelopes = [deed.envelope() for deed in world.lines()]
    file = write(tmp_path / "envelopes.jsonl", envelopes[:3])
    assert ask("record", file, **DRILL)["recorded"] == 3
    text = "".join(f"{json.dumps(each)}\n" for each in envelopes[2:5])
    monkeypatch.setattr("sys.stdin", io.StringIO(text))
    document = ask("record", "-", **DRILL)
    assert (document["recorded"], document["known"]) == (2, 1)


def test_record_tells_each_refusal_by_its_line_and_goes_on(world: World, tmp_path: Path) -> None:
    first, second, third = (deed.line() for deed in world.lines()[:3])
    strange = second["envelope"] | {"payloadType": "text/plain"}
    lines = [
        first,
        "{",
        "",
        second | {"envelope": strange},
        second | {"received": "yesterday"},
        second["envelope"],
        third,
    ]
    file = write(tmp_path / "lines.jsonl", lines)
    ran = run("record", file, "--replay", **DRILL)
    assert ran.code == 1
    assert [line.split(": ")[:2] for line in ran.err.splitlines()[:4]] == [
        ["line 2", "not-envelope"],
        ["line 4", "unknown-type"],
        ["line 5", "not-envelope"],
        ["line 6", "not-envelope"],
    ]
    assert ran.out == "ALDER/drill-1: 2 recorded, 0 known, 4 refused\n"
    told = run("record", file, "--replay", "--format", "json", **DRILL)
    assert told.code == 1
    assert set(told.json["refusals"][0]) == {"line", "code", "detail"}
    assert [(each["line"], each["code"]) for each in told.json["refusals"]] == [
        (2, "not-envelope"),
        (4, "unknown-type"),
        (5, "not-envelope"),
        (6, "not-envelope"),
    ]


@pytest.mark.parametrize(
    "line",
    ["[]", '{"a":1,"a":1}', "\x00", "[" * 100_000, "1" * 5000, '"\\ud800"', "NaN", "{}"],
    ids=lambda text: text[:9],
)
def test_record_refuses_a_line_that_is_no_envelope(world: World, tmp_path: Path, line: str) -> None:
    file = write(tmp_path / "lines.jsonl", [line, world.lines()[0].envelope()])
    document = run("record", file, "--format", "json", **DRILL).json
    assert [(each["line"], each["code"]) for each in document["refusals"]] == [(1, "not-envelope")]
    assert document["recorded"] == 1


def test_record_refuses_bytes_that_are_no_text(world: World, tmp_path: Path) -> None:
    file = tmp_path / "lines.jsonl"
    good = json.dumps(world.lines()[0].envelope()).encode()
    file.write_bytes(b'\xff\xfe{"a": "\xc3\x28"}\n' + good + b"\n" + good.replace(b"payloadType", b"payloadTyp\xe9"))
    document = run("record", file, "--format", "json", **DRILL).json
    assert [(each["line"], each["code"]) for each in document["refusals"]] == [(1, "not-envelope"), (3, "not-envelope")]
    assert document["recorded"] == 1


def test_times_of_receipt_are_taken_from_outside_for_rehearsals_only(world: World, tmp_path: Path) -> None:
    file = write(tmp_path / "lines.jsonl", [world.lines()[0].line()])
    ran = run("record", file, "--replay")
    assert (ran.code, ran.out) == (2, "")
    assert "--rehearsal" in ran.err
    assert run("record", file, "--replay", "--rehearsal", "main").code == 2
    assert run("record", file, "--replay", "--rehearsal", "register").code == 2
    assert run("record", tmp_path / "nothing.jsonl", **DRILL).code == 2


FINDING = {"key", "rule", "severity", "at", "site", "items", "people", "entries", "seals", "status", "message", "next"}


def test_findings_have_their_form(recorded: World) -> None:
    listed = ask("findings", "--now", dump_instant(recorded.at), **DRILL)
    (found,) = [each for each in listed if each["rule"] == "seal-mismatch"]
    assert set(found) == FINDING
    assert (found["status"], found["severity"], found["items"]) == ("open", "critical", [recorded.kits[PLACE].case])
    later = ask("findings", "--now", dump_instant(recorded.at + 100 * HOUR), "--rule", "unreturned", **DRILL)
    assert {each["site"] for each in later} == {PLACE}
    assert {each["rule"] for each in later} == {"unreturned"}
    assert ask("findings", "--now", dump_instant(recorded.time("06:00", day=-9)), **DRILL) == []


def test_findings_that_are_open_are_no_fault_of_the_data(recorded: World) -> None:
    assert run("findings", **DRILL).code == 0


def test_findings_with_all_shows_the_resolved_too(recorded: World, tmp_path: Path) -> None:
    (found,) = ask("findings", "--rule", "seal-mismatch", **DRILL)
    said = recorded.resolve(found["key"], recorded.party("official"))
    assert run("record", write(tmp_path / "more.jsonl", [said.line()]), "--replay", **DRILL).code == 0
    assert ask("findings", "--rule", "seal-mismatch", **DRILL) == []
    (resolved,) = ask("findings", "--rule", "seal-mismatch", "--all", **DRILL)
    assert resolved == found | {"status": "resolved"}


def test_what_waits_says_so_and_what_does_not_is_silent(tmp_path: Path) -> None:
    world = World(places=1, log="ALDER/drill-1")
    kit = world.until(PLACE, "noon")
    world.handoff([kit.keys], world.drivers(PLACE), world.party("receiving_clerk"), "return", at=world.time("21:30"))
    put_register(world)
    file = write(tmp_path / "lines.jsonl", [deed.line() for deed in world.lines()])
    assert run("record", file, "--replay", **DRILL).code == 0
    (found,) = ask("findings", "--rule", "custody-gap", "--now", dump_instant(world.time("21:31")), **DRILL)
    assert found["waiting"] is True
    assert set(found) == FINDING | {"waiting"}


def test_outstanding_has_its_form(recorded: World) -> None:
    listed = ask("outstanding", "--now", dump_instant(recorded.at), **DRILL)
    assert all(
        set(each) == {"item", "kind", "site", "holder", "since", "container", "phone", "overdue"} for each in listed
    )
    kit = recorded.kits[PLACE]
    found = {each["item"]: each for each in listed}
    assert set(found) == set(kit.all) - {kit.scanner}
    assert found[kit.memory]["container"] == kit.envelope
    assert found[kit.keys]["holder"]["site"] == PLACE
    assert {each["overdue"] for each in listed} == {False}
    assert ask("outstanding", "--site", "WH", **DRILL) == []
    assert ask("outstanding", "--election", "GEN26", "--now", dump_instant(recorded.at), **DRILL) == listed


def test_history_has_its_form(recorded: World) -> None:
    code = recorded.kits[PLACE].case
    document = ask("history", code, **DRILL)
    assert set(document) == {"item", "events", "now"}
    event = {"entry", "seq", "at", "received", "kind", "site", "holder", "container", "seals"}
    assert all(set(each) == event for each in document["events"])
    assert set(document["now"]) == {"holder", "site", "container", "seals"}
    assert document["now"]["seals"] == {"latch": "S9999999"}
    leaving = next(deed for deed in recorded.log if deed.payload.get("purpose") == "return")
    before = ask("history", f"{code[:2].lower()} {code[2:]}", "--as-of", dump_instant(leaving.at - 1), **DRILL)
    assert before["events"] == [each for each in document["events"] if each["at"] < dump_instant(leaving.at)]
    assert before["now"]["holder"]["role"] == "poll_chief"
    assert before["now"]["seals"] == {"latch": recorded.in_place[code, "latch"]}


def test_seal_history_has_its_form(recorded: World) -> None:
    case = recorded.kits[PLACE].case
    document = ask("seal_history", recorded.in_place[case, "latch"], **DRILL)
    assert set(document) == {"number", "lots", "events", "now"}
    assert [each["what"] for each in document["events"]][-3:] == ["applied", "read", "read"]
    assert document["now"] == []
    assert ask("seal_history", "S9999999", **DRILL)["now"] == [{"item": case, "point": "latch"}]


def test_verify_says_that_all_is_well_or_what_is_not(recorded: World, tmp_path: Path) -> None:
    log = store.open_log("ALDER", "drill-1")
    note = store.sign_checkpoint(log, log_signer(log), 1)
    kept = tmp_path / "kept.txt"
    kept.write_text(note, encoding="utf-8")
    document = ask("verify", "--checkpoint", kept)
    register = store.latest_checkpoint(store.open_log("ALDER", "register"))
    assert register is not None
    assert document == {
        "ok": True,
        "logs": [
            {"log": "ALDER/register", "size": register.size, "checkpoint": register.note},
            {"log": "ALDER/drill-1", "size": log.size, "checkpoint": note},
        ],
        "problems": [],
    }
    assert ask("verify", **DRILL) == document
    take_triggers_away()
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM custody_line WHERE log_id = %s AND seq = 7", [log.id])
    ran = run("verify", "--checkpoint", kept, "--format", "json")
    assert ran.code == 1
    assert ran.json["ok"] is False
    assert all(set(each) == {"log", "seq", "table", "key", "code", "detail"} for each in ran.json["problems"])
    told = [(each["log"], each["seq"], each["table"], each["key"], each["code"]) for each in ran.json["problems"]]
    assert told[0] == ("ALDER/drill-1", 7, None, None, "missing-line")
    assert ("ALDER/drill-1", None, "checkpoint", "kept elsewhere", "cut-off") in told
    table = run("verify")
    assert (table.code, "line 7" in table.out) == (1, True)


def test_verify_is_called_wrongly_with_what_is_no_checkpoint(recorded: World, tmp_path: Path) -> None:
    other = tmp_path / "other.txt"
    other.write_text("no checkpoint\n")
    for path in (other, tmp_path / "nothing.txt"):
        ran = run("verify", "--checkpoint", path)
        assert (ran.code, ran.out, ran.err.count("\n")) == (2, "", 1)


def test_rebuild_makes_the_tables_again(recorded: World) -> None:
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM custody_findingrow")
        cursor.execute("UPDATE custody_version SET state = '{}'")
        cursor.execute("DELETE FROM custody_kit")
    assert run("verify").code == 1
    document = ask("rebuild", **DRILL)
    assert document == {"log": "ALDER/drill-1", "entries": len(recorded.log)}
    assert ask("verify")["ok"] is True


READERS: list[tuple[str, ...]] = [
    ("findings",),
    ("outstanding",),
    ("history", "TC00001X"),
    ("seal_history", "S0001000"),
    ("rebuild",),
]


@pytest.mark.parametrize("command", READERS, ids=lambda command: command[0])
def test_tables_are_written_where_nothing_else_is_asked(recorded: World, command: tuple[str, ...]) -> None:
    ran = run(*command, **DRILL)
    assert (ran.code, ran.err) == (0, "")
    assert recorded.kits[PLACE].case in ran.out or command[0] in ("rebuild", "seal_history")
    with pytest.raises(ValueError, match=r"Expecting value|Extra data"):
        json.loads(ran.out)


@pytest.mark.parametrize("command", [*READERS, ("verify",)], ids=lambda command: command[0])
def test_a_log_that_is_not_there_is_said_in_one_line(world: World, command: tuple[str, ...]) -> None:
    for options in ({"rehearsal": "drill-9"}, {"jurisdiction": "ELM"}):
        ran = run(*command, **options)
        assert (ran.code, ran.out, ran.err.count("\n")) == (2, "", 1)


def test_without_a_register_there_is_nothing_to_ask(db: None, tmp_path: Path) -> None:
    file = write(tmp_path / "lines.jsonl", ["{}"])
    for command in [*READERS, ("record", str(file))]:
        ran = run(*command)
        assert (ran.code, ran.out, ran.err.count("\n")) == (2, "", 1)


def test_of_several_jurisdictions_one_is_named(recorded: World) -> None:
    store.make_log("ELM", "register", LogKind.REGISTER)
    ran = run("findings", **DRILL)
    assert (ran.code, ran.out) == (2, "")
    assert "ALDER" in ran.err
    assert run("findings", **DRILL, jurisdiction="ALDER").code == 0


@pytest.mark.parametrize("arguments", [("--site", "P77"), ("--election", "NEVER")], ids=" ".join)
def test_a_list_of_a_code_that_nobody_knows_is_no_good_news(recorded: World, arguments: tuple[str, str]) -> None:
    for command in ("findings", "outstanding"):
        ran = run(command, *arguments, **DRILL)
        assert (ran.code, ran.out, ran.err.count("\n")) == (2, "", 1)
        assert arguments[1] in ran.err


def test_an_item_that_nobody_knows_is_said_in_one_line(recorded: World) -> None:
    ran = run("history", "BC00099X", **DRILL)
    assert (ran.code, ran.out, ran.err.count("\n")) == (2, "", 1)

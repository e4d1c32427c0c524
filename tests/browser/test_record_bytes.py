"""The bytes that the page makes, held against published vectors and against Python over the same input."""

from __future__ import annotations

import base64
import csv
import hashlib
import json
import random
from collections.abc import Iterator
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Thread
from typing import Any
from uuid import UUID

import pytest
from nacl.signing import SigningKey
from playwright.sync_api import Browser, Page

from custody.domain.labels import check_character
from custody.ledger.canonical import dump_canonical
from custody.ledger.envelope import parse_envelope, verify_envelope
from tests.domain.entry_payloads import SAMPLES

ROOT = Path(__file__).resolve().parents[2]
SCRIPTS = ROOT / "custody" / "static" / "custody" / "js"
BADGES = ROOT / "fixtures_demo" / "badges.csv"
SEED = 20261127


class Scripts(SimpleHTTPRequestHandler):
    """The modules alone: the bytes need nothing else."""

    def log_message(self, format: str, *args: object) -> None:
        pass

    def do_GET(self) -> None:
        if self.path == "/":
            self.send_response(200)
            self.send_header("Content-Type", "text/html")
            self.end_headers()
            self.wfile.write(b"<!doctype html><title>Modules</title>")
        else:
            super().do_GET()


@pytest.fixture(scope="module")
def page(browser: Browser) -> Iterator[Page]:
    with ThreadingHTTPServer(("127.0.0.1", 0), partial(Scripts, directory=str(SCRIPTS))) as server:
        Thread(target=server.serve_forever, daemon=True).start()
        page = browser.new_page()
        page.goto(f"http://127.0.0.1:{server.server_port}/")
        yield page
        page.context.close()
        server.shutdown()


def call(page: Page, module: str, expression: str, argument: Any = None) -> Any:
    """What an expression over a module `m` and an argument `a` gives; an error gives its name and message."""
    script = f"""async ([m, a]) => {{
        m = await import(m);
        try {{ return await ({expression}); }} catch (error) {{ return `${{error.name}}: ${{error.message}}`; }}
    }}"""
    return page.evaluate(script, [f"/record/{module}.js", argument])


HEX = "Array.from(bytes, (byte) => byte.toString(16).padStart(2, '0')).join('')"
UNHEX = "((text) => Uint8Array.from(text.match(/../g) ?? [], (pair) => parseInt(pair, 16)))"


def test_canonical_json_gives_the_published_bytes(page: Page, reference: Path) -> None:
    """RFC 8785, test data of its author; what format 1 has no room for is refused with its place."""
    cases = {each["name"]: each for each in json.loads((reference / "jcs_rfc8785.json").read_text())["cases"]}
    given = {name: call(page, "canonical", "m.canonical(JSON.parse(a))", each["input"]) for name, each in cases.items()}
    assert given.pop("structures") == bytes.fromhex(cases["structures"]["expected_hex"]).decode()
    assert given == {
        "arrays": "TypeError: [1].10: null",
        "french": "TypeError: p\u00e9ch\u00e9: a member name that is not ASCII",
        "unicode": "TypeError: Unnormalized Unicode: text that is not in the form NFC",
        "values": "TypeError: literals[0]: null",
        "weird": "TypeError: \x80: a member name that is not ASCII",
    }


@pytest.mark.parametrize(
    ("script", "said"),
    [
        ("{figure: 1.5}", "TypeError: figure: a number that is not whole, or too large"),
        ("{figure: 2 ** 53}", "TypeError: figure: a number that is not whole, or too large"),
        ("{list: [1, {name: undefined}]}", "TypeError: list[1].name: undefined"),
        ("{text: '\\ud800'}", "TypeError: text: text with half a character"),
        ("{when: new Date(0)}", "TypeError: when: an object of its own kind"),
        ("{figure: 2 ** 53 - 1}", '{"figure":9007199254740991}'),
        ("{figure: -0}", '{"figure":0}'),
    ],
)
def test_what_no_payload_may_hold_is_named(page: Page, script: str, said: str) -> None:
    assert call(page, "canonical", f"m.canonical({script})") == said


def random_value(chance: random.Random, depth: int) -> Any:
    kinds = ["text", "number", "flag"] + (["list", "object"] if depth else [])
    match chance.choice(kinds):
        case "text":
            return "".join(chance.choice('aZ09"\\/\n\t\x07\x7f éß€\u2028😀') for _ in range(chance.randrange(12)))
        case "number":
            return chance.choice([0, -1, chance.randrange(-(2**53) + 1, 2**53)])
        case "flag":
            return chance.random() < 0.5
        case "list":
            return [random_value(chance, depth - 1) for _ in range(chance.randrange(4))]
        case _:
            names = ("a", "B", "a1", "10", "1", "_", 'quote"', "\x07")
            return {chance.choice(names): random_value(chance, depth - 1) for _ in range(chance.randrange(5))}


def test_random_values_have_the_same_bytes_as_in_python(page: Page) -> None:
    """The library `rfc8785` judges; the log's own writer agrees."""
    rfc8785 = pytest.importorskip("rfc8785")
    chance = random.Random(SEED)  # noqa: S311 - it has to come out the same again
    values = [{"value": random_value(chance, 4)} for _ in range(400)]
    texts = call(page, "canonical", "a.map((each) => m.canonical(each))", values)
    assert [text.encode() for text in texts] == [rfc8785.dumps(each) for each in values]
    assert [text.encode() for text in texts] == [dump_canonical(each) for each in values]


def test_signatures_are_those_of_rfc_8032(page: Page, reference: Path) -> None:
    """RFC 8032 section 7.1: keys and signatures, exactly."""
    vectors = json.loads((reference / "ed25519_rfc8032.json").read_text())["vectors"]
    script = f"""(async () => {{
        const [key, bytes] = await m.keysOf({UNHEX}(a.seed));
        const signed = new Uint8Array(await crypto.subtle.sign("Ed25519", key, {UNHEX}(a.message)));
        let exported = "refused";
        try {{ await crypto.subtle.exportKey("pkcs8", key); exported = "given out"; }} catch {{ }}
        const hex = (bytes) => {HEX};
        return [hex(bytes), hex(signed), exported];
    }})()"""
    assert len(vectors) >= 4
    for vector in vectors:
        assert call(page, "badge", script, vector) == [vector["public"], vector["signature"], "refused"]


def test_dsse_encoding_is_the_published_one(page: Page) -> None:
    """DSSE v1.0.2, protocol, test vector."""
    text = call(
        page,
        "envelope",
        "new TextDecoder().decode(m.pae('http://example.com/HelloWorld', new TextEncoder().encode('hello world')))",
    )
    assert text == "DSSEv1 29 http://example.com/HelloWorld 11 hello world"


def demo_badges() -> list[dict[str, str]]:
    lines = [line for line in BADGES.read_text().splitlines() if not line.startswith("#")]
    return list(csv.DictReader(lines))[::60]


def badge_text(row: dict[str, str]) -> str:
    """As `CB1:<person>:<26 symbols and their check character>`, worked out with Python's own numbers."""
    number, symbols = int(row["secret"], 16), ""
    for _ in range(26):
        number, digit = divmod(number, 32)
        symbols = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"[digit] + symbols
    return f"CB1:{row['person']}:{symbols}{check_character(symbols)}"


def test_badge_and_pin_give_the_key_on_the_register(page: Page) -> None:
    """PBKDF2-HMAC-SHA256 by Python's hashlib (RFC 8018), the public key by libsodium."""
    assert len(demo_badges()) >= 4
    for row in demo_badges():
        seed = hashlib.pbkdf2_hmac(
            "sha256", row["pin"].encode(), b"custody-badge-v1" + bytes.fromhex(row["secret"]), 600_000, 32
        )
        public_key = SigningKey(seed).verify_key.encode()
        script = """m.unlock(m.parseBadge(a[0]), a[1]).then(
            (signer) => [signer.person, btoa(String.fromCharCode(...signer.publicKey)), signer.keyid]
        )"""
        assert call(page, "badge", script, [badge_text(row), row["pin"]]) == [
            row["person"],
            base64.b64encode(public_key).decode(),
            hashlib.sha256(public_key).hexdigest(),
        ]
        assert base64.b64encode(public_key).decode() == row["public_key"]


def test_badges_are_read_as_they_are_typed_and_written_as_they_were(page: Page) -> None:
    text = badge_text(demo_badges()[0])
    person, symbols = text.split(":")[1:]
    typed = f"cb1:{person.lower()}: " + " ".join(symbols[start : start + 4].lower() for start in range(0, 27, 4))
    typed = typed.replace("1", "i").replace("0", "o").replace("cbi", "cb1", 1)
    typed = typed.replace(person.lower().replace("1", "i").replace("0", "o"), person.lower(), 1)
    assert call(page, "badge", "m.dumpBadge(m.parseBadge(a))", typed) == text
    assert call(page, "badge", "m.groupBadge(m.parseBadge(a))", text).replace("-", "") == symbols
    slip = text[:-3] + ("A" if text[-3] != "A" else "B") + text[-2:]
    swapped = text[:-4] + text[-3] + text[-4] + text[-2:] if text[-3] != text[-4] else text[:-1] + "!"
    for wrong, code in (
        (slip, "bad-check"),
        (swapped, "bad-check"),
        (text[:-1], "not-badge"),
        (text + "A", "not-badge"),
        ("BC000016", "not-badge"),
        ("CB2" + text[3:], "not-badge"),
        (f"CB1:P:{'Z' * 26}{check_character('Z' * 26)}", "not-badge"),  # more than 128 bits
    ):
        assert call(page, "badge", "m.parseBadge(a)", wrong) == f"Error: {code}"


def test_new_secrets_are_told_apart_and_can_be_typed(page: Page) -> None:
    made = call(
        page, "badge", "Array.from({length: 200}, () => m.dumpBadge({person: 'P', secret: m.newSecret()}).slice(6))"
    )
    assert len(set(made)) == 200
    assert {check_character(each[:26]) == each[26] for each in made} == {True}
    assert set("".join(made)) <= set("0123456789ABCDEFGHJKMNPQRSTVWXYZ")


@pytest.mark.parametrize("kind", sorted(SAMPLES))
def test_envelopes_made_in_the_page_verify_in_python(page: Page, kind: str) -> None:
    """One of each kind of entry, by two people; the log's own verifier, and `securesystemslib` as an outside one."""
    payload = SAMPLES[kind]
    script = """(async () => {
        const { signEnvelope } = await import("/record/envelope.js");
        const signers = await Promise.all([1, 2].map(async (byte) => {
            const [key, publicKey] = await m.keysOf(new Uint8Array(32).fill(byte));
            const { keyid } = await import("/record/envelope.js");
            const sign = async (bytes) => new Uint8Array(await crypto.subtle.sign("Ed25519", key, bytes));
            return { person: String(byte), publicKey, keyid: await keyid(publicKey), sign };
        }));
        return signEnvelope(a, signers);
    })()"""
    made = call(page, "badge", script, payload)
    keys = [SigningKey(bytes([byte]) * 32).verify_key.encode() for byte in (1, 2)]
    ring = {hashlib.sha256(key).hexdigest(): key for key in keys}
    envelope = parse_envelope(made)
    verify_envelope(envelope, ring)
    assert envelope.payload == dump_canonical(payload)
    assert [each.keyid for each in envelope.signatures] == sorted(ring)
    judge, signer = pytest.importorskip("securesystemslib.dsse"), pytest.importorskip("securesystemslib.signer")
    outside = [signer.SSlibKey(keyid, "ed25519", "ed25519", {"public": key.hex()}) for keyid, key in ring.items()]
    signatures = [{"keyid": each["keyid"], "sig": each["sig"]} for each in made["signatures"]]
    assert set(judge.Envelope.from_dict({**made, "signatures": signatures}).verify(outside, 2)) == set(ring)


def test_labels_are_read_as_in_python(page: Page, reference: Path) -> None:
    """Crockford's forgiving reading, and ISO 7064 MOD 37-2 (`G123489654321` has the check character `Y`)."""
    labels = json.loads((reference / "label_codes.json").read_text())
    assert call(page, "labels", "m.checkCharacter('G123489654321')") == "Y"
    for typed, code in [*labels["read_forgivingly"].items(), *((code, code) for code in labels["issued"])]:
        assert call(page, "labels", "m.readCode(a)", typed) == code
    chance = random.Random(SEED)  # noqa: S311 - it has to come out the same again
    slips = []
    for code in labels["issued"]:
        place = chance.randrange(2, 8)
        slips.append(
            code[:place] + chance.choice([each for each in "23456789ABC" if each != code[place]]) + code[place + 1 :]
        )
    read = call(
        page,
        "labels",
        "a.map((each) => { try { return m.readCode(each); } catch (error) { return error.code; } })",
        slips,
    )
    assert read == ["bad-check"] * len(slips)
    assert call(page, "labels", "m.readCode('XX000016')") == "Error: XX000016: not-code"


def test_ids_are_uuids_of_version_7(page: Page) -> None:
    """RFC 9562 section 5.7, read by Python's own type."""
    moment = 1_793_761_920_123
    ids = [UUID(each) for each in call(page, "uuid7", "Array.from({length: 50}, () => m.uuid7(a))", moment)]
    assert {(each.version, each.variant, each.int >> 80) for each in ids} == {(7, "specified in RFC 4122", moment)}
    assert len(set(ids)) == 50


@pytest.mark.parametrize(
    ("pin", "fault"),
    [
        ("12345", "short"),
        ("12a456", "not-digits"),
        ("123456", "common"),
        ("654321", "common"),
        ("890123", "common"),
        ("111111", "common"),
        ("121212", "common"),
        ("112233", "common"),
        ("123123", "common"),
        ("147258", "common"),
        ("240387", "common"),
        ("19870324", "common"),
        ("274839", None),
        ("80417295", None),
    ],
)
def test_pins_that_many_would_choose_are_refused(page: Page, pin: str, fault: str | None) -> None:
    """NIST SP 800-63B: at least six digits, common ones refused. Which are common is our choice, from memory."""
    assert call(page, "pins", "m.pinFault(a)", pin) == fault


def test_instants_are_written_and_read_as_the_format_wants(page: Page) -> None:
    assert call(page, "instants", "m.dumpInstant(1793761920)") == "2026-11-04T03:12:00Z"
    assert call(page, "instants", "m.parseInstant('2026-11-04T03:12:00Z')") == 1_793_761_920
    for wrong in ("2026-11-04T03:12:00.5Z", "2026-11-31T03:12:00Z", "2026-11-04 03:12:00Z"):
        assert call(page, "instants", "m.parseInstant(a)", wrong) == f"RangeError: not an instant: {wrong}"

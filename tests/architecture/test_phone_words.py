"""The words of the phone's scripts: each id that a script asks for has words, and each that has words is asked for."""

from __future__ import annotations

import re
from pathlib import Path

from custody.web.phone_words import AREAS, phone_words

SCRIPTS = Path(__file__).resolve().parents[2] / "custody" / "static" / "custody" / "js"
PLURAL = re.compile(r"\.(one|other)$")
ASKED = re.compile(r"""\bsay\(\s*"([^"]+)\"""")
# An id may also stand in a table, or begin a template whose rest is a word of the record: `states.${state}`.
NAMED = re.compile(r'"([a-z-]+\.[a-z0-9.-]+)"')
BEGUN = re.compile(r"`([a-z-]+\.[a-z0-9.-]*)\$\{")


def scripts() -> str:
    return "\n".join(path.read_text(encoding="utf-8") for path in sorted(SCRIPTS.rglob("*.js")))


def own_ids() -> list[str]:
    return [identifier for area in AREAS for identifier in area]


def test_every_id_that_a_script_asks_for_has_words() -> None:
    there = {PLURAL.sub("", identifier) for identifier in phone_words()}
    asked = set(ASKED.findall(scripts()))
    assert asked - there == set()


def test_every_word_is_asked_for() -> None:
    text = scripts()
    named, begun = set(NAMED.findall(text)), tuple(BEGUN.findall(text))
    ids = {PLURAL.sub("", identifier) for identifier in own_ids()}
    assert {each for each in ids if each not in named and not each.startswith(begun)} == set()


def test_no_id_stands_twice_and_plurals_come_in_pairs() -> None:
    ids = own_ids()
    assert len(ids) == len(set(ids))
    plurals = {each for each in ids if PLURAL.search(each)}
    assert {f"{PLURAL.sub('', each)}.{form}" for each in plurals for form in ("one", "other")} == plurals

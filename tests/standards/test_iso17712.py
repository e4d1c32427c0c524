"""ISO 17712: three classes of seal (I, S, H), and numbers that are unique to their manufacturer."""

from __future__ import annotations

from pathlib import Path

import pytest

from custody import registers
from custody.services.load_register import LoadReport, load_register

HEADER = "jurisdiction,maker,class,lot,prefix,first,last,width,issued_to,election\n"


def load(folder: Path, *lots: str) -> LoadReport:
    (folder / "jurisdictions.csv").write_text("code,name,timezone\nALDER,Alder County,America/Chicago\n")
    (folder / "seal_lots.csv").write_text(HEADER + "".join(f"ALDER,{lot},,\n" for lot in lots))
    return load_register(folder, user="u-1", now=1_793_880_000, dry_run=False)


@pytest.mark.parametrize("letter", ["I", "S", "H", ""])
def test_the_three_classes_are_known_and_none_may_be_given(db: None, tmp_path: Path, letter: str) -> None:
    assert load(tmp_path, f"Arnby,{letter},L1,S,1,9,7").problems == ()
    (lot,) = registers.get_register("ALDER").lots.values()
    assert lot.seal_class == letter


@pytest.mark.parametrize("letter", ["A", "i", "IS"])
def test_another_class_is_refused(db: None, tmp_path: Path, letter: str) -> None:
    (problem,) = load(tmp_path, f"Arnby,{letter},L1,S,1,9,7").problems
    assert (problem.line, problem.column) == (2, "class")


def test_the_same_number_from_two_makers_is_allowed(db: None, tmp_path: Path) -> None:
    assert load(tmp_path, "Arnby,S,L1,S,1,9,7", "Birch,S,L1,S,1,9,7").problems == ()
    assert {lot.maker for lot in registers.get_register("ALDER").lots_with("S0000005")} == {"Arnby", "Birch"}


def test_the_same_number_twice_from_one_maker_is_refused(db: None, tmp_path: Path) -> None:
    (problem,) = load(tmp_path, "Arnby,S,L1,S,1,9,7", "Arnby,H,L2,S,9,20,7").problems
    assert (problem.line, problem.column) == (3, "first")

"""`grader export`."""

from __future__ import annotations

import csv
import json
import zipfile
from collections.abc import Callable
from pathlib import Path

Told = Callable[..., tuple[int, str, str]]
ROOT = Path(__file__).parent.parent.parent


def test_a_circuit_goes_to_a_package_and_what_is_lost_is_said(told: Told, tmp_path: Path) -> None:
    status, shown, said = told("export", "bank", "pump", "--to", "qti3", "--output", tmp_path / "b.zip", "--course", ROOT)
    assert status == 0
    assert shown.startswith(f"{tmp_path / 'b.zip'}: ")
    assert "not carried over: " in said
    with zipfile.ZipFile(tmp_path / "b.zip") as archive:
        assert all(name.startswith(("pump-", "figures/pump-", "imsmanifest", "test")) for name in archive.namelist())


def test_certificates_are_copied_byte_for_byte(told: Told, tmp_path: Path) -> None:
    home = tmp_path / "sittings" / "spring" / "certificates"
    home.mkdir(parents=True)
    (home / "c-1.json").write_text(json.dumps({"a": 1}))
    status, shown, _ = told("export", "certificates", "spring", "--to", "ob3", "--output", tmp_path / "out", "--in", tmp_path)
    assert (status, "1 certificate" in shown) == (0, True)
    assert (tmp_path / "out" / "c-1.json").read_bytes() == (home / "c-1.json").read_bytes()
    status, _, said = told(
        "export", "certificates", "spring", "sprung", "--to", "ob3", "--output", tmp_path / "o", "--in", tmp_path
    )
    assert (status, "no certificate of sprung" in said, (tmp_path / "o").exists()) == (2, True, False)


def test_the_table_says_how_many_questions_it_holds_and_each_loss_once(told: Told, tmp_path: Path) -> None:
    status, shown, said = told("export", "bank", "pump", "power", "--to", "csv", "--output", tmp_path / "b.csv", "--course", ROOT)
    with (tmp_path / "b.csv").open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    held, asked = map(int, shown.split(": ")[1].replace(" questions of", "").split())
    assert (status, held) == (0, len(rows))
    (without,) = (line for line in said.splitlines() if line.endswith("as the table holds choices and numbers only"))
    assert without.startswith(f"not carried over: {asked - held} questions: ")
    assert len(said.splitlines()) == len(set(said.splitlines())) <= 3
    area = next(row["working"] for row in rows if row["id"] == "power-open-area")
    assert "A = π/4 · (D² − d²)" in area  # the formula itself, not only the words round it


def test_what_does_not_go_together_is_said(told: Told, tmp_path: Path) -> None:
    for words, says in (
        (("bank", "--to", "parquet"), "bank goes to qti3 or csv"),
        (("sitting", "--to", "csv"), "which sitting"),
        (("certificates", "none", "--to", "ob3", "--in", tmp_path), "no certificate of none"),
        (("bank", "carb", "--to", "csv", "--course", ROOT), "no circuit 'carb'"),
    ):
        status, _, said = told("export", *words, "--output", tmp_path / "x")
        assert status == 2
        assert says in said
    assert not (tmp_path / "x").exists()

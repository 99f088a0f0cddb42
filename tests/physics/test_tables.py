import datetime
from collections.abc import Callable
from pathlib import Path

import pytest

from service.errors import DataFault
from service.physics import tables

GOOD = """
[one]
source = "a handbook"
standing = "secondary"
since = 1990-01-01
checked = 2026-11-25
unit = "kg/m3"
number = 1
row = [1.0, 2]
"""
KEYS = {"one": frozenset({"number", "row"})}


def entry_of(tmp_path: Path, text: str) -> tables.Entry:
    path = tmp_path / "table.toml"
    path.write_text(text, encoding="utf-8")
    return tables.entries(path, KEYS)["one"]


def test_entry_is_frozen_with_its_source(tmp_path: Path) -> None:
    entry = entry_of(tmp_path, GOOD)
    assert (entry.scalar("number"), entry.row("row"), entry.interval("row")) == (1.0, (1.0, 2.0), (1.0, 2.0))
    assert (entry.source, entry.since) == ("a handbook", datetime.date(1990, 1, 1))


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("number = 1", "number = 1\nnumbr = 2", "unknown key 'numbr'"),
        ("number = 1", "", "the key 'number' is missing"),
        ('source = "a handbook"', "", "the key 'source' is missing"),
        ('unit = "kg/m3"', "unit = 3", "'unit' must be text"),
        ("checked = 2026-11-25", 'checked = "today"', "'checked' must be a date"),
        (
            'standing = "secondary"',
            'standing = "sure"',
            "'standing' must be one of confirmed, secondary, memory",
        ),
        ("number = 1", "number = true", "'number' must be a number"),
        ("number = 1", "number = 1990-01-01", "'number' must be a number"),
        ("[one]", "[two]", "the entry 'one' is missing"),
        ("row = [1.0, 2]", "row = [1.0, 2]\n[two]\na = 1", "unknown entry 'two'"),
        (GOOD, "one = 3", r"\[one\] must be a table"),
        ("number = 1", "number = ", "cannot be read"),
    ],
)
def test_malformed_table_stops_the_start(tmp_path: Path, old: str, new: str, message: str) -> None:
    with pytest.raises(DataFault, match=message):
        entry_of(tmp_path, GOOD.replace(old, new))


@pytest.mark.parametrize(
    "read",
    [
        lambda entry: entry.scalar("row"),
        lambda entry: entry.row("number"),
        lambda entry: entry.rows("row"),
        lambda entry: entry.rows("number"),
        lambda entry: entry.text("number"),
    ],
)
def test_value_of_the_wrong_shape_is_refused(tmp_path: Path, read: Callable[[tables.Entry], object]) -> None:
    entry = entry_of(tmp_path, GOOD)
    with pytest.raises(DataFault, match="must be"):
        read(entry)


def test_bounds_must_rise(tmp_path: Path) -> None:
    with pytest.raises(DataFault, match="a lower and an upper bound"):
        entry_of(tmp_path, GOOD.replace("[1.0, 2]", "[2.0, 1.0]")).interval("row")


def test_missing_file_is_a_data_fault(tmp_path: Path) -> None:
    with pytest.raises(DataFault, match=r"gone\.toml cannot be read"):
        tables.entries(tmp_path / "gone.toml", KEYS)


def test_density_formula_has_all_54_coefficients() -> None:
    """OIML R 22: 12 A, 6 B and C in rows of 11, 10, 9, 4 and 2; the two often mistyped ones are right."""
    density = tables.OIML_R22["density"]
    assert (len(density.row("a")), len(density.row("b"))) == (12, 6)
    assert [len(row) for row in density.rows("c")] == [11, 10, 9, 4, 2]
    assert density.rows("c")[0][0] == 1.693443461530087e-1
    assert density.rows("c")[1][2] == -2.170575700536993


@pytest.mark.parametrize("name", sorted(tables.KEYS))
def test_each_table_is_whole(name: str) -> None:
    for entry in tables.entries(tables.TABLES / name, tables.KEYS[name]).values():
        assert entry.source and entry.unit and entry.since <= entry.checked

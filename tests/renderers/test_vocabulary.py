"""The lists of terms: whole, sourced, and holding every code the allergens have."""

import tomllib
from pathlib import Path

import pytest

from service.errors import DataFault
from service.renderers.vocabulary import TABLE, terms
from service.rules import rules


def test_every_gs1_code_of_the_allergens_is_in_the_vocabularys_own_list() -> None:
    codes = {entry.gs1 for entry in rules().allergens.values() if entry.gs1 is not None}
    assert len(codes) > 30
    assert codes <= terms().codes["AllergenTypeCode"]


def test_every_list_names_its_source_and_no_term_stands_twice() -> None:
    raw = tomllib.loads(TABLE.read_text(encoding="utf-8"))
    for row in [*raw["vocabulary"], *raw["codes"]]:
        listed = row.get("terms") or row["codes"]
        assert len(listed) == len(set(listed))
        assert raw["sources"][row["source"]]["title"]


@pytest.mark.parametrize(
    ("old", "new", "named"),
    [
        ('standing = "confirmed"', 'standing = "sure"', "sources.schema"),
        ('version = "30.0"\n', "", "vocabulary schema"),
        ('source = "rec20"', 'source = "nobody"', "codes units"),
        ("[[codes]]", "[[lists]]", "nothing else"),
    ],
)
def test_a_malformed_list_names_its_place(old: str, new: str, named: str, tmp_path: Path) -> None:
    path = tmp_path / "vocabulary.toml"
    text = TABLE.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")
    with pytest.raises(DataFault, match=named):
        terms(path)

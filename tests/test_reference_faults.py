"""Faults of an ingredients file: a good file first, then the same with one thing wrong."""

from collections.abc import Callable
from pathlib import Path

import pytest

from service.errors import DataFault
from service.reference import load_reference

# Faults: a good file first, then the same with one thing wrong.

GOOD = """
[sources.table]
title = "A table"
standing = "confirmed"
since = 2011-09-01
checked = 2026-11-25

[[item]]
id = "sour-fruit"
name = "Sour fruit"
kind = "fruit"
aliases = ["fruit, sour"]
[[item.facts]]
source = "table"
detail = "row 1"
basis = "g"
sugars_g = 1.7
carbohydrate_g = 2.1
fat_g = 0.2
saturates_g = 0.1
acids_g = { citric = 5.0 }
each_g = 67
pieces = { wheel = { share = 0.125 }, leaf = { g = 0.3 } }
allergens_declared = "complete"
allergens = { sulphites = "unknown", almond = { state = "contains", process = "macerated" } }
animal_origin = []

[[item]]
id = "sour-juice"
name = "Sour juice"
kind = "juice"
[[item.facts]]
source = "table"
abv_percent = 0
density_g_per_ml = 1.01
squeezed_from = { item = "sour-fruit", ml_each = 30 }

[[item]]
id = "strong-drink"
name = "Strong drink"
kind = "spirit"
[[item.facts]]
source = "table"
standing = "memory"
abv_percent = 40
density_g_per_ml = 0.948
process = ["distilled"]
"""


@pytest.fixture
def folder_of(tmp_path: Path) -> Callable[[str], Path]:
    """A folder of data with one file of the given text."""

    def folder(text: str) -> Path:
        (tmp_path / "planted.toml").write_text(text, encoding="utf-8")
        return tmp_path

    return folder


def test_the_good_file_is_read(folder_of: Callable[[str], Path]) -> None:
    loaded = load_reference(folder_of(GOOD))
    assert list(loaded.items) == ["sour-fruit", "sour-juice", "strong-drink"]
    fruit = loaded.items["sour-fruit"]
    assert fruit.facts[0].source == "A table; row 1"
    assert fruit.pieces["wheel"].share == 0.125
    assert fruit.allergens["almond"].process == "macerated"
    assert fruit.animal_origin == ()
    assert loaded.items["sour-juice"].animal_origin is None
    assert loaded.items["strong-drink"].facts[0].standing == "memory"


def test_the_version_follows_the_bytes(folder_of: Callable[[str], Path]) -> None:
    first = load_reference(folder_of(GOOD)).version
    assert load_reference(folder_of(GOOD)).version == first
    assert load_reference(folder_of(GOOD.replace("A table", "The table"))).version != first


FAULTS = [
    ("not toml", 'kind = "fruit"', "kind =", "not a TOML file"),
    ("unknown key of the file", "[sources.table]", "[more]\nx = 1\n[sources.table]", "file, more: unknown key"),
    ("unknown key of a source", 'title = "A table"', 'title = "A table"\nurl = "x"', "source table, url: unknown key"),
    ("source without title", 'title = "A table"\n', "", "source table, title: missing"),
    ("bad standing", '"confirmed"', '"sure"', "standing: expected one of"),
    ("date as text", "since = 2011-09-01", 'since = "2011-09-01"', "since: expected a date"),
    ("checked before since", "checked = 2026-11-25", "checked = 2011-01-01", "checked: lies before since"),
    ("unknown key of an item", 'kind = "fruit"', 'kind = "fruit"\ncolour = "red"', "item sour-fruit, colour: unknown key"),
    ("bad id", 'id = "sour-fruit"', 'id = "Sour Fruit"', "id: expected lower-case"),
    ("no name", 'name = "Sour fruit"\n', "", "item sour-fruit, name: expected a text"),
    ("bad kind", 'kind = "fruit"', 'kind = "berry"', "kind: expected one of"),
    ("duplicate id", 'id = "strong-drink"', 'id = "sour-juice"', "id: the id stands in planted.toml already"),
    ("value without source", 'source = "table"\ndetail', "detail", "item sour-fruit, source: expected a text"),
    ("unlisted source", 'source = "table"\ndetail', 'source = "book"\ndetail', "not among the [sources]"),
    ("unknown value", "each_g = 67", "each_gram = 67", "each_gram: unknown key"),
    ("value stated twice", "squeezed_from", '[[item.facts]]\nsource = "table"\nabv_percent = 5\nsqueezed_from', "twice"),
    ("block without value", 'kind = "spirit"', 'kind = "spirit"\n[[item.facts]]\nsource = "table"', "without a value"),
    ("no basis", 'basis = "g"\n', "", "basis: expected one of"),
    ("number as text", "sugars_g = 1.7", 'sugars_g = "1.7"', "sugars_g: expected a finite number"),
    ("true as number", "sugars_g = 1.7", "sugars_g = true", "sugars_g: expected a finite number"),
    ("not a number", "sugars_g = 1.7", "sugars_g = nan", "sugars_g: expected a finite number"),
    ("negative", "sugars_g = 1.7", "sugars_g = -1", "sugars_g: expected a number from 0"),
    ("strength over 100", "abv_percent = 40", "abv_percent = 101", "abv_percent: expected a number from 0 to 100"),
    ("no density", "density_g_per_ml = 0.948", "density_g_per_ml = 0", "density_g_per_ml: expected a number above 0"),
    ("sugar alcohol beside the carbohydrate", "acids_g = { citric = 5.0 }", "polyols_g = { sorbitol = 0.5 }", "polyols_g"),
    ("strength that varies and is stated", "abv_percent = 40", "abv_percent = 40\nstrength_varies = true", "is stated"),
    ("strength that does not vary", "abv_percent = 40", "strength_varies = false", "expected true"),
    ("unknown acid", "citric = 5.0", "oxalic = 5.0", "oxalic: unknown key"),
    ("two acidities", "citric = 5.0", "citric = 5.0, titratable_as_citric = 6.0", "only one of the two"),
    ("unknown allergen", "sulphites =", "gravel =", "allergens.gravel: expected one of"),
    ("bad state", '"unknown"', '"perhaps"', "allergens.sulphites: expected one of"),
    ("bad process of an allergen", '"macerated"', '"soaked"', "allergens.almond: expected one of"),
    ("bad process", '["distilled"]', '["boiled"]', "process: expected one of"),
    ("bad declaration", '"complete"', '"mostly"', "allergens_declared: expected one of"),
    ("bad animal", "animal_origin = []", 'animal_origin = ["cow"]', "animal_origin: expected one of"),
    ("piece of two measures", "{ share = 0.125 }", "{ share = 0.125, g = 8 }", "pieces.wheel: expected"),
    ("piece larger than the whole", "{ share = 0.125 }", "{ share = 2 }", "pieces.wheel: expected a number above 0 to 1"),
    ("sugars over carbohydrate", "sugars_g = 1.7", "sugars_g = 2.2", "sugars_g: greater than carbohydrate_g"),
    ("saturates over fat", "saturates_g = 0.1", "saturates_g = 0.3", "saturates_g: greater than fat_g"),
    ("over 100 g", "citric = 5.0", "citric = 98.5", "weigh more than the product"),
    ("strength and density", "density_g_per_ml = 0.948", "density_g_per_ml = 0.98", "give 0.948 g/ml where 0.98 is stated"),
    ("squeezed from nothing", 'item = "sour-fruit"', 'item = "lost"', "no item has the id 'lost'"),
    ("squeezed from a liquid", 'item = "sour-fruit"', 'item = "strong-drink"', "not something bought whole"),
    ("squeezed nothing", "ml_each = 30", "ml_each = 0", "ml_each: expected a number above 0"),
]  # fmt: skip


@pytest.mark.parametrize(("good", "bad", "text"), [fault[1:] for fault in FAULTS], ids=[fault[0] for fault in FAULTS])
def test_a_fault_stops_the_start(folder_of: Callable[[str], Path], good: str, bad: str, text: str) -> None:
    assert good in GOOD
    with pytest.raises(DataFault) as caught:
        load_reference(folder_of(GOOD.replace(good, bad, 1)))
    assert text in str(caught.value)
    assert str(caught.value).startswith("planted.toml")


def test_values_of_both_bases_need_a_density(folder_of: Callable[[str], Path]) -> None:
    block = '[[item.facts]]\nsource = "table"\nbasis = "ml"\nsalt_g = 0.1\n\n[[item]]\nid = "sour-juice"'
    with pytest.raises(DataFault, match="need a density"):
        load_reference(folder_of(GOOD.replace('[[item]]\nid = "sour-juice"', block)))


def test_what_finds_no_room_in_100_ml_is_refused(folder_of: Callable[[str], Path]) -> None:
    """40 ml of ethanol leave 60 ml; 120 g of sucrose take over 70 ml in any water."""
    stated = 'abv_percent = 40\nbasis = "ml"\nsugars_g = 120'
    with pytest.raises(DataFault, match="do not find room in 100 ml"):
        load_reference(folder_of(GOOD.replace("abv_percent = 40\ndensity_g_per_ml = 0.948", stated)))


def test_an_empty_folder_is_refused(tmp_path: Path) -> None:
    with pytest.raises(DataFault, match="no item was found"):
        load_reference(tmp_path)


def test_an_id_may_not_stand_in_two_files(folder_of: Callable[[str], Path]) -> None:
    folder = folder_of(GOOD)
    (folder / "second.toml").write_text(GOOD, encoding="utf-8")
    with pytest.raises(DataFault, match=r"second.toml, item sour-fruit, id: the id stands in planted.toml"):
        load_reference(folder)

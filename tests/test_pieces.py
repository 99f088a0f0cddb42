"""Words for what is counted: pieces by singular and plural, and counts in words."""

import doctest

import pytest

import service.pieces
from service.pieces import piece_named, pieces_counted, units_counted
from service.units import TABLE


def test_the_examples_of_the_docstrings() -> None:
    assert doctest.testmod(service.pieces).failed == 0


@pytest.mark.parametrize(
    ("piece", "plural"),
    [
        ("wheel", "wheels"),
        ("leaf", "leaves"),
        ("half", "halves"),
        ("cherry", "cherries"),
        ("berry", "berries"),
        ("radish", "radishes"),
        ("peach", "peaches"),
        ("box", "boxes"),
        ("glass", "glasses"),
        ("hibiscus", "hibiscuses"),
        ("slice", "slices"),
        ("clove", "cloves"),
        ("tray", "trays"),
        ("crumbs", "crumbs"),
        ("knife_cut", "knife cuts"),
    ],
)
def test_a_plural_is_english_and_names_the_same_piece(piece: str, plural: str) -> None:
    assert pieces_counted("2", piece) == f"2 {plural}"
    assert piece_named(plural, {piece}) == piece


@pytest.mark.parametrize("figure", ["1", "0.5", "0.3333"])
def test_one_or_less_is_singular(figure: str) -> None:
    assert pieces_counted(figure, "leaf") == f"{figure} leaf"
    assert units_counted(figure, "dash") == f"{figure} dash"


def test_an_abbreviation_has_no_plural() -> None:
    for unit in ("ml", "cl", "g", "kg", "us fl oz", "us tsp", "metric tbsp", "lb", "oz"):
        assert units_counted("3", unit) == f"3 {unit}"


def test_every_plural_of_a_unit_is_a_word_that_reads_it() -> None:
    for unit in TABLE.units.values():
        assert TABLE.explicit[units_counted("2", unit.name).partition(" ")[2]] is unit
    for word in TABLE.house.values():
        assert TABLE.house[units_counted("2", word).partition(" ")[2]] == word

"""Amounts in pieces of an item, and amounts written twice: which of two figures is used."""

from decimal import Decimal

import pytest

from service.amounts import read_amount
from service.errors import InputFault
from service.units import TABLE
from tests.asked import body_of, faults
from tests.test_amounts import IMPERIAL, METRIC, US, read


@pytest.mark.parametrize(
    ("text", "piece", "quantity", "read_as"),
    [
        ("1 wheel", "wheel", "1", "1 wheel"),
        ("8 wheels", "wheel", "8", "8 wheels"),
        ("2 leaves", "leaf", "2", "2 leaves"),
        ("1/2 leaf", "leaf", "0.5", "0.5 leaf"),
        ("3 Cherries", "cherry", "3", "3 cherries"),
        ("2 wedges", "wedge", "2", "2 wedges"),
        ("2 halves", "half", "2", "2 halves"),
        ("2 radishes", "radish", "2", "2 radishes"),
        ("4 twists", "twist", "4", "4 twists"),
        ("8 sprigs", "sprig", "8", "8 sprigs"),
        ("2 knife cuts", "knife_cut", "2", "2 knife cuts"),
        ("3 each", "each", "3", "3 each"),
        ("1/2 each", "each", "0.5", "0.5 each"),
        ("1 piece", "each", "1", "1 each"),
        ("2 pieces", "each", "2", "2 each"),
        ("½ whole", "each", "0.5", "0.5 each"),
    ],
)
def test_piece(text: str, piece: str, quantity: str, read_as: str) -> None:
    amount = read(text)
    assert (amount.dimension, amount.piece, amount.quantity) == ("piece", piece, Decimal(quantity))
    assert amount.read_as == read_as
    assert read(read_as) == amount


def test_a_count_is_read_as_words_that_read_the_same_again() -> None:
    for unit in TABLE.units.values():
        once, thrice = read(f"1 {unit.name}").read_as, read(f"3 {unit.name}")
        assert once.startswith(f"1 {unit.name}")
        assert read(thrice.read_as.partition(" = ")[0]).quantity == thrice.quantity


def test_a_piece_of_the_item_takes_an_otherwise_ambiguous_word() -> None:
    assert read("1 pinch").piece == "pinch"
    with pytest.raises(InputFault, match="unit_ambiguous"):
        read_amount("1 pinch", US, by_mass=False, pieces=())


def test_unknown_piece_is_refused_with_the_pieces_of_the_item() -> None:
    with pytest.raises(InputFault) as caught:
        read_amount("1 slice", US, by_mass=True, pieces={"wheel", "wedge"})
    assert caught.value.code == "unit_unknown"
    assert "Pieces of this item: each, wedge, wheel; half of the whole is 1/2 each." in caught.value.detail


@pytest.mark.parametrize(
    ("item", "written"), [("blackberry", "6 blackberries"), ("egg-white", "1/2 egg"), ("lime", "1/2 lime")]
)
def test_something_counted_whole_is_pointed_to_each_though_it_has_no_pieces(item: str, written: str) -> None:
    (found,) = faults(body_of([{"item": item, "amount": written}]))
    assert (found.pointer, found.code) == ("/drink/lines/0/amount", "unit_unknown")
    assert "Pieces of this item: each" in found.detail


@pytest.mark.parametrize("word", ["lime", "limes", "kaffir lime"])
def test_the_items_own_name_for_a_unit_is_pointed_to_its_pieces_first(word: str) -> None:
    with pytest.raises(InputFault) as caught:
        read_amount(f"1/2 {word}", US, by_mass=True, pieces={"wheel", "half"})
    assert caught.value.code == "unit_unknown"
    assert caught.value.detail.index("1/2 each") < caught.value.detail.index("Nearest allowed")
    assert word not in caught.value.detail


@pytest.mark.parametrize(
    ("text", "dimension", "quantity", "read_as"),
    [
        ("3/4 oz (22.5 ml)", "volume", "22.5", "0.75 oz (22.5 ml) = 22.5 ml"),
        ("22.5 ml (3/4 oz)", "volume", "22.5", "0.75 oz (22.5 ml) = 22.5 ml"),
        ("3/4oz(2.25cl)", "volume", "22.5", "0.75 oz (2.25 cl) = 22.5 ml"),
        ("1 oz (28 g)", "mass", "28", "1 oz (28 g) = 28 g"),
        ("2 dashes (1.6 ml)", "volume", "1.6", "2 dashes (1.6 ml) = 1.6 ml"),
        ("1 cup (240 ml)", "volume", "240", "1 cup (240 ml) = 240 ml"),
        ("1 imperial fl oz (30 ml)", "volume", "30", "1 imperial fl oz (30 ml) = 30 ml"),
        ("1 lb (450 g)", "mass", "450", "1 lb (450 g) = 450 g"),
    ],
)
def test_metric_figure_of_two_is_used(text: str, dimension: str, quantity: str, read_as: str) -> None:
    for measures in (US, METRIC):
        for by_mass in (False, True):
            amount = read(text, measures, by_mass=by_mass)
            assert (amount.dimension, amount.quantity) == (dimension, Decimal(quantity))
            assert amount.read_as == read_as
            assert amount.disagreement is None


@pytest.mark.parametrize(
    ("text", "disagrees"),
    [
        # 3 % above the largest known ounce, 30 ml, is 30.9 ml; 3 % below the smallest is 27.560670625 ml.
        ("1 oz (30.9 ml)", False),
        ("1 oz (30.900001 ml)", True),
        ("1 oz (27.560670625 ml)", False),
        ("1 oz (27.560670624 ml)", True),
        ("45 ml (1 1/2 oz)", False),
        ("60 ml (1 1/2 oz)", True),
        ("1 lb (500 g)", True),
        ("1 oz (29.3 g)", True),
        ("1 dash (1 ml)", True),
        ("1 us cup (250 ml)", True),
        ("1 cup (250 ml)", False),
    ],
)
def test_figures_over_three_percent_apart_disagree(text: str, disagrees: bool) -> None:
    for measures in (US, IMPERIAL, METRIC):
        warning = read(text, measures).disagreement
        assert (warning is not None) == disagrees
        assert warning is None or "3 %" in warning


def test_disagreement_names_what_was_meant() -> None:
    warning = read("1 oz (40 ml)").disagreement
    assert warning is not None
    assert "us fl oz: 29.57 ml, imperial fl oz: 28.41 ml, metric oz: 30 ml" in warning

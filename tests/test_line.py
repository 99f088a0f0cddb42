"""One line: its amount in every base that can be told, exactly, and as a part; sums by hand."""

from decimal import Decimal

import pytest
from msgspec.structs import replace

from schemas.drink import AmountPair
from service.amounts import Amount, Measures, read_amount
from service.errors import InputFault
from service.item import Piece
from service.line import LEAST, amount_of, exact, part_of, per_gram, pieces_of, quantities_of
from service.mixture import Substance
from tests.poured import liquid

SYRUP = replace(liquid("syrup"), density_g_per_ml=1.25)
CUTS = {"wheel": Piece(share=0.125), "peel": Piece(g=3.0)}
LIME = replace(liquid("lime"), basis="g", density_g_per_ml=None, each_g=64.0, pieces=CUTS)
OF_UNKNOWN_DENSITY = replace(SYRUP, density_g_per_ml=None)


def read(text: str, made: Substance, *, by_mass: bool = False) -> Amount:
    return read_amount(text, Measures(), by_mass=by_mass, pieces=pieces_of(made))


@pytest.mark.parametrize(
    ("text", "made", "expected"),
    [
        ("40 ml", SYRUP, {"ml": "40", "g": "50"}),
        ("50 g", SYRUP, {"ml": "40", "g": "50"}),
        ("40 ml", OF_UNKNOWN_DENSITY, {"ml": "40"}),
        ("50 g", OF_UNKNOWN_DENSITY, {"g": "50"}),
        # A foam of three times its liquid: 60 ml of it are 20 ml of liquid, 25 g.
        ("60 ml", replace(SYRUP, gas_factor=3.0), {"ml": "60", "g": "25"}),
        ("25 g", replace(SYRUP, gas_factor=3.0), {"ml": "60", "g": "25"}),
        # A powder of 0.8 g in a ml of its heap.
        ("5 ml", replace(OF_UNKNOWN_DENSITY, basis="g", bulk_g_per_ml=0.8), {"ml": "5", "g": "4"}),
        ("2 each", LIME, {"each": "2", "g": "128"}),
        ("2 wheels", LIME, {"each": "0.25", "g": "16"}),
        # A piece by its own mass is a share of one too.
        ("4 peels", LIME, {"g": "12", "each": "0.1875"}),
        ("32 g", LIME, {"g": "32", "each": "0.5"}),
        ("2 each", replace(LIME, each_g=None), {"each": "2"}),
        ("2 wheels", replace(LIME, each_g=None), {"each": "0.25"}),
    ],
)
def test_quantities_in_every_base_that_can_be_told(text: str, made: Substance, expected: dict[str, str]) -> None:
    found = quantities_of(read(text, made), made)
    assert found.keys() == expected.keys()
    for base, quantity in expected.items():
        assert abs(found[base] - Decimal(quantity)) < Decimal("1e-50"), base


def test_an_alternative_without_that_piece_has_no_quantity() -> None:
    assert quantities_of(read("2 wheels", LIME), SYRUP) == {}


def test_a_fill_has_no_quantity_yet() -> None:
    assert quantities_of(read("fill", SYRUP), SYRUP) == {}


def test_factors_per_gram_are_exact_decimals() -> None:
    assert per_gram(SYRUP) == {"ml": Decimal("0.8")}
    assert per_gram(LIME) == {"each": Decimal("0.015625")}
    assert per_gram(OF_UNKNOWN_DENSITY) == {}
    # A stated density is that of the matter; a heap's counts only where there is no other.
    assert per_gram(replace(SYRUP, bulk_g_per_ml=0.5)) == {"ml": Decimal("0.8")}
    with pytest.raises(TypeError):
        per_gram(SYRUP)["g"] = Decimal(1)  # type: ignore[index]  # it is kept for every line and is read alone


def test_a_figure_becomes_the_shortest_decimal_that_reads_as_it() -> None:
    assert exact(0.1) == Decimal("0.1")
    assert exact(1.2297) == Decimal("1.2297")


@pytest.mark.parametrize(
    ("text", "made", "serves", "base"),
    [
        ("40 ml", SYRUP, 1, 40.0),
        ("40 ml", SYRUP, 4, 10.0),
        ("50 g", SYRUP, 1, 40.0),
        ("60 ml", replace(SYRUP, gas_factor=3.0), 2, 10.0),
        ("2 wheels", LIME, 1, 16.0),
        ("16 g", LIME, 2, 8.0),
    ],
)
def test_a_part_is_of_one_serve_and_without_gas(text: str, made: Substance, serves: int, base: float) -> None:
    amount = read(text, made)
    part = part_of(amount, made, quantities_of(amount, made), serves)
    assert part is not None
    assert part.base == pytest.approx(base)


def test_a_piece_of_unknown_mass_is_no_part() -> None:
    for made in (replace(LIME, each_g=None), replace(LIME, each_g=None, basis="ml")):
        amount = read("2 wheels", made)
        assert part_of(amount, made, quantities_of(amount, made), 1) is None


@pytest.mark.parametrize(
    ("text", "made"), [("50 g", OF_UNKNOWN_DENSITY), ("50 ml", replace(OF_UNKNOWN_DENSITY, basis="g"))]
)
def test_mass_and_volume_are_not_turned_into_each_other_without_a_density(text: str, made: Substance) -> None:
    amount = read(text, made)
    with pytest.raises(InputFault) as fault:
        part_of(amount, made, quantities_of(amount, made), 1)
    assert fault.value.code == "density_unknown"


def test_less_than_anything_weighs_is_refused() -> None:
    made = replace(LIME, pieces={"wheel": Piece(g=LEAST / 10)})
    amount = read("1 wheel", made)
    with pytest.raises(InputFault) as fault:
        part_of(amount, made, quantities_of(amount, made), 1)
    assert fault.value.code == "amount_too_small"


@pytest.mark.parametrize(
    ("value", "unit", "quantity"),
    # A JSON number is taken as the decimal it was written as: 0.1 is a tenth, and 1e2 a hundred.
    [("3/4", "ml", "0.75"), (0.1, "ml", "0.1"), (1e2, "ml", "100"), ("2", "dash", "1.6")],
)
def test_a_pair_of_value_and_unit(value: str | float, unit: str, quantity: str) -> None:
    pair = AmountPair(value=value, unit=unit)
    assert amount_of(pair, Measures(), by_mass=False, pieces=()).quantity == Decimal(quantity)


@pytest.mark.parametrize(
    ("value", "unit", "place"),
    [("x", "ml", "/value"), ("-1", "ml", "/value"), (0.0, "ml", "/value"), ("1", "furlong", "/unit")],
)
def test_a_fault_of_a_pair_points_into_it(value: str | float, unit: str, place: str) -> None:
    with pytest.raises(InputFault) as fault:
        amount_of(AmountPair(value=value, unit=unit), Measures(), by_mass=False, pieces=())
    assert fault.value.pointer == place


def test_each_is_a_piece_only_where_the_mass_of_one_is_known() -> None:
    assert pieces_of(LIME) == ("each", "wheel", "peel")
    assert pieces_of(replace(LIME, each_g=None)) == ("wheel", "peel")

"""Sizes of packs and reference servings of the United States against the lists of the law and of the ruling."""

from datetime import date
from decimal import Decimal

import pytest

from service.fills import fill_of, fill_span, serving_of
from service.rules import jurisdiction
from tests.one_drink import asked, poured, thing

US = jurisdiction("US").on(date(2026, 11, 25))

# T.D. TTB-200, 90 FR 1868, 10 January 2025: sizes added for spirits (seen in a copy).
ADDED = (187, 250, 331, 350, 355, 475, 500, 570, 700, 710, 945, 1500, 2000, 3000, 3750)


@pytest.mark.parametrize("size", ADDED)
def test_every_size_added_in_2025_is_a_standard_of_spirits(size: int) -> None:
    found = fill_of(US, "spirits", float(size))
    assert found is not None and found.is_standard


@pytest.mark.parametrize(
    ("commodity", "net_ml", "is_standard", "below", "above"),
    [
        # 27 CFR 5.203 and 4.72, from the lists of 2020 and memory: 180 ml is a size of wine and none of spirits.
        ("spirits", 180, False, 100, 187),
        ("wine", 180, True, 100, 187),
        ("spirits", 750, True, 720, 900),
        ("spirits", 40, False, None, 50),
        ("spirits", 5000, False, 3750, None),
        # 4.72: from 4 litres on in whole litres.
        ("wine", 4000, True, 3000, 5000),
        ("wine", 5000, True, 4000, 6000),
        ("wine", 4500, False, 4000, 5000),
        ("wine", 3500, False, 3000, 4000),
    ],
)
def test_a_net_quantity_stands_on_the_list_or_beside_it(
    commodity: str, net_ml: float, is_standard: bool, below: int | None, above: int | None
) -> None:
    found = fill_of(US, commodity, net_ml)
    assert found is not None and found.is_standard is is_standard
    assert (found.below_ml, found.above_ml) == (below, above)


# TTB Ruling 2013-2 as 90 FR 6654 restates it (seen): 1.5, 2.5, 5 and 12 fluid ounces; 44, 74, 148 and 355 ml.
@pytest.mark.parametrize(
    ("commodity", "abv", "ml"),
    [
        ("spirits", 40, 44), ("spirits", 24.01, 44), ("spirits", 24, 74), ("spirits", 16.01, 74), ("spirits", 16, 148),
        ("spirits", 7.01, 148), ("spirits", 7, 355), ("spirits", 5, 355),
        ("wine", 24, 74), ("wine", 16.01, 74), ("wine", 16, 148), ("wine", 7, 148),
        ("malt", 25, 44), ("malt", 20, 74), ("malt", 10, 148), ("malt", 7, 355), ("malt", 5, 355),
    ],
)  # fmt: skip
def test_the_reference_serving_of_a_strength(commodity: str, abv: float, ml: int) -> None:
    found = serving_of(US, commodity, abv, None)
    assert found is not None and found.rule.ml == ml and found.servings is None
    # A US fluid ounce is 29.5735295625 ml; the table rounds to whole ml.
    assert abs(float(found.rule.fl_oz) * 29.5735295625 - ml) < 0.5


@pytest.mark.parametrize(("commodity", "abv"), [("wine", 6.99), ("wine", 24.01), (None, 40), ("spirits", None)])
def test_where_the_table_is_silent_no_serving_is_said(commodity: str | None, abv: float | None) -> None:
    assert serving_of(US, commodity, abv, 750) is None


def test_servings_in_a_pack() -> None:
    """750 ml in servings of 44 ml are 17.05, so 17.0 (arithmetic; the step of a tenth is our own)."""
    found = serving_of(US, "spirits", 40, 750)
    assert found is not None and found.servings == Decimal("17.0")


def test_a_mixed_drink_is_judged_by_what_its_alcohol_is() -> None:
    spirit, wine = thing("rum", kind="spirit", abv_percent=40), thing("white", kind="wine", abv_percent=12)
    vague = thing("vague", kind="other", abv_percent=20)
    sugar = thing("sugar", kind="syrup", abv_percent=None)  # a kind that implies no alcohol
    packed = {"drink": {"sold_as": "prepacked", "net_ml": "180"}}

    def fills(*names: str) -> list[tuple[str, bool]]:
        lines = [poured(name, "50 ml") for name in names]
        found = asked(lines, [spirit, wine, vague, sugar], ("US", "EU"), **packed)["pack"]["fills"]
        return [(row["commodity"], row["standard"]) for row in found]

    assert fills("rum", "white", "sugar") == [("spirits", False)]
    assert fills("white") == [("wine", True)]
    assert fills("white", "vague") == []


@pytest.mark.parametrize(
    ("net_ml", "percent", "low", "high"),
    [
        # 27 CFR 19.356(b), seen: 1.5 % from 1 litre, 2 % of 376 to 999 ml, 3 % of 101 to 375, 4.5 % of 100 or less.
        (1750, "1.5", "1723.75", "1776.25"), (1000, "1.5", "985", "1015"), (999, "2", "979.02", "1018.98"),
        (750, "2", "735", "765"), (376, "2", "368.48", "383.52"), (375, "3", "363.75", "386.25"),
        (101, "3", "97.97", "104.03"), (100, "4.5", "95.5", "104.5"), (50, "4.5", "47.75", "52.25"),
    ],
)  # fmt: skip
def test_a_pack_holds_what_it_states_within_the_tolerance(net_ml: float, percent: str, low: str, high: str) -> None:
    found = fill_span(US, "spirits", net_ml)
    assert found is not None
    assert (found.rule.percent, found.low_ml, found.high_ml) == (Decimal(percent), Decimal(low), Decimal(high))


@pytest.mark.parametrize(("commodity", "net_ml"), [("wine", 750), (None, 750), ("spirits", None), ("spirits", 375.5)])
def test_no_tolerance_is_made_up(commodity: str | None, net_ml: float | None) -> None:
    """Part 19 is on distilled spirits plants; between 375 and 376 ml it has no line."""
    assert fill_span(US, commodity, net_ml) is None


def test_a_packed_spirit_says_between_what_its_fill_lies() -> None:
    bought = thing("spirit", kind="spirit", abv_percent=40)
    drink = {"sold_as": "prepacked", "net_ml": "750"}
    found = asked([poured("spirit")], [bought], ("US", "NL"), drink=drink)["pack"]["fill_within"]
    assert [(row["jurisdiction"], row["low_ml"], row["high_ml"], row["standing"]) for row in found] == [
        ("US", 735.0, 765.0, "confirmed")
    ]

"""Legal measures of a pour, and the words by which an item is bound by one."""

from decimal import Decimal

import pytest

from service import pours
from service.rulekinds import PourMeasure
from tests.held import TODAY, US_FLUID_OUNCE_ML, held


@pytest.mark.parametrize(
    ("code", "kind", "item", "volume_ml", "liquids", "missed"),
    [
        ("GB", "spirit", "gin-40", 25, 2, []),
        ("GB", "spirit", "gin-40", 70, 1, []),
        ("GB", "spirit", "gin-40", 40, 2, ["spirits"]),
        ("GB", "spirit", "gin-40", 40, 3, []),
        ("GB", "spirit", "tequila-40", 40, 1, []),
        ("GB", "wine", "white-wine", 250, 1, []),
        ("GB", "wine", "white-wine", 150, 1, ["wine"]),
        ("GB-NIR", "fortified", "sherry-dry", 60, 1, ["fortified"]),
        ("US-UT", "spirit", "rum-40", 1.5 * US_FLUID_OUNCE_ML, 5, []),
        ("US-UT", "spirit", "rum-40", 45, 5, ["primary_liquor"]),
        ("US", "spirit", "rum-40", 90, 1, []),
        ("IE", "spirit", "gin-40", 35.5, 2, []),
    ],
)
def test_pour_measures(code: str, kind: str, item: str, volume_ml: float, liquids: int, missed: list[str]) -> None:
    # Weights and Measures (Intoxicating Liquor) Order 1988 (secondary); Utah Code 32B (memory).
    found = pours.pour_measures_missed(held(code), kind, item, volume_ml, liquids)
    assert [measure.key for measure in found] == missed


def test_utahs_most_for_all_spirits_of_one_drink() -> None:
    # Utah Code 32B, from memory: 2.5 US fl oz of spirits in all, which are 73.93 ml.
    def missed(*pours_ml: float) -> list[str]:
        poured = [("spirit", "rum-40", volume_ml) for volume_ml in pours_ml]
        found = pours.total_measures_missed(held("US-UT"), [*poured, ("liqueur", "orange-liqueur", 30.0)])
        return [measure.key for measure in found]

    ounce = US_FLUID_OUNCE_ML
    assert missed(1.5 * ounce, ounce) == []
    assert missed(1.5 * ounce, 1.01 * ounce) == ["primary_liquor"]
    assert missed(73.94) == ["primary_liquor"]
    assert missed() == []
    assert pours.total_measures_missed(held("GB"), [("spirit", "gin-40", 500.0)]) == ()


@pytest.mark.parametrize(
    ("called", "words", "named"),
    [
        ("dark-rum-aged", ("rum",), True),
        ("rum", ("rum",), True),
        ("rumpled-mint", ("rum",), False),
        ("drum-cake", ("rum",), False),
        ("two-rums", ("rum",), True),
        ("bay-leaves", ("leaf",), True),
        ("bay-leaf", ("leaf",), True),
        ("berries-mixed", ("berry",), True),
        ("peaches", ("peach",), True),
        ("elder-leaf-syrup", ("elder-leaf",), True),
        ("elder-flower-leaf", ("elder-leaf",), False),
        ("a-b", ("a.b",), False),
        ("rum", (), False),
    ],
)
def test_a_word_stands_whole_or_as_its_plural(called: str, words: tuple[str, ...], named: bool) -> None:
    assert pours.names_any(called, words) is named


def measure_of(**facts: object) -> PourMeasure:
    provenance: dict[str, object] = {"source": "made up", "standing": "memory", "since": TODAY, "checked": TODAY}
    return PourMeasure(**{**provenance, "kinds": ("spirit",), "text": "t", **facts})  # type: ignore[arg-type]  # as given


@pytest.mark.parametrize(
    ("facts", "kind", "called", "bound"),
    [
        ({}, "spirit", "anything", True),
        ({}, "liqueur", "anything", False),
        ({"words": ("gin",)}, "spirit", "gin-40", True),
        ({"words": ("gin",)}, "spirit", "ginger-spirit", False),
        ({"unless_words": ("sloe",)}, "spirit", "sloe-gin", False),
        ({"words": ("gin",), "unless_words": ("sloe",)}, "spirit", "gin-40", True),
    ],
)
def test_kind_and_words_decide_what_a_measure_binds(
    facts: dict[str, object], kind: str, called: str, bound: bool
) -> None:
    assert pours.is_bound(measure_of(**facts), kind, called) is bound


def test_wine_in_a_sparkling_form_is_not_bound_in_great_britain() -> None:
    # The Order of 1988 names still wine (secondary).
    assert not pours.pour_measures_missed(held("GB"), "wine", "sparkling-wine-dry", 150, 1)
    assert pours.pour_measures_missed(held("GB"), "wine", "white-wine-dry", 150, 1)


def test_a_small_taste_is_free_where_the_law_says_so() -> None:
    # Great Britain: wine under 75 ml may be sold in any measure (since 2011, secondary).
    [measure] = [row for row in held("GB").pour_measures if row.key == "wine"]
    assert measure.free_under_ml == Decimal(75)
    assert not pours.pour_measures_missed(held("GB"), "wine", "white-wine", 74.9, 1)
    assert pours.pour_measures_missed(held("GB"), "wine", "white-wine", 76, 1)

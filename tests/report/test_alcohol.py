"""Strength as it is written: figures by hand, menus for what is poured, labels for what is packed."""

from typing import Any

import pytest

from tests.one_drink import asked, poured, thing

SPIRIT = thing("spirit", abv_percent=40)


def strength(sold_as: str | None = None, codes: tuple[str, ...] = ("EU", "US"), **more: Any) -> Any:
    house = {} if sold_as is None else {"house": {"sold_as": sold_as}}
    return asked([poured("spirit", "100 ml")], [SPIRIT], codes, **house, **more)["alcohol"]


def test_the_figures_of_one_liquid() -> None:
    # 40 ml x 0.789239 g/ml (OIML R 22) = 31.57 g; proof is twice the % vol (27 CFR 5.1).
    found = strength()
    assert (found["abv_percent"], found["abv_percent_undiluted"], found["us_proof"]) == (40.0, 40.0, 80.0)
    assert (found["ethanol_ml"], found["ethanol_g"], found["complete"], found["missing"]) == (40.0, 31.57, True, [])
    assert found["range"] is found["at_least"] is None
    assert found["heated"] == []
    assert "later melt" in found["moment"] or "handed over" in found["moment"] or "handing over" in found["moment"]


@pytest.mark.parametrize(
    ("sold_as", "menus", "labels"),
    [(None, 2, 0), ("poured", 2, 0), ("distance", 2, 0), ("packed_for_direct_sale", 0, 2), ("prepacked", 0, 2)],
)
def test_menus_for_what_is_poured_and_labels_for_what_is_packed(sold_as: str | None, menus: int, labels: int) -> None:
    found = strength(sold_as)
    assert len(found["label"]) == labels
    assert len(found["menu_text"]) == menus or labels


def test_the_european_union_alone_has_no_standard_drink() -> None:
    assert strength(codes=("EU",))["standard_drinks"] == []


@pytest.mark.parametrize(
    ("code", "grams", "count"),
    # 40 ml of ethanol: 10 ml (told as 8 g) are a GB unit; 10 g at 0.789 in Australia (Standard 2.7.1, memory).
    [("GB", 8.0, 4.0), ("AU", 10.0, 3.156)],
)
def test_standard_drinks_by_hand(code: str, grams: float, count: float) -> None:
    [row] = strength(codes=(code,))["standard_drinks"]
    assert row["count"] == pytest.approx(count, abs=0.0005)
    assert row["grams_each"] == pytest.approx(grams, abs=0.005)
    assert row["text"].split()[0] == f"{count:.1f}"
    assert row["count_low"] is row["count_high"] is row["range"] is None


def test_a_country_with_a_range_has_two_counts_and_not_one() -> None:
    # Germany: 10 to 12 g; 40 ml at 0.789 are 31.56 g.
    [row] = strength(codes=("DE",))["standard_drinks"]
    assert row["count"] is None
    assert (row["count_low"], row["count_high"]) == (pytest.approx(2.63), pytest.approx(3.156))


def test_alternatives_open_a_range() -> None:
    lines = [poured("spirit", "100 ml", alternatives=["strong", "weak"])]
    things = [SPIRIT, thing("strong", abv_percent=50), thing("weak", abv_percent=30)]
    found = asked(lines, things, ("GB",))["alcohol"]
    assert found["abv_percent"] == 40.0
    # 30 and 50 ml of ethanol, 23.68 and 39.46 g.
    assert {name: list(ends) for name, ends in found["range"].items()} == {
        "abv_percent": [30.0, 50.0], "ethanol_g": [23.68, 39.46], "ethanol_ml": [30.0, 50.0],
    }  # fmt: skip
    assert list(found["standard_drinks"][0]["range"]) == [3.0, 5.0]


def test_what_is_known_stands_beside_what_is_not() -> None:
    odd = {"id": "odd", "name": "Odd", "kind": "liqueur"}
    found = asked([poured("spirit", "50 ml"), poured("odd", "10 ml")], [SPIRIT, odd])["alcohol"]
    assert found["complete"] is False
    assert found["abv_percent"] is found["ethanol_g"] is found["us_proof"] is None
    assert found["missing"] == [{"item": "odd", "field": "abv_percent"}]
    # 20 ml of ethanol are known.
    assert found["at_least"] == {"ethanol_g": 15.78}
    assert found["menu_text"][0]["text"] is None

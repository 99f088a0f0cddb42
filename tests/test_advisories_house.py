"""Cautions of house-made parts that spoil, of the house's own limit and of legal measures."""

from typing import Any

import pytest

from tests.one_drink import asked, cautions, poured, thing
from tests.test_advisories import told

# House-made parts that spoil: common practice, no source.


def kept(*lines: Any, things: Any = (), name: str = "part") -> set[str]:
    made = {"id": name, "name": "Part", "lines": list(lines)}
    return cautions(asked([poured(name, "20 ml")], things, preparations=[made]))


def test_a_low_acid_low_strength_part_with_dairy_is_cautioned() -> None:
    milk = thing("milk", kind="dairy")
    assert "time_and_temperature" in kept(poured("milk", "1 l"), things=[milk])
    assert "time_and_temperature" in kept(poured("water", "1 l"), poured("mint", "20 g", strained_out=True))
    assert "time_and_temperature" not in kept(poured("water", "1 l"))


@pytest.mark.parametrize(("per_100", "abv", "goes_off"), [({}, 19.9, True), ({}, 20.1, False),
({"acids_g": {"citric": 4.1}}, 0, False),
                                                          ({"acids_g": {"citric": 3.9}}, 0, True)])  # fmt: skip
def test_strength_or_acid_keeps_a_part(per_100: dict[str, Any], abv: float, goes_off: bool) -> None:
    milk = thing("milk", kind="dairy", abv_percent=abv, per_100=per_100)
    assert ("time_and_temperature" in kept(poured("milk", "1 l"), things=[milk])) is goes_off


# The house's own limit and legal measures.


def test_more_standard_drinks_than_the_house_has_set() -> None:
    # 50 ml of 40 % are exactly 2 British units.
    rum = [thing(abv_percent=40)]
    assert "over_house_limit" not in told(rum, ("GB",), "50 ml", house={"max_standard_drinks": 2})
    found = asked([poured(amount="50.1 ml")], rum, ["GB"], house={"max_standard_drinks": 2})
    row = next(row for row in found["advisories"] if row["code"] == "over_house_limit")
    assert row["text"] == "2.0 units in one serve; the house has set 2 at most."
    assert row["jurisdictions"] == ["GB"]


def test_the_house_limit_looks_at_the_strongest_alternative() -> None:
    things = [thing("low", abv_percent=10), thing("high", abv_percent=60)]
    found = asked([poured("low", "50 ml", alternatives=["high"])], things, ["GB"], house={"max_standard_drinks": 2})
    assert "over_house_limit" in cautions(found)


def test_the_house_limit_looks_at_the_higher_count_of_a_range() -> None:
    # 25 ml of 50 %: 9.86 g, 0.82 of 12 g and 0.99 of 10 g.
    made = [thing(abv_percent=50)]
    assert "over_house_limit" in told(made, ("DE",), "25 ml", house={"max_standard_drinks": 0.9})
    assert "over_house_limit" not in told(made, ("DE",), "25 ml", house={"max_standard_drinks": 1})


def test_an_unknown_strength_is_over_the_house_limit_for_all_one_knows() -> None:
    odd = thing(kind="liqueur")
    del odd["abv_percent"]
    assert "over_house_limit" in told([odd], ("US",), house={"max_standard_drinks": 5})


def test_a_house_limit_that_nothing_can_judge_is_said() -> None:
    assert "house_limit_not_checked" in told(codes=("EU",), house={"max_standard_drinks": 2})
    assert "house_limit_not_checked" not in told(codes=("EU", "GB"), house={"max_standard_drinks": 2})


@pytest.mark.parametrize(
    ("item_id", "kind", "amount", "codes", "key"),
    [
        # Weights and Measures (Intoxicating Liquor) Order 1988, in a secondary copy.
        ("gin", "spirit", "40 ml", ("GB",), "pour_measure_spirits"), ("gin", "spirit", "25 ml", ("GB",), None),
        ("gin", "spirit", "70 ml", ("GB-SCT",), None), ("brandy", "spirit", "40 ml", ("GB",), None),
        ("white", "wine", "150 ml", ("GB",), "pour_measure_wine"), ("white", "wine", "175 ml", ("GB",), None),
        ("white", "wine", "74.9 ml", ("GB",), None), ("white", "wine", "75 ml", ("GB",), "pour_measure_wine"),
        ("port", "fortified", "60 ml", ("GB",), "pour_measure_fortified"),
        ("scotch", "spirit", "40 ml", ("GB",), "pour_measure_spirits"),
        ("bourbon", "spirit", "40 ml", ("GB",), "pour_measure_spirits"),
        ("sparkling-white", "wine", "150 ml", ("GB",), None), ("sake", "wine", "90 ml", ("GB",), None),
        ("champagne", "wine", "150 ml", ("GB",), None), ("mead", "wine", "150 ml", ("GB",), None),
        # Quarter gill of Ireland and 1.5 US fl oz of Utah, from memory.
        ("gin", "spirit", "40 ml", ("IE",), "pour_measure_spirits"), ("gin", "spirit", "35.5 ml", ("IE",), None),
        ("gin", "spirit", "1.5 us fl oz", ("US-UT",), None),
        ("gin", "spirit", "45 ml", ("US-UT",), "pour_measure_primary_liquor"),
        ("gin", "spirit", "45 ml", ("US", "EU"), None),
    ],
)  # fmt: skip
def test_legal_measures(item_id: str, kind: str, amount: str, codes: tuple[str, ...], key: str | None) -> None:
    found = {
        code
        for code in told([thing(item_id, kind=kind, abv_percent=30)], codes, amount)
        if code.startswith("pour_measure")
    }
    assert found == ({key} if key else set())


def test_the_name_of_a_callers_spirit_binds_it_to_a_measure() -> None:
    things = [thing("sku-24", name="Dry Gin of the House", kind="spirit", abv_percent=40)]
    assert "pour_measure_spirits" in told(things, ("GB",), "40 ml")
    wine = [thing("sku-25", name="Sparkling wine", kind="wine", abv_percent=12)]
    assert "pour_measure_wine" not in told(wine, ("GB",), "150 ml")


def test_spirits_of_one_drink_are_counted_together_in_utah() -> None:
    # Utah Code title 32B, from memory: 2.5 US fl oz of spirits in all.
    things = [thing("gin", kind="spirit", abv_percent=40), thing("rum", kind="spirit", abv_percent=40)]

    def told_of(gin: str, rum: str) -> Any:
        found = asked([poured("gin", gin), poured("rum", rum)], things, ["US-UT"])["advisories"]
        return {row["code"]: row["items"] for row in found if row["code"].startswith("pour_measure")}

    assert told_of("1.5 us fl oz", "1 us fl oz") == {}
    assert told_of("1.5 us fl oz", "1.1 us fl oz") == {"pour_measure_primary_liquor_total": ["gin", "rum"]}
    assert told_of("1.6 us fl oz", "0.5 us fl oz") == {"pour_measure_primary_liquor": ["gin"]}


def test_a_mixture_of_three_liquids_is_free_of_british_measures() -> None:
    things = [thing("gin", kind="spirit", abv_percent=40), thing("juice"), thing("syrup")]
    two = asked([poured("gin", "40 ml"), poured("juice", "40 ml")], things, ["GB"])
    three = asked([poured("gin", "40 ml"), poured("juice", "40 ml"), poured("syrup", "10 ml")], things, ["GB"])
    assert "pour_measure_spirits" in cautions(two)
    assert "pour_measure_spirits" not in cautions(three)


def test_the_measure_is_that_of_one_serve() -> None:
    found = asked([poured("gin", "100 ml")], [thing("gin", kind="spirit", abv_percent=40)], ["GB"], drink={"serves": 4})
    assert "pour_measure_spirits" not in cautions(found)


def test_a_legal_measure_binds_what_is_poured_alone() -> None:
    """The measures are of what is poured for sale (Weights and Measures (Intoxicating Liquor) Order 1988, secondary; in
    Ireland from memory): a pack has its net quantity, and no measure of a pour."""
    gin = [thing("gin", kind="spirit", abv_percent=40)]
    for how in ("prepacked", "packed_for_direct_sale"):
        assert not {code for code in told(gin, ("GB", "IE"), "100 ml", house={"sold_as": how}) if "measure" in code}
    assert "pour_measure_spirits" in told(gin, ("GB", "IE"), "110 ml", house={"sold_as": "poured"})

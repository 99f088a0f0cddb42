"""Cautions by what a litre of the finished drink holds: at the limit, beyond it, and by alternatives."""

from typing import Any

import pytest

from tests.one_drink import asked, cautions, poured, thing
from tests.test_advisories import told

ALL = ("EU", "GB", "US", "CA", "AU", "NZ", "JP")


# Amounts per litre of the finished drink: at the limit and just beyond.


@pytest.mark.parametrize(
    ("per_100", "codes", "key", "goes_off"),
    [
        # 21 CFR 172.575: 83 parts per million of quinine.
        ({"quinine_mg": 8.3}, ("US",), "quinine_limit", False), ({"quinine_mg": 8.31}, ("US",), "quinine_limit", True),
        ({"quinine_mg": 20}, ("EU",), "quinine_limit", False),
        ({"quinine_mg": 0.001}, ("AU",), "quinine_present", True),
        ({"quinine_mg": 0.001}, ("NZ",), "quinine_present", True),
        ({"quinine_mg": 0}, ("AU",), "quinine_present", False),
        # Regulation (EU) 1169/2011 Annex III 4.1: over 150 mg/l of caffeine.
        ({"caffeine_mg": 15}, ("EU",), "caffeine_high", False),
        ({"caffeine_mg": 15.01}, ("EU",), "caffeine_high", True),
        # Annex III 3.1 and 3.2: 10 and 50 mg/l of glycyrrhizinic acid.
        ({"glycyrrhizin_mg": 0.99}, ("EU",), "liquorice_amount", False),
        ({"glycyrrhizin_mg": 1}, ("EU",), "liquorice_amount", True),
        ({"glycyrrhizin_mg": 4.99}, ("GB",), "liquorice_hypertension", False),
        ({"glycyrrhizin_mg": 5}, ("GB",), "liquorice_hypertension", True),
        # Annex III 2.4: over 10 % polyols.
        ({"polyols_g": {"sorbitol": 10}, "carbohydrate_g": 10}, ("EU",), "polyols", False),
        ({"polyols_g": {"sorbitol": 10.1}, "carbohydrate_g": 10.1}, ("EU",), "polyols", True),
    ],
)  # fmt: skip
def test_an_amount_calls_at_its_limit(
    per_100: dict[str, Any], codes: tuple[str, ...], key: str, goes_off: bool
) -> None:
    assert (key in told([thing(per_100=per_100)], codes)) is goes_off


@pytest.mark.parametrize(
    ("mg", "abv", "weak", "strong"),
    [
        (5, 1.2, True, False),
        (5, 1.21, False, False),
        (29.9, 20, False, False),
        (30, 20, False, True),
        (30, 1.2, True, False),
    ],
)
def test_liquorice_by_strength(mg: float, abv: float, weak: bool, strong: bool) -> None:
    # Annex III 3.3: from 300 mg/l in a drink over 1.2 % vol.
    found = told([thing(per_100={"glycyrrhizin_mg": mg}, abv_percent=abv)])
    assert ("liquorice_hypertension" in found, "liquorice_hypertension_alcohol" in found) == (weak, strong)


@pytest.mark.parametrize(("mg", "abv", "goes_off"), [(100, 20, False), (100.1, 20, True), (100.1, 0, False)])
def test_liquorice_in_the_united_states(mg: float, abv: float, goes_off: bool) -> None:
    # 21 CFR 184.1408: 0.1 % of an alcoholic drink as served, taken as 1000 mg/l.
    assert ("liquorice_us" in told([thing(per_100={"glycyrrhizin_mg": mg}, abv_percent=abv)], ("US",))) is goes_off


@pytest.mark.parametrize(("mg", "abv", "goes_off"), [(150, 0, False), (150.1, 0, True), (150.1, 20, False)])
def test_liquorice_without_alcohol_in_the_united_states(mg: float, abv: float, goes_off: bool) -> None:
    # 21 CFR 184.1408: 0.15 % of a drink without alcohol as served, taken as 1500 mg/l.
    found = told([thing(per_100={"glycyrrhizin_mg": mg}, abv_percent=abv)], ("US",))
    assert ("liquorice_us_soft" in found) is goes_off


def test_an_unknown_strength_takes_no_caution_off() -> None:
    odd = thing(per_100={"glycyrrhizin_mg": 40}, kind="liqueur")
    del odd["abv_percent"]
    assert {"liquorice_hypertension", "liquorice_hypertension_alcohol", "pregnancy"} <= told([odd])


def test_water_thins_an_amount_below_its_limit() -> None:
    made = [thing(per_100={"caffeine_mg": 20})]
    assert "caffeine_high" in told(made)
    assert "caffeine_high" not in told(made, drink={"method": {"kind": "shaken", "water": {"ml": 100}}})


def test_caffeine_with_alcohol() -> None:
    weak, strong = thing("coffee", per_100={"caffeine_mg": 40}), thing("rum", abv_percent=40)
    with_it = cautions(asked([poured("coffee", "50 ml"), poured("rum", "50 ml")], [weak, strong]))
    assert {"caffeine_with_alcohol", "caffeine_high"} <= with_it
    # Its amount is known, so that it is not called a source of unknown strength as well.
    assert "caffeine_source_with_alcohol" not in with_it
    assert not {"caffeine_with_alcohol", "caffeine_source_with_alcohol"} & told([weak])


def test_a_source_of_unknown_caffeine_with_alcohol() -> None:
    odd = thing("cold-brew-concentrate")
    del odd["per_100"]["caffeine_mg"]
    found = cautions(
        asked([poured("cold-brew-concentrate", "50 ml"), poured("rum", "50 ml")], [odd, thing("rum", abv_percent=40)])
    )
    assert "caffeine_source_with_alcohol" in found
    assert "caffeine_with_alcohol" not in found


def with_vodka(name: str, strained: bool = False, **facts: Any) -> set[str]:
    odd = thing("sku-23", name=name, kind="spice", **facts)
    if facts.get("per_100") is None:
        del odd["per_100"]["caffeine_mg"]
    made = {
        "id": "part",
        "name": "Part",
        "lines": [poured("vodka-40", "700 ml"), poured("sku-23", "20 g", strained_out=strained)],
    }
    return cautions(asked([poured("part", "50 ml")], [odd], preparations=[made]))


@pytest.mark.parametrize(
    ("name", "goes_off"),
    [
        ("Black tea", True), ("Masala chai", True), ("Cocoa", True), ("Tea syrup", True), ("Teas, mixed", True),
        ("Yerba mate", True), ("Chamomile tea", False), ("Hibiscus tea", False), ("Rooibos tea", False),
        ("Mint tea", False), ("Herbal tea", False), ("Coffee, decaffeinated", False), ("Steak", False),
    ],
)  # fmt: skip
def test_sources_of_caffeine_by_name(name: str, goes_off: bool) -> None:
    assert ("caffeine_source_with_alcohol" in with_vodka(name)) is goes_off


def test_a_leaf_that_is_strained_out_gives_caffeine_though_its_composition_stays_behind() -> None:
    leaf = {"per_100": {"caffeine_mg": 3000, "basis": "g"}}
    assert "caffeine_source_with_alcohol" in with_vodka("Smoky leaf", strained=True, **leaf)
    assert "caffeine_source_with_alcohol" not in with_vodka("Leaf", strained=True, per_100={"basis": "g"})


def test_a_house_made_part_called_after_tea_is_a_source_of_caffeine() -> None:
    made = {"id": "tea-cordial", "name": "Cordial", "lines": [poured("simple-syrup-1-1", "500 ml")]}
    lines = [poured("tea-cordial", "20 ml"), poured("vodka-40", "50 ml")]
    assert "caffeine_source_with_alcohol" in cautions(asked(lines, preparations=[made]))


def test_the_caution_on_caffeine_says_how_much() -> None:
    # Regulation (EU) 1169/2011 Annex III 4.1: the statement is followed by the mg in 100 ml.
    def text(*things: Any) -> str:
        found = asked([poured(made["id"], "50 ml") for made in things], things)["advisories"]
        return str(next(row["text"] for row in found if row["code"] == "caffeine_high"))

    coffee, odd = thing("coffee", per_100={"caffeine_mg": 40}), thing("odd")
    del odd["per_100"]["caffeine_mg"]
    assert "(40.0 mg in 100 ml)" in text(coffee)
    assert "(20.0 mg in 100 ml)" in text(coffee, thing("none"))
    assert "(at least 20.0 mg in 100 ml)" in text(coffee, odd)


COFFEE = thing("coffee", per_100={"caffeine_mg": 40, "glycyrrhizin_mg": 20, "polyols_g": {"sorbitol": 30},
                                  "carbohydrate_g": 30})  # fmt: skip
MEASURED = {"caffeine_high", "liquorice_amount", "liquorice_hypertension", "polyols"}


def beside_plain(*lines: Any, parts: Any = ()) -> Any:
    return asked([*lines, poured("plain", "50 ml")], [thing("plain"), COFFEE], preparations=list(parts))


def part_of(*lines: Any, **more: Any) -> Any:
    return {"id": "part", "name": "Part", "lines": list(lines), **more}


def test_what_an_alternative_holds_calls_for_its_caution() -> None:
    # 20 mg of caffeine in 100 ml where the coffee is poured, none of it as poured.
    found = beside_plain(poured("plain", "50 ml", alternatives=["coffee"]))
    assert cautions(found) >= MEASURED
    text = next(row["text"] for row in found["advisories"] if row["code"] == "caffeine_high")
    assert "(up to 20.0 mg in 100 ml)" in text
    assert not cautions(beside_plain(poured("plain", "50 ml"))) & MEASURED


@pytest.mark.parametrize(
    "line", [{"role": "top"}, {"role": "garnish", "eaten": True}, {"role": "rinse", "residue_ml": 50}]
)
def test_an_alternative_counts_by_what_is_drunk_of_it(line: dict[str, Any]) -> None:
    assert cautions(beside_plain(poured("plain", "50 ml", alternatives=["coffee"], **line))) >= MEASURED
    few = {**line, "residue_ml": 0} if line["role"] == "rinse" else {"role": "garnish"}
    assert not cautions(beside_plain(poured("plain", "50 ml", alternatives=["coffee"], **few))) & MEASURED


def test_what_a_part_may_hold_instead_calls_for_its_caution() -> None:
    part = part_of(poured("plain", "100 ml", alternatives=["coffee"]))
    outer = {"id": "outer", "name": "Outer", "lines": [poured("part", "100 ml")]}
    assert cautions(beside_plain(poured("part", "50 ml"), parts=[part])) >= MEASURED
    assert cautions(beside_plain(poured("plain", "50 ml", alternatives=["outer"]), parts=[part, outer])) >= MEASURED
    # Reduced to half its volume it holds twice as much in a ml: 40 mg in 100 ml of half of it.
    half = part_of(*part["lines"], **{"yield": {"amount": "50 ml", "reduced": True}})
    found = beside_plain(poured("part", "50 ml"), parts=[half])
    assert "(up to 40.0 mg in 100 ml)" in str(found["advisories"])
    gone = part_of(*part["lines"], steps=[{"kind": "distilling"}])
    assert not cautions(beside_plain(poured("part", "50 ml"), parts=[gone])) & MEASURED


def test_a_caution_for_weak_drinks_looks_at_the_weakest() -> None:
    # 50 mg/l in a drink of 0 or of 5 % vol: it may be one of up to 1.2 % vol.
    things = [
        thing("soft", per_100={"glycyrrhizin_mg": 5}),
        thing("hard", per_100={"glycyrrhizin_mg": 5}, abv_percent=5),
    ]
    assert "liquorice_hypertension" in cautions(asked([poured("soft", alternatives=["hard"])], things))
    assert "liquorice_hypertension" in cautions(asked([poured("hard", alternatives=["soft"])], things))

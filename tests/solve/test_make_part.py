"""POST /v1/make-part below HTTP: handbooks, 27 CFR 30.64, arithmetic, and the part evaluated again."""

import tomllib
from pathlib import Path
from typing import Any

import pytest

from service.errors import InputFault
from tests.held import cases
from tests.one_drink import answer_to, poured, request_of, thing
from tests.solve.desk import part_of

SOLUTES = tomllib.loads(
    (Path(__file__).parents[2] / "service" / "data" / "tables" / "solutes.toml").read_text(encoding="utf-8")
)
WATER_G_PER_ML = 0.99820123
"""OIML R 22 at 20 C."""


def grams(found: Any) -> dict[str, float]:
    return {row["item"]: row["mass_g"] for row in found["amounts"]}


@pytest.mark.parametrize(
    ("brix", "density", "sugars"),
    [(50.0, 1.2297, 61.48), (66.6667, 1.3268, 88.45)],  # ICUMSA: 1:1 by mass 614.8 g/l, 2:1 884.5 g/l
)
def test_syrups_of_the_tables(brix: float, density: float, sugars: float) -> None:
    found = part_of({"kind": "syrup", "brix": brix, "make_ml": 1000})
    assert found["figures"]["density_g_per_ml"] == pytest.approx(density, abs=2e-4)
    assert found["figures"]["sugars_g_per_100_ml"] == pytest.approx(sugars, abs=0.02)
    assert found["yield_ml"] == 1000.0
    made = grams(found)
    assert made["white-sugar"] / (made["white-sugar"] + made["water"]) * 100 == pytest.approx(brix, abs=1e-3)


def test_a_syrup_cannot_be_thicker_than_what_sweetens_it() -> None:
    with pytest.raises(InputFault) as fault:
        part_of({"kind": "syrup", "sugar": "honey", "brix": 88, "make_ml": 100})
    assert (fault.value.code, fault.value.pointer) == ("part_not_possible", "/part")


@pytest.mark.parametrize(
    ("item", "acid"), [("citric-acid", "citric"), ("malic-acid", "malic"), ("tartaric-acid", "tartaric")]
)
@pytest.mark.parametrize("percent", [1.0, 6.0, 15.0, 20.0])
def test_acid_solutions_by_the_table_of_solutes(item: str, acid: str, percent: float) -> None:
    """V = water / 0.99820 + acid (a + b w), worked here from service/data/tables/solutes.toml, whose source stands
    beside each solute: a handbook table for citric acid, an estimate for malic and tartaric."""
    entry = SOLUTES[acid]
    assert entry["source"]
    w = percent / 100
    volume = (1 - w) / WATER_G_PER_ML + w * (entry["a"] + entry["b"] * min(w, entry["w_max"]))
    found = part_of(
        {"kind": "acid_solution", "acids": [{"item": item, "share": 1}], "strength_percent": percent, "make_ml": 10_000}
    )
    assert grams(found)[item] == pytest.approx(10_000 * w / volume, rel=1e-4)
    assert grams(found)["water"] == pytest.approx(10_000 * (1 - w) / volume, rel=1e-4)


def test_twenty_percent_citric_acid_of_the_handbook() -> None:
    """Handbook table at 20 C: 20 % by mass is 1.0858 g/ml or so, 21.7 g in 100 ml."""
    found = part_of({"kind": "acid_solution", "strength_percent": 20, "make_ml": 100})
    assert found["figures"]["acid_g_per_100_ml"] == pytest.approx(21.7, abs=0.03)


def test_an_acid_solution_as_acid_as_lime_juice() -> None:
    """Reference lime is 4 g citric and 2 g malic in 100 ml (Liquid Intelligence, 2014): two to one gives it back."""
    part = {"kind": "acid_solution", "like": "lime-juice", "make_ml": 100,
            "acids": [{"item": "citric-acid", "share": 2}, {"item": "malic-acid", "share": 1}]}  # fmt: skip
    made = grams(part_of(part))
    assert made["citric-acid"] == pytest.approx(4.0)
    assert made["malic-acid"] == pytest.approx(2.0)
    lactic = part_of({**part, "acids": [{"item": "lactic-acid", "share": 1}]})
    # Arithmetic: 92.29 mmol x 90.078 mg = 8.313 g of lactic acid, which is 10.39 g of the 80 % solution.
    assert grams(lactic)["lactic-acid"] == pytest.approx(10.39, abs=0.01)
    assert lactic["figures"]["acid_mmol_per_100_ml"] == pytest.approx(92.29, abs=0.01)


def test_saline_of_the_handbook() -> None:
    """Sodium chloride 20 % by mass at 20 C: 1.1478 g/ml (handbook, from memory), 22.96 g in 100 ml."""
    found = part_of({"kind": "saline", "strength_percent": 20, "make_ml": 100})
    assert found["figures"]["density_g_per_ml"] == pytest.approx(1.1478, abs=6e-4)
    assert grams(found)["salt"] == pytest.approx(22.96, abs=0.02)


SPIRIT = thing("spirit", kind="spirit", abv_percent=100)


def test_fifty_and_fifty_shrink() -> None:
    """50 ml of ethanol and 50 ml of water are 96.46 ml of 51.83 % vol (OIML R 22)."""
    found = part_of(
        {"kind": "spirit_cut", "spirit": "spirit", "to_abv_percent": 51.83, "make_ml": 96.46}, ingredients=[SPIRIT]
    )
    volumes = {row["item"]: row["volume_ml"] for row in found["amounts"]}
    assert volumes["spirit"] == pytest.approx(50.0, abs=0.01)
    assert volumes["water"] == pytest.approx(50.0, abs=0.02)
    assert found["contraction_ml"] == pytest.approx(3.54, abs=0.02)


CUTS = [case for case in cases("physics_published") if case.values[0]["id"] == "us-3064-water"]


@pytest.mark.parametrize("case", CUTS)
def test_cutting_by_the_gauging_manual(case: Any) -> None:
    """27 CFR 30.64: 1,000 pounds of 200 proof take 82.03 pounds of water to 190 proof."""
    asked = case["inputs"]
    part = {"kind": "spirit_cut", "spirit": "spirit", "to_us_proof": float(asked["to_proof"]), "make_ml": 1000}
    made = grams(part_of(part, ingredients=[SPIRIT]))
    water = made["water"] / made["spirit"] * float(asked["mass_lb"])
    assert water == pytest.approx(float(case["expected"]), abs=float(case["tolerance"]))


def test_the_case_of_the_gauging_manual_is_there() -> None:
    assert len(CUTS) == 1


def test_water_makes_no_spirit_stronger() -> None:
    with pytest.raises(InputFault) as fault:
        part_of({"kind": "spirit_cut", "spirit": "gin-47", "to_abv_percent": 50, "make_ml": 700})
    assert (fault.value.code, fault.value.pointer) == ("cut_not_possible", "/part/to_abv_percent")


def test_a_cordial_has_the_sugars_and_the_acid_asked_for() -> None:
    """Sums by hand over the amounts: 30 % of lime at 0.9229 mmol a ml, citric acid at 15.615 mmol a g."""
    part = {"kind": "cordial", "juice": "lime-juice", "juice_percent": 30, "sugars_g_per_100_ml": 50,
            "acid_mmol_per_100_ml": 60, "make_ml": 1000}  # fmt: skip
    found = part_of(part)
    made = grams(found)
    assert 300 * 0.9229 + made["citric-acid"] * 15.615 == pytest.approx(600, abs=0.5)
    # Lime juice has 1.69 g of sugars in 100 g (USDA, NDB 09160), 306.9 g of it here.
    assert made["white-sugar"] + 306.9 * 0.0169 == pytest.approx(500, abs=0.1)
    assert found["figures"]["acid_mmol_per_100_ml"] == pytest.approx(60.0)
    with pytest.raises(InputFault):
        part_of({**part, "juice_percent": 90, "acid_mmol_per_100_ml": 10})


def test_orange_is_raised_to_lime() -> None:
    """Sums by hand: 0.91 g of citric acid in 100 ml of orange (Penniston 2008), 92.29 mmol wanted."""
    found = part_of({"kind": "adjusted_juice", "juice": "orange-juice", "like": "lime-juice", "make_ml": 500})
    orange = next(row["volume_ml"] for row in found["amounts"] if row["item"] == "orange-juice")
    assert (orange * 0.0091 + grams(found)["citric-acid"]) * 15.615 == pytest.approx(5 * 92.29, rel=1e-3)
    assert any("not equal pH" in note for note in found["notes"])
    with pytest.raises(InputFault) as fault:
        part_of({"kind": "adjusted_juice", "juice": "lime-juice", "like": "orange-juice", "make_ml": 500})
    assert fault.value.code == "part_not_possible"


def test_peel_gives_its_allergens_and_no_juice() -> None:
    found = part_of({"kind": "peel_juice", "peel": "lime", "peel_g": 100, "like": "lime-juice", "make_ml": 1000})
    assert next(row for row in found["amounts"] if row["item"] == "lime")["strained_out"]
    assert found["yield_ml"] == 1000.0
    assert found["figures"]["acid_mmol_per_100_ml"] == pytest.approx(92.29, abs=0.01)


def test_a_foam_of_raw_egg_and_a_charger_is_cautioned_and_deferred() -> None:
    lines = [{"item": "egg-white", "amount": "100 g"}, {"item": "simple-syrup-1-1", "amount": "100 ml"}]
    found = part_of({"kind": "foam", "lines": lines, "overrun_percent": 200, "charged": True})
    words = " ".join(found["keeping"]["cautions"]).lower()
    assert "salmonella" in words
    assert "charger" in words
    assert "local food codes" in found["keeping"]["deferral"]
    assert found["keeping"]["days"] == 1
    assert "raw_egg" in {row["code"] for row in found["advisories"]}
    # Arithmetic: 200 % of gas makes three of one.
    assert found["with_gas_ml"] == pytest.approx(3 * found["yield_ml"], abs=0.02)


def test_a_part_costs_what_its_lines_cost() -> None:
    """Arithmetic: 614.83 g of sugar at 2.00 a kilo are 1.23, and water is free."""
    offer = {"id": "q", "item": "white-sugar", "supplier": "Example Quay Supply", "pack": {"size": "1 kg"},
             "price": {"amount": "2.00", "currency": "EUR"}}  # fmt: skip
    part = {"kind": "syrup", "brix": 50, "make_ml": 1000}
    found = part_of(part, offers=[offer])
    assert found["cost"] == {"currency": "EUR", "batch": "1.23", "litre": "1.23", "missing": []}
    # With a fifth lost a litre costs a quarter more: 1.22966 / 0.8 = 1.537.
    assert part_of(part, offers=[offer], loss_percent=20)["cost"]["litre"] == "1.54"
    assert "cost" not in part_of(part, offers=[offer], sees_costs=False)


PARTS: list[dict[str, Any]] = [
    {"kind": "syrup", "brix": 60, "make_ml": 500}, {"kind": "saline", "strength_percent": 10, "make_ml": 50},
    {"kind": "acid_solution", "strength_percent": 6, "make_ml": 500},
    {"kind": "spirit_cut", "spirit": "gin-47", "to_us_proof": 80, "make_ml": 700},
    {"kind": "cordial", "juice": "lime-juice", "juice_percent": 30, "sugars_g_per_100_ml": 50,
     "acid_mmol_per_100_ml": 60, "make_ml": 1000},
    {"kind": "foam", "lines": [{"item": "egg-white", "amount": "100 g"}], "overrun_percent": 100},
]  # fmt: skip


@pytest.mark.parametrize("part", PARTS, ids=lambda part: part["kind"])
def test_the_preparation_is_one_that_evaluate_takes(part: dict[str, Any]) -> None:
    found = part_of(part)
    answer = answer_to(request_of([poured("mine", "10 ml")], preparations=[found["preparation"]]))
    made = answer["preparations"][0]
    assert made["yield_ml"] == found["yield_ml"]
    assert made["abv_percent"] == found["figures"]["abv_percent"]
    if found["keeping"]["days"] is not None:
        assert made["use_by"]["days"] == found["keeping"]["days"]


def test_a_part_of_itself_is_refused() -> None:
    with pytest.raises(InputFault) as fault:
        part_of({"kind": "syrup", "sugar": "mine", "brix": 50, "make_ml": 100})
    assert fault.value.pointer == "/part/sugar"


def test_orange_is_raised_with_two_acids_in_their_shares() -> None:
    """Sums by hand: citric 15.615 and malic 14.915 mmol H+ a gram (3 x 1000 / 192.12, 2 x 1000 / 134.09; IUPAC masses).

    Orange has 0.91 g of citric acid in 100 ml (Penniston 2008), its own acids do not count in the shares of 2 to 1.
    """
    acids = [{"item": "citric-acid", "share": 2}, {"item": "malic-acid", "share": 1}]
    part = {"kind": "adjusted_juice", "juice": "orange-juice", "like": "lime-juice", "make_ml": 500, "acids": acids}
    found = part_of(part)
    orange = next(row["volume_ml"] for row in found["amounts"] if row["item"] == "orange-juice")
    made = grams(found)
    assert made["citric-acid"] / made["malic-acid"] == pytest.approx(2.0, rel=1e-3)
    wanted = (orange * 0.0091 + made["citric-acid"]) * 15.615 + made["malic-acid"] * 14.915
    assert wanted == pytest.approx(5 * 92.29, rel=2e-3)
    with pytest.raises(InputFault) as fault:
        part_of({**part, "acids": [acids[0], acids[0]]})
    assert (fault.value.code, fault.value.pointer) == ("acids_alike", "/part/acids/1/item")

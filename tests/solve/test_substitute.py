"""POST /v1/substitute below HTTP: sums by hand, of the amounts that come out and of nothing else."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schemas.evaluation import EvaluationRequest
from schemas.solve import SubstituteRequest
from service.errors import InputFault
from service.solve.question import held_figure
from service.solve.substitute import substituted
from tests.offered import GATE
from tests.one_drink import poured, request_of, thing
from tests.solve.desk import desk, swapped

GIN_41, GIN_55 = thing("gin-41", abv_percent=41), thing("gin-55", abv_percent=55)
THIN = thing("thin", per_100={"sugars_g": 61.5, "carbohydrate_g": 61.5})
RICH = thing("rich", per_100={"sugars_g": 88.4, "carbohydrate_g": 88.4})
LIME = thing(
    "lime", kind="juice", per_100={"acids_g": {"citric": 4, "malic": 2}, "sugars_g": 1.7, "carbohydrate_g": 1.7}
)
ACID = thing("acid", per_100={"acids_g": {"citric": 6}})
LEMON = thing("lemon", kind="juice", per_100={"acids_g": {"citric": 4.8}, "sugars_g": 2.5, "carbohydrate_g": 2.5})
ALL = (GIN_41, GIN_55, THIN, RICH, LIME, ACID, LEMON)

SOUR = [poured("gin-41", "50 ml"), poured("lime", "22.5 ml"), poured("thin", "20 ml")]


def ask(item: str, by: str, *hold: str, **more: Any) -> dict[str, Any]:
    return {**request_of(SOUR, ALL), "item": item, "by": by, "hold": list(hold), **more}


def after(found: Any) -> dict[str, float]:
    return {row["item"]: row["after"] for row in found["amounts"]}


def test_a_stronger_gin_in_the_measure_that_keeps_the_ethanol() -> None:
    """Arithmetic: 50 ml x 41 / 55 = 37.27 ml."""
    found = swapped(ask("gin-41", "gin-55", "ethanol"))
    assert after(found) == {"gin-55": 37.27}
    assert found["solved"]
    assert found["held"][0]["held"]
    assert found["drink"]["lines"][0]["item"] == "gin-55"


def test_water_makes_up_the_volume() -> None:
    """Arithmetic: as above, and 12.73 ml of water more than shrinks in mixing (contraction under 0.3 ml)."""
    found = swapped(ask("gin-41", "gin-55", "ethanol", "volume", helpers=["water"]))
    assert after(found)["gin-55"] == 37.27
    assert 12.73 <= after(found)["water"] < 13.1


def test_a_rich_syrup_for_a_thin_one() -> None:
    """Arithmetic: 20 ml x 61.5 / 88.4 = 13.91 ml."""
    found = swapped(ask("thin", "rich", "sugars", "volume", helpers=["water"]))
    assert after(found)["rich"] == 13.91
    assert found["lost"]["sugars_g"] == 12.3


def test_honey_for_sugar_in_grams_of_sugars() -> None:
    """Arithmetic: 20 g of sugar over the 82.12 g of sugars in 100 g of honey (USDA, NDB 19296) are 24.35 g."""
    drink = request_of([poured("white-sugar", "20 g"), poured("gin-41", "50 ml")], ALL)
    found = swapped({**drink, "item": "white-sugar", "by": "honey", "hold": ["sugars"]})
    evaluated = found["compared"][1]
    assert evaluated["sugars_g"] == pytest.approx(20.0, abs=0.01)
    row = found["amounts"][0]
    grams = row["after"] * (1.0 if row["unit"] == "g" else 1.433)  # 339 g a US cup of 236.588 ml (USDA)
    assert grams == pytest.approx(24.35, rel=0.01)


def test_juice_by_an_acid_solution_of_equal_titration() -> None:
    """Arithmetic: 22.5 ml of lime hold 0.9 g citric and 0.45 g malic: 14.05 + 6.71 = 20.77 mmol H+; 6 g of citric acid
    in 100 ml are 0.9369 mmol a ml, so 22.16 ml."""
    found = swapped(ask("lime", "acid", "acid"))
    assert after(found) == {"acid": pytest.approx(22.16, abs=0.01)}
    assert found["lost"]["acid_mmol"] == pytest.approx(20.77, abs=0.01)
    assert found["lost"]["volume_ml"] == 22.5
    assert found["lost"]["sugars_g"] == pytest.approx(0.3825, abs=1e-3)
    assert any("not equal pH and not equal taste" in note for note in found["notes"])


def test_the_spread_of_a_juice_stands_beside_with_its_source() -> None:
    drink = request_of([poured("gin-41", "50 ml"), poured("lime-juice", "25 ml")], ALL)
    found = swapped({**drink, "item": "lime-juice", "by": "acid", "hold": ["acid"]})
    assert [(row["item"], row["citric_g_per_l"], row["sd_g_per_l"]) for row in found["acidity"]] == [
        ("lime-juice", 45.86, 6.86)  # Penniston et al. 2008
    ]
    assert "Penniston" in found["acidity"][0]["source"]


def test_orange_is_raised_to_the_acidity_of_lime() -> None:
    """Arithmetic: held are 20.77 mmol; what the orange lacks is citric acid at 15.61 mmol a g."""
    drink = request_of([poured("gin-41", "50 ml"), poured("lime", "22.5 ml")], ALL)
    found = swapped(
        {**drink, "item": "lime", "by": "orange-juice", "hold": ["acid", "volume"], "helpers": ["citric-acid"]}
    )
    orange, citric = after(found)["orange-juice"], after(found)["citric-acid"]
    assert orange * 0.0091 * 15.615 + citric * 15.615 == pytest.approx(20.77, abs=0.05)


def test_what_cannot_be_held_is_named_with_the_nearest() -> None:
    found = swapped(ask("thin", "gin-55", "sugars", "ethanol"))
    assert not found["solved"]
    assert "sugars" in {row["figure"] for row in found["unmet"]}
    assert all(row["nearest"] is not None for row in found["unmet"])


def test_another_line_may_give_way() -> None:
    """Lemon with sugars of its own for lime: less syrup keeps the sugars, which is arithmetic of both lines."""
    found = swapped(ask("lime", "lemon", "acid", "sugars", adjust=["thin"]))
    rows = after(found)
    lemon = 20.765 / (0.048 / 192.123 * 3000)
    assert rows["lemon"] == pytest.approx(lemon, abs=0.01)
    assert rows["thin"] == pytest.approx((12.3 + 0.3825 - 0.025 * lemon) / 0.615, abs=0.01)


@pytest.mark.parametrize(
    ("item", "by", "hold", "more", "code", "pointer"),
    [
        ("rum", "gin-55", ["ethanol"], {}, "item_not_poured", "/item"),
        ("gin-41", "gin-55", ["ethanol"], {"adjust": ["rich"]}, "item_not_poured", "/adjust/0"),
        ("gin-41", "no-such-gin", ["ethanol"], {}, "item_unknown", "/by"),
        ("gin-41", "thin", ["ethanol"], {}, "already_poured", "/by"),
        ("gin-41", "blank", ["ethanol"], {}, "content_unknown", "/by"),
    ],
)
def test_refusals_say_where(item: str, by: str, hold: list[str], more: Any, code: str, pointer: str) -> None:
    blank = {"id": "blank", "name": "Blank", "kind": "liqueur"}
    body = {**request_of(SOUR, [*ALL, blank]), "item": item, "by": by, "hold": hold, **more}
    with pytest.raises(InputFault) as fault:
        swapped(body)
    assert (fault.value.code, fault.value.pointer) == (code, pointer)


def test_what_is_held_is_not_known_of_the_old_item() -> None:
    body = request_of([poured("vague", "20 ml")], [{"id": "vague", "name": "Vague", "kind": "syrup"}, *ALL])
    with pytest.raises(InputFault) as fault:
        swapped({**body, "item": "vague", "by": "rich", "hold": ["sugars"]})
    assert (fault.value.code, fault.value.pointer) == ("content_unknown", "/item")


def test_the_new_drink_is_one_that_evaluate_takes() -> None:
    found = swapped(ask("thin", "rich", "sugars", "volume", helpers=["water"]))
    assert EvaluationRequest.model_validate({"drink": found["drink"], "ingredients": list(ALL)})


@GATE
@given(st.integers(10, 120), st.integers(5, 60), st.integers(5, 60), st.floats(30, 70), st.floats(30, 110))
def test_ethanol_sugars_and_acid_are_conserved(spirit: int, juice: int, syrup: int, abv: float, sugars: float) -> None:
    """Masses of both drinks, summed from what each ingredient states and the amounts of the lines, agree to 1e-9."""
    other = thing("other", abv_percent=round(abv, 2))
    sweet = thing("sweet", per_100={"sugars_g": round(sugars, 2), "carbohydrate_g": round(sugars, 2)})
    things = [*ALL, other, sweet]
    lines = [poured("gin-41", f"{spirit} ml"), poured("lime", f"{juice} ml"), poured("thin", f"{syrup} ml")]
    for item, by, name in (("gin-41", "other", "ethanol"), ("thin", "sweet", "sugars"), ("lime", "acid", "acid")):
        body = {**request_of(lines, things), "item": item, "by": by, "hold": [name, "volume"], "helpers": ["water"]}
        found = substituted(SubstituteRequest.model_validate(body), desk())
        if found.unmet:
            continue  # a weaker item can need more room than there is
        amounts = {line.item: float(str(line.amount).split()[0]) for line in found.drink.lines}
        lime_mmol, acid_mmol = 0.04 * 3 / 192.123 + 0.02 * 2 / 134.087, 0.06 * 3 / 192.123
        got = {item: amounts.get(item, 0.0) for item in ("gin-41", "other", "thin", "sweet", "lime", "acid")}
        held = {
            "ethanol": (got["gin-41"] * 0.41 + got["other"] * round(abv, 2) / 100, spirit * 0.41),
            "sugars": (got["thin"] * 0.615 + got["sweet"] * round(sugars, 2) / 100, syrup * 0.615),
            "acid": (got["lime"] * lime_mmol + got["acid"] * acid_mmol, juice * lime_mmol),
        }  # fmt: skip
        assert held[name][0] == pytest.approx(held[name][1], rel=1e-9)
        assert held_figure(found.new, "volume") == pytest.approx(held_figure(found.old, "volume"), rel=1e-9)


def test_a_foam_is_refused_with_its_reason_on_either_side() -> None:
    foam = {"id": "froth", "name": "Froth", "lines": [{"item": "thin", "amount": "100 ml"}], "overrun_percent": 200}
    body = {**request_of(SOUR, ALL), "preparations": [foam], "hold": ["sugars"]}
    with pytest.raises(InputFault) as fault:
        swapped({**body, "item": "thin", "by": "froth"})
    assert (fault.value.code, fault.value.pointer) == ("foam_not_swapped", "/by")
    assert "mostly gas" in fault.value.detail
    poured_foam = {**request_of([*SOUR, poured("froth", "30 ml")], ALL), "preparations": [foam], "hold": ["sugars"]}
    with pytest.raises(InputFault) as fault:
        swapped({**poured_foam, "item": "froth", "by": "rich"})
    assert (fault.value.code, fault.value.pointer) == ("foam_not_swapped", "/item")

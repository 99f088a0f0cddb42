"""Steps: what is kept, what is measured, and what a mass balance refuses. Sums by hand unless a source stands
beside them."""

import pytest

from service.errors import InputFault
from service.mixture import Mixture, grams, of_contents
from service.steps import Step, after_steps
from service.unknown import KNOWN, unknown_of

ETHANOL = 0.789239
NOTHING = {"water": 0.0, "ethanol": 0.0, "sugars": 0.0}


def wine(**more: float) -> Mixture:
    """About a litre of ethanol, water, sugars, acid, protein and fat."""
    contents = {
        "ethanol": 80.0,
        "water": 880.0,
        "sugars": 50.0,
        "carbohydrate": 60.0,
        "acid.citric": 6.0,
        "protein": 8.0,
        "fat": 4.0,
        "saturates": 2.0,
        "salt": 1.0,
        "caffeine_mg": 30.0,
        "sulphites_mg": 90.0,
        **more,
    }
    return of_contents(contents, 0.0, grams(contents), KNOWN)


def after(*steps: Step, start: Mixture | None = None, spare: dict[str, float] | None = None) -> Mixture:
    return after_steps("part", start or wine(), steps, spare or NOTHING)[0]


def code(*steps: Step, start: Mixture | None = None, spare: dict[str, float] | None = None) -> tuple[str, str]:
    with pytest.raises(InputFault) as caught:
        after(*steps, start=start, spare=spare)
    return caught.value.code, caught.value.pointer


def test_each_share_kept_acts_on_its_own_constituents() -> None:
    keeps = {"ethanol": 0.5, "water": 0.9, "sugars": 0.8, "acids": 0.7, "salt": 0.6, "protein": 0.1, "fat": 0.0}
    made = after(Step("clarifying", keeps))
    assert dict(made.contents) == pytest.approx(
        {
            "ethanol": 40,
            "water": 792,
            "sugars": 40,
            "carbohydrate": 48,
            "acid.citric": 4.2,
            "protein": 0.8,
            "fat": 0,
            "saturates": 0,
            "salt": 0.6,
            "caffeine_mg": 30,
            "sulphites_mg": 90,
        }
    )
    assert made.mass_g == pytest.approx(40 + 792 + 48 + 4.2 + 0.8 + 0.6)


def test_what_is_kept_by_no_share_is_no_longer_unknown() -> None:
    unknown = unknown_of((("x", "sugars_g"), ("x", "carbohydrate_g"), ("x", "fat_g"), ("x", "acids_g")))
    start = wine()
    start = Mixture(start.contents, 0.0, start.volume_ml, start.mass_g, unknown)
    assert after(Step("washing", {"fat": 0.0}), start=start).unknown == unknown - {("x", "fat_g")}


@pytest.mark.parametrize("kind", ["distilling", "redistilling"])
def test_a_distillate_leaves_solids_in_the_still_and_its_strength_is_unknown_until_measured(kind: str) -> None:
    made, assumptions = after_steps("part", wine(), [Step(kind)], NOTHING)
    assert made.content("sugars") == made.content("protein") == made.acids_g == made.content("caffeine_mg") == 0.0
    assert made.content("sulphites_mg") == 90.0  # volatile: it may come over
    assert made.abv_percent is None
    assert ("part", "abv_percent") in made.unknown
    assert [row.code for row in assumptions] == ["distillate_without_solids"]


def test_a_measured_strength_of_a_distillate_is_met_exactly() -> None:
    made = after(Step("distilling", measured={"volume_ml": 120.0, "abv_percent": 70.0}))
    assert made.volume_ml == pytest.approx(120.0)
    assert made.abv_percent == pytest.approx(70.0)
    assert made.ethanol_g == pytest.approx(120 * 0.70 * ETHANOL)


def test_a_distillate_cannot_hold_more_ethanol_than_went_in() -> None:
    # 80 g of ethanol are 101.36 ml; 130 ml at 80 % vol would be 104 ml, 2.6 % more
    assert code(Step("distilling", measured={"volume_ml": 130.0, "abv_percent": 80.0})) == (
        "measured_impossible",
        "/steps/0/measured",
    )
    assert after(Step("distilling", measured={"volume_ml": 126.0, "abv_percent": 80.0})).ethanol_g == pytest.approx(
        100.8 * ETHANOL
    )


# What is measured wins, whichever figures are measured.

INTENSIVE = {"brix": 6.0, "abv_percent": 9.0}


@pytest.mark.parametrize("kind", ["reducing", "heating", "drying", "freezing_out"])
@pytest.mark.parametrize(
    "measured",
    [
        {"volume_ml": 800.0},
        {"mass_g": 820.0},
        {"brix": 6.0},
        {"abv_percent": 11.0},
        {"volume_ml": 800.0, "abv_percent": 9.0},
        {"mass_g": 820.0, "abv_percent": 9.0},
        {"volume_ml": 800.0, "brix": 5.5},
        {"mass_g": 820.0, "brix": 5.5},
        {"brix": 6.0, "abv_percent": 9.0},
        {"volume_ml": 800.0, "mass_g": 810.0},
        {"volume_ml": 800.0, "brix": 5.5, "abv_percent": 9.0},
        {"mass_g": 810.0, "volume_ml": 805.0, "brix": 5.5, "abv_percent": 9.0},
    ],
    ids="-".join,
)
def test_every_measured_figure_is_met_where_water_leaves(kind: str, measured: dict[str, float]) -> None:
    made = after(Step(kind, measured=measured))
    assert made.mass_g is not None
    figures = {
        "volume_ml": made.volume_ml,
        "mass_g": made.mass_g,
        "abv_percent": made.abv_percent,
        "brix": 100 * made.content("sugars") / made.mass_g,
    }
    for name, figure in measured.items():
        assert figures[name] == pytest.approx(figure, rel=1e-6), name


@pytest.mark.parametrize(
    "kind", ["straining", "filtering", "centrifuging", "clarifying", "washing", "milk_washing", "fat_washing", "other"]
)
def test_less_volume_or_mass_is_product_lost_where_no_water_leaves(kind: str) -> None:
    start = wine()
    assert start.mass_g is not None
    by_volume = after(Step(kind, {"sugars": 1.0}, {"volume_ml": start.volume_ml / 2}))
    by_mass = after(Step(kind, {"sugars": 1.0}, {"mass_g": start.mass_g / 2}))
    for made in (by_volume, by_mass):
        assert made.abv_percent == pytest.approx(start.abv_percent)
        assert made.ethanol_g == pytest.approx(40.0)
    assert code(Step(kind, measured={"volume_ml": start.volume_ml * 1.03}))[0] == "measured_impossible"


def test_a_mass_and_a_volume_that_do_not_go_together_are_refused() -> None:
    for kind in ("reducing", "straining"):
        assert code(Step(kind, measured={"mass_g": 500.0, "volume_ml": 800.0})) == (
            "measured_impossible",
            "/steps/0/measured",
        )


@pytest.mark.parametrize(
    "measured",
    [
        {"volume_ml": 1100.0},
        {"mass_g": 1100.0},
        {"brix": 4.0},
        {"abv_percent": 8.0},
        {"volume_ml": 900.0, "abv_percent": 13.0},
        {"mass_g": 800.0, "brix": 8.0},
        {"volume_ml": 10.0},
        {"brix": 100.0},
        {"abv_percent": 100.0},
    ],
    ids=str,
)
def test_a_reduction_gives_nothing_that_was_not_there(measured: dict[str, float]) -> None:
    assert code(Step("straining"), Step("reducing", measured=measured)) == ("measured_impossible", "/steps/1/measured")


def test_water_of_strained_out_fruit_may_weaken_the_liquid_and_no_more() -> None:
    spare = {"water": 200.0, "ethanol": 0.0, "sugars": 20.0}
    made = after(Step("straining", measured={"abv_percent": 8.5}), spare=spare)
    assert made.abv_percent == pytest.approx(8.5)
    assert made.ethanol_g == pytest.approx(80.0)
    assert code(Step("straining", measured={"abv_percent": 7.0}), spare=spare)[0] == "measured_impossible"


def test_what_was_unknown_before_is_known_once_measured_and_cannot_be_exceeded() -> None:
    start = wine(ethanol=0.0, sugars=0.0)
    unknown = unknown_of((("x", "abv_percent"), ("x", "sugars_g")))
    start = Mixture(start.contents, 0.0, start.volume_ml, start.mass_g, unknown)
    made = after(Step("straining", measured={"abv_percent": 12.0, "brix": 5.0}), start=start)
    assert made.abv_percent == pytest.approx(12.0)
    assert made.mass_g is not None
    assert 100 * made.content("sugars") / made.mass_g == pytest.approx(5.0)
    assert not made.unknown


def test_mass_and_brix_need_a_known_density() -> None:
    start = wine()
    start = Mixture(start.contents, 5.0, start.volume_ml + 5.0, None, unknown_of((("x", "density_g_per_ml"),)))
    for name in ("mass_g", "brix"):
        assert code(Step("reducing", measured={name: 5.0}), start=start) == (
            "density_unknown",
            f"/steps/0/measured/{name}",
        )


def test_keeping_nothing_leaves_nothing_to_pour() -> None:
    keeps = dict.fromkeys(("ethanol", "water", "sugars", "acids", "salt", "protein", "fat"), 0.0)
    start = of_contents({"ethanol": 10.0, "water": 10.0}, 0.0, 20.0, KNOWN)
    assert code(Step("other", keeps), start=start) == ("preparation_empty", "/steps/0")


# Fermenting.


def must(**more: float) -> Mixture:
    contents = {"water": 900.0, "sugars": 100.0, "carbohydrate": 100.0, "acid.citric": 2.0, **more}
    return of_contents(contents, 0.0, grams(contents), KNOWN)


def test_fermenting_leaves_strength_sugars_and_acids_unknown() -> None:
    made = after(Step("fermenting"), start=must())
    assert made.abv_percent is None
    assert {field for _, field in made.unknown} == {"abv_percent", "sugars_g", "carbohydrate_g", "acids_g"}
    assert made.volume_ml == pytest.approx(must().volume_ml)
    assert made.content("sugars") == 0.0  # what is at least there: yeast may have taken all of it


def test_a_measured_strength_makes_ethanol_in_the_same_volume_and_gas_leaves() -> None:
    made = after(Step("fermenting", measured={"abv_percent": 5.0}), start=must())
    assert made.abv_percent == pytest.approx(5.0)
    assert made.mass_g == pytest.approx(1002.0 - made.ethanol_g * 44.01 / 46.07, rel=1e-4)
    assert ("part", "sugars_g") in made.unknown


def test_sugars_cannot_give_more_ethanol_than_stoichiometry_allows() -> None:
    # C12H22O11 + H2O -> 4 C2H5OH + 4 CO2: 100 g of sucrose give 53.8 g of ethanol, 68.2 ml, in 960 ml 7.1 % vol
    assert after(Step("fermenting", measured={"abv_percent": 7.0}), start=must()).abv_percent == pytest.approx(7.0)
    for measured in (
        {"abv_percent": 7.5},
        {"abv_percent": 5.0, "brix": 6.0},
        {"brix": 30.0, "abv_percent": 0.0},
        {"volume_ml": 1200.0},
    ):
        assert code(Step("fermenting", measured=measured), start=must()) == ("measured_impossible", "/steps/0/measured")


def test_racking_after_fermenting_loses_product() -> None:
    made = after(Step("fermenting", measured={"abv_percent": 5.0, "volume_ml": 480.0}), start=must())
    assert made.volume_ml == pytest.approx(480.0)
    assert made.abv_percent == pytest.approx(5.0)


def test_fermented_then_distilled_is_known_again() -> None:
    made = after(
        Step("fermenting"),
        Step("distilling", measured={"volume_ml": 50.0, "abv_percent": 60.0}),
        start=must(ethanol=30.0),
    )
    assert made.abv_percent == pytest.approx(60.0)
    assert made.volume_ml == pytest.approx(50.0)
    assert not made.missing("abv_percent", "sugars_g", "carbohydrate_g")

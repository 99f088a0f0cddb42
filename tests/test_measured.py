"""What a bar measured, beside the model and in its place: arithmetic by hand, readings made from known liquids."""

from typing import Any

import pytest

from service.physics.ethanol import density_kg_per_m3, mass_fraction_from_abv_percent
from tests.asked import faults
from tests.one_drink import answer_to, poured, request_of, thing

WATER_G_PER_ML = 0.99820123
"""OIML R 22 at 20 C."""

RUM = thing("rum", kind="spirit", abv_percent=40)
SYRUP = thing("syrup", kind="syrup", per_100={"sugars_g": 61.5, "carbohydrate_g": 61.5})
"""1:1 by mass: 614.8 g/l (ICUMSA)."""
SODA = thing("soda", kind="mixer")


def body(measured: Any, lines: Any = None, things: Any = None, **more: Any) -> dict[str, Any]:
    drink = {"method": {"kind": "stirred"}, "measured": measured, **more.pop("drink", {})}
    return request_of(lines or [poured("rum", "60 ml")], things or [RUM, SYRUP, SODA], drink=drink, **more)


def row(found: Any, quantity: str) -> Any:
    return next(row for row in found["measured"]["rows"] if row["quantity"] == quantity)


def test_nothing_measured_leaves_no_section() -> None:
    assert "measured" not in answer_to(request_of([poured("rum", "60 ml")], [RUM]))


def test_a_volume_is_shown_beside_the_model_and_changes_nothing() -> None:
    plain = answer_to(body(None))
    found = answer_to(body({"volume_ml": 90}))
    assert found["serve"] == plain["serve"]
    assert found["alcohol"] == plain["alcohol"]
    assert found["measured"]["used"] is False
    volume = row(found, "volume_ml")
    assert (volume["measured"], volume["model"]) == (90.0, plain["serve"]["liquid_ml"])
    assert volume["difference"] == pytest.approx(90.0 - plain["serve"]["liquid_ml"], abs=0.006)
    # 60 ml of 40 % vol and water to 90 ml: 24 ml of ethanol in 90 is 26.67 % vol; densities 948.05 and 965.85 kg/m3
    # (OIML R 22): 86.93 g less 56.88 g is 30.04 g of water, 30.10 ml.
    assert row(found, "water_ml")["measured"] == pytest.approx(30.10, abs=0.05)


def test_a_mass_is_shown_beside_the_model() -> None:
    # 60 ml of 948.05 kg/m3 is 56.883 g; 86.883 g in all is 30 g of water, 30.054 ml (arithmetic).
    found = answer_to(body({"mass_g": 86.883}))
    assert row(found, "water_ml")["measured"] == pytest.approx(30 / WATER_G_PER_ML, abs=0.01)


def test_a_volume_that_is_used_takes_the_place_of_the_models_water() -> None:
    found = answer_to(body({"volume_ml": 90, "use": True}))
    assert found["measured"]["used"] is True
    assert found["serve"]["liquid_ml"] == 90.0
    assert found["serve"]["dilution"]["model"] == "measured"
    # 60 x 40 / 90 (arithmetic).
    assert found["alcohol"]["abv_percent"] == 26.67
    # The model is still shown, so that the two can be compared.
    assert row(found, "volume_ml")["model"] == answer_to(body(None))["serve"]["liquid_ml"]


def test_a_measured_drink_wins_over_water_that_the_spec_states() -> None:
    stated = {"method": {"kind": "stirred", "water": {"ml": 10}}}
    assert answer_to(body({"volume_ml": 90, "use": True}, drink=stated))["alcohol"]["abv_percent"] == 26.67
    shown = answer_to(body({"volume_ml": 90}, drink=stated))
    assert shown["serve"]["water_added_ml"] == 10.0
    assert row(shown, "water_ml")["model"] == 10.0


def test_the_house_says_so_for_every_drink() -> None:
    assert answer_to(body({"volume_ml": 90}, house={"use_measured": True}))["alcohol"]["abv_percent"] == 26.67
    # What is of no use for that is shown and no more.
    brix = answer_to(body({"brix": 12}, house={"use_measured": True}))
    assert brix["measured"]["used"] is False


def test_what_is_measured_is_of_the_whole_spec() -> None:
    lines = [poured("rum", "120 ml")]
    found = answer_to(body({"volume_ml": 180, "use": True}, lines, drink={"serves": 2}))
    assert found["serve"]["liquid_ml"] == 90.0
    assert row(found, "volume_ml")["measured"] == 90.0


def test_a_measured_volume_makes_known_what_no_model_knows() -> None:
    unknown = answer_to(body(None, drink={"method": {"kind": "built"}}))
    assert unknown["alcohol"]["abv_percent"] is None
    shown = answer_to(body({"volume_ml": 90}, drink={"method": {"kind": "built"}}))
    assert row(shown, "volume_ml")["model"] is None
    assert row(shown, "volume_ml")["difference"] is None
    used = answer_to(body({"volume_ml": 90, "use": True}, drink={"method": {"kind": "built"}}))
    assert used["alcohol"]["abv_percent"] == 26.67


def test_alternatives_take_the_same_measured_water() -> None:
    strong = thing("strong", kind="spirit", abv_percent=50)
    lines = [poured("rum", "60 ml", alternatives=["strong"])]
    found = answer_to(body({"volume_ml": 90, "use": True}, lines, [RUM, strong]))
    low, high = found["alcohol"]["range"]["abv_percent"]
    assert low == 26.67
    assert high == pytest.approx(60 * 50 / 90, abs=0.15)


@pytest.mark.parametrize("t_c", [5.0, 20.0, 30.0])
def test_a_hydrometer_in_a_dry_drink_is_freed_of_temperature(t_c: float) -> None:
    # The density of 30 % vol at each temperature (OIML R 22) is read back as 30 % vol at 20 C.
    density = density_kg_per_m3(mass_fraction_from_abv_percent(30.0), t_c)
    found = answer_to(body({"hydrometer": {"density_kg_per_m3": density, "t_c": t_c}}))
    assert row(found, "abv_percent")["measured"] == pytest.approx(30.0, abs=0.01)


def test_an_alcoholometer_that_reads_cold_reads_low() -> None:
    # 30 % vol at 5 C: 968.87 kg/m3 or so floats it as 24 or 25 % vol does at 20 C (OIML R 22): it comes back as 30.
    density = density_kg_per_m3(mass_fraction_from_abv_percent(30.0), 5.0) / (1 + 25e-6 * 15)
    low, high = 0.0, 60.0
    for _ in range(60):
        middle = (low + high) / 2
        heavy = density_kg_per_m3(mass_fraction_from_abv_percent(middle), 20.0) > density
        low, high = (middle, high) if heavy else (low, middle)
    assert 23 < low < 26
    found = answer_to(body({"hydrometer": {"abv_percent": round(low, 6), "t_c": 5}}))
    assert row(found, "abv_percent")["measured"] == pytest.approx(30.0, abs=0.01)


def test_a_proof_hydrometer_reads_at_60_f() -> None:
    # 80 proof at 60 F is 40.07 % vol at 20 C (27 CFR 5.1 with OIML R 22; the proof route answers the same).
    found = answer_to(body({"hydrometer": {"us_proof": 80, "t_c": 15.5556}}))
    assert row(found, "abv_percent")["measured"] == pytest.approx(40.07, abs=0.02)


def test_sugar_hides_alcohol_and_is_taken_out() -> None:
    lines = [poured("rum", "50 ml"), poured("syrup", "15 ml")]
    plain = answer_to(body(None, lines))
    density = 1000 * plain["serve"]["mass_g"] / plain["serve"]["liquid_ml"]
    found = answer_to(body({"hydrometer": {"density_kg_per_m3": density, "t_c": 20}}, lines))
    strength = row(found, "abv_percent")
    # What the model itself weighs reads as the model's own strength, to the rounding of its mass and volume.
    assert strength["measured"] == pytest.approx(plain["alcohol"]["abv_percent"], abs=0.15)
    assert "dissolved matter" in strength["note"]
    # Without the sugar taken out the same density would be next to no alcohol at all.
    dry = answer_to(body({"hydrometer": {"density_kg_per_m3": density, "t_c": 20}}))
    assert "no strength has this density" in row(dry, "density_kg_per_m3")["note"]


def test_dissolved_matter_that_is_not_stated_is_named() -> None:
    bitters = {"id": "bitters", "name": "Bitters", "kind": "bitters", "abv_percent": 44}
    lines = [poured("rum", "60 ml"), poured("bitters", "1 ml")]
    found = answer_to(body({"hydrometer": {"abv_percent": 25, "t_c": 20}}, lines, [RUM, bitters]))
    assert "bitters is not stated" in row(found, "abv_percent")["note"]


def test_a_dry_drink_may_use_its_strength() -> None:
    density = density_kg_per_m3(mass_fraction_from_abv_percent(25.0), 20.0)
    found = answer_to(body({"hydrometer": {"density_kg_per_m3": density, "t_c": 20}, "use": True}))
    # 24 ml of ethanol at 25 % vol are 96 ml (arithmetic).
    assert found["alcohol"]["abv_percent"] == pytest.approx(25.0, abs=0.01)
    assert found["serve"]["liquid_ml"] == pytest.approx(96.0, abs=0.05)


def test_brix_of_a_drink_with_alcohol_is_not_read_as_sugar() -> None:
    found = row(answer_to(body({"brix": 14.5})), "brix")
    assert (found["measured"], found["model"], found["difference"]) == (14.5, None, None)
    assert "cannot be read as sugar" in found["note"]


def test_brix_of_a_drink_without_alcohol_is_its_dissolved_matter() -> None:
    # 50 ml of 1:1 syrup is 30.75 g of sugar in 61.48 g; with 50 ml of water, 49.91 g: 27.6 Brix (ICUMSA).
    lines = [poured("syrup", "50 ml"), poured("soda", "50 ml")]
    found = row(answer_to(body({"brix": 27.0}, lines, drink={"method": {"kind": "none"}})), "brix")
    assert found["model"] == pytest.approx(27.6, abs=0.05)
    assert found["difference"] == pytest.approx(-0.6, abs=0.05)


def refusal(measured: Any, lines: Any = None, **more: Any) -> list[tuple[str, str]]:
    return [(fault.code, fault.pointer) for fault in faults(body(measured, lines, **more))]


@pytest.mark.parametrize(
    ("measured", "expected"),
    [
        ({"volume_ml": 50, "use": True}, ("measured_impossible", "/drink/measured/volume_ml")),
        ({"volume_ml": 400, "use": True}, ("measured_impossible", "/drink/measured/volume_ml")),
        ({"mass_g": 50, "use": True}, ("measured_impossible", "/drink/measured/mass_g")),
        ({"mass_g": 900, "use": True}, ("measured_impossible", "/drink/measured/mass_g")),
        (
            {"hydrometer": {"abv_percent": 60, "t_c": 20}, "use": True},
            ("measured_impossible", "/drink/measured/hydrometer"),
        ),
        ({"brix": 5, "use": True}, ("measured_incomplete", "/drink/measured")),
    ],
)
def test_what_cannot_be_is_refused_where_it_is_to_be_used(measured: Any, expected: tuple[str, str]) -> None:
    assert refusal(measured) == [expected]


def test_density_alone_is_not_used_in_a_sweet_drink() -> None:
    lines = [poured("rum", "50 ml"), poured("syrup", "15 ml")]
    measured = {"hydrometer": {"density_kg_per_m3": 1000, "t_c": 20}}
    assert refusal({**measured, "use": True}, lines) == [("measured_incomplete", "/drink/measured")]
    assert answer_to(body(measured, lines, house={"use_measured": True}))["measured"]["used"] is False


@pytest.mark.parametrize("density", [{}, {"density_g_per_ml": 1.08}])
def test_density_is_not_used_where_nobody_says_what_is_dissolved(density: dict[str, float]) -> None:
    """Contract, arithmetic 1. A liqueur of 20 % vol may hold nothing or 300 g/l: 6 g of sugar in some 120 ml of drink,
    which add some 19 kg/m3, as much as from 38 to 24 % vol (OIML R 22: 951.2 and 969.2). With the sugar taken as
    nothing the reading itself stood as the strength of the drink."""
    liqueur = {"id": "liqueur", "name": "Liqueur", "kind": "liqueur", "abv_percent": 20, **density}
    lines, things = [poured("rum", "60 ml"), poured("liqueur", "20 ml")], [RUM, liqueur]
    measured = {"hydrometer": {"abv_percent": 24, "t_c": 20}}
    found = faults(body({**measured, "use": True}, lines, things))
    assert [(fault.code, fault.pointer) for fault in found] == [("measured_incomplete", "/drink/measured")]
    assert "dissolved in liqueur is not stated" in found[0].detail
    held = answer_to(body(measured, lines, things, house={"use_measured": True}))
    assert held["measured"]["used"] is False


def test_a_drink_that_is_filled_is_not_told_by_its_volume() -> None:
    lines = [poured("rum", "50 ml"), poured("soda", "fill", role="top")]
    drink = {"serve": {"glass_ml": 200}}
    assert refusal({"volume_ml": 200, "use": True}, lines, drink=drink) == [("measured_incomplete", "/drink/measured")]


def test_what_sticks_to_the_tin_is_no_fault() -> None:
    # 1.7 % less than was poured: no water, and the strength as poured.
    found = answer_to(body({"volume_ml": 59, "use": True}))
    assert (found["serve"]["water_added_ml"], found["alcohol"]["abv_percent"]) == (0.0, 40.0)


@pytest.mark.parametrize(
    "measured",
    [
        {}, {"use": True}, {"volume_ml": 0}, {"volume_ml": -5}, {"brix": 101}, {"sugar": 4},
        {"hydrometer": {"t_c": 20}}, {"hydrometer": {"abv_percent": 20}},
        {"hydrometer": {"abv_percent": 20, "us_proof": 40, "t_c": 20}}, {"hydrometer": {"abv_percent": 20, "t_c": 60}},
        {"hydrometer": {"density_kg_per_m3": 10, "t_c": 20}},
    ],
)  # fmt: skip
def test_a_measurement_that_says_nothing_or_too_much_is_refused(measured: Any) -> None:
    with pytest.raises(ValueError, match="measured"):
        answer_to(body(measured))


def test_bands_take_what_was_measured() -> None:
    found = answer_to(body({"volume_ml": 90, "use": True}, bands=True))
    water = next(row for row in found["alcohol"]["band"]["abv_percent"]["contributions"] if row["input"] == "water")
    assert (water["tool"], water["half_width"]) == ("measured", 3.0)

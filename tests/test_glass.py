"""The glass: what ice displaces, what fills it to its line, how high everything stands in it; sums by hand."""

import pytest
from msgspec.structs import replace

from service.errors import InputFault
from service.glass import LEAST_ROOM_ML, Glass, displaced_ml, filled, washline_percent
from service.preparation import Warn
from tests.one_drink import asked, poured, thing
from tests.poured import WATER_G_PER_ML, line_of, liquid, mixed

TONIC = liquid("tonic")
TO_FILL = line_of(TONIC, None, "fill", role="top", number=3, pointer="/drink/lines/3")


def room_ml(glass: Glass, there_ml: float, displaced: float = 0.0) -> float:
    return filled(TO_FILL, there_ml, glass, displaced)[3].base


def test_floating_ice_displaces_its_own_mass_of_water() -> None:
    # Archimedes; water at 20 C is 0.99820123 g/ml (OIML R 22), so 100 g take the room of 100.18 ml.
    assert displaced_ml(Glass(ice_kind="cubes", ice_g=100.0)) == pytest.approx(100 / WATER_G_PER_ML)
    assert displaced_ml(Glass(ice_kind="cubes", ice_g=100.0)) == pytest.approx(100.18, abs=0.001)


def test_no_ice_displaces_nothing_and_ice_nobody_weighed_is_unknown() -> None:
    assert displaced_ml(Glass()) == 0.0
    assert displaced_ml(Glass(ice_kind="none", ice_g=50.0)) == 0.0
    assert displaced_ml(Glass(ice_kind="block")) is None


@pytest.mark.parametrize(
    ("glass", "there_ml", "displaced", "room"),
    [
        # 300 to the line, less 100 of ice, less 80 that is there.
        (Glass(350.0, 300.0), 80.0, 100.0, 120.0),
        # No line is marked: to the brim.
        (Glass(350.0), 80.0, 100.0, 170.0),
        # A line without a brim will do.
        (Glass(None, 300.0), 0.0, 0.0, 300.0),
    ],
)
def test_fill_is_the_line_less_ice_less_what_is_there(
    glass: Glass, there_ml: float, displaced: float, room: float
) -> None:
    assert room_ml(glass, there_ml, displaced) == pytest.approx(room)


def test_a_foam_fills_with_its_gas() -> None:
    # 60 ml of room hold 20 ml of a liquid that stands three times as high.
    foam = replace(TONIC, gas_factor=3.0)
    made = filled(replace(TO_FILL, substance=foam), 40.0, Glass(100.0), 0.0)
    assert made[3].base == pytest.approx(20.0)


def test_a_fill_of_unknown_liquid_there_is_not_told() -> None:
    assert filled(TO_FILL, None, Glass(300.0), 0.0) == {}


@pytest.mark.parametrize(
    ("displaced", "there_ml", "code", "pointer"),
    [
        (None, 50.0, "ice_mass_missing", "/drink/serve/ice"),
        # Ice that was not weighed is the first thing to mend, whatever else is not known.
        (None, None, "ice_mass_missing", "/drink/serve/ice"),
        (0.0, 300.0, "fill_no_room", "/drink/lines/3/amount"),
        (250.0, 60.0, "fill_no_room", "/drink/lines/3/amount"),
        (0.0, 300.0 - LEAST_ROOM_ML / 2, "fill_no_room", "/drink/lines/3/amount"),
    ],
)
def test_a_fill_that_cannot_be_is_a_fault_at_its_place(
    displaced: float | None, there_ml: float | None, code: str, pointer: str
) -> None:
    with pytest.raises(InputFault) as fault:
        filled(TO_FILL, there_ml, Glass(300.0), displaced)
    assert (fault.value.code, fault.value.pointer) == (code, pointer)


def test_what_is_kept_by_mass_fills_nothing() -> None:
    with pytest.raises(InputFault) as fault:
        filled(replace(TO_FILL, substance=replace(TONIC, basis="g")), 0.0, Glass(300.0), 0.0)
    assert fault.value.code == "density_unknown"


def test_the_wash_line_counts_liquid_foam_and_ice() -> None:
    warnings: list[Warn] = []
    drink = mixed((liquid(), 120.0))
    # 120 of liquid, 10 of it in a foam of 30: 110 + 30 + 40 of ice in 240.
    share = washline_percent(drink, 30.0, 10.0, 40.0, Glass(240.0), warnings)
    assert share == pytest.approx(100 * 180 / 240)
    assert warnings == []


def test_a_wash_line_over_the_brim_is_given_with_a_warning() -> None:
    warnings: list[Warn] = []
    assert washline_percent(mixed((liquid(), 120.0)), 0.0, 0.0, 0.0, Glass(100.0), warnings) == pytest.approx(120.0)
    assert [warning.code for warning in warnings] == ["glass_overflows"]
    for glass_ml in (100.001, 99.85):
        assert washline_percent(mixed((liquid(), 100.0)), 0.0, 0.0, 0.0, Glass(glass_ml), warnings) is not None
    assert len(warnings) == 1


@pytest.mark.parametrize(("weak", "strong"), [(0, 20), (12, 0), (20, 5), (40, 0)])
@pytest.mark.parametrize("ml", [20, 50, 100])
def test_a_glass_filled_to_its_brim_does_not_overflow(weak: float, strong: float, ml: int) -> None:
    # Weak ethanol and water take up a little more together than apart; a fill is told by the volumes apart.
    lines = [poured("weak", f"{ml} ml"), poured("strong", "fill", role="top")]
    things = [thing("weak", abv_percent=weak), thing("strong", abv_percent=strong)]
    found = asked(lines, things, drink={"serve": {"glass_ml": 200}})
    assert "glass_overflows" not in {row["code"] for row in found["warnings"]}
    assert found["serve"]["washline_percent"] == pytest.approx(100.0, abs=1.5)


@pytest.mark.parametrize("lacking", ["liquid", "ice", "glass"])
def test_a_wash_line_that_lacks_something_is_unknown(lacking: str) -> None:
    drink = None if lacking == "liquid" else mixed((liquid(), 100.0))
    displaced = None if lacking == "ice" else 0.0
    glass = Glass(None if lacking == "glass" else 200.0)
    assert washline_percent(drink, 0.0, 0.0, displaced, glass, []) is None


def test_a_glass_too_small_for_any_figure_has_no_wash_line() -> None:
    assert washline_percent(mixed((liquid(), 1e300)), 0.0, 0.0, 0.0, Glass(1e-300), []) is None

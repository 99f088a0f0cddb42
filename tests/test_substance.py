"""A bought item becomes a substance: what is stated, what is computed, what is assumed, what is refused."""

import pytest

from service.errors import InputFault
from service.item import Composition, Item, Piece
from service.mixture import Part, grams, mixture
from service.substance import NUTRIENTS, substance
from tests.asked import answered, body_of

ETHANOL = 0.789239


def item(item_id: str = "thing", **facts: object) -> Item:
    per_100 = facts.pop("per_100", None)
    compositions = () if per_100 is None else per_100 if isinstance(per_100, tuple) else (per_100,)
    return Item(item_id, item_id, per_100=compositions, **facts)  # type: ignore[arg-type]  # the facts are checked by the call


def per(
    basis: str, acids: dict[str, float] | None = None, polyols: dict[str, float] | None = None, **amounts: float
) -> Composition:
    return Composition(basis, amounts, acids, polyols)


def code(thing: Item) -> tuple[str, str]:
    with pytest.raises(InputFault) as caught:
        substance(thing)
    return caught.value.code, caught.value.pointer


@pytest.mark.parametrize(("abv", "density"), [(20, 0.97356), (30, 0.96221), (40, 0.94805)])
def test_a_spirits_density_follows_from_its_strength(abv: float, density: float) -> None:
    # OIML R 22 / pharmacopoeia table at 20 C, secondary
    made = substance(item(kind="spirit", abv_percent=abv))
    assert made.density_g_per_ml == pytest.approx(density, abs=1e-5)
    assert made.contents["ethanol"] == pytest.approx(abv / 100 * ETHANOL)
    assert not made.unknown
    assert [row.code for row in made.assumptions] == ["spirit_without_solids"]


def test_a_stated_density_is_used_and_the_rest_is_water() -> None:
    made = substance(
        item(kind="liqueur", abv_percent=25, density_g_per_ml=1.05, per_100=per("ml", sugars_g=25, carbohydrate_g=25))
    )
    assert made.density_g_per_ml == 1.05
    assert 100 * made.contents["water"] == pytest.approx(105 - 25 * ETHANOL - 25)
    assert mixture([Part(made, 30.0)]).volume_ml == pytest.approx(30.0)  # alone it keeps the volume it is poured by
    assert mixture([Part(made, 30.0)]).abv_percent == pytest.approx(25.0)


def test_strength_and_sugar_give_the_density_of_a_liqueur() -> None:
    # 25 % vol and 250 g/l: Tabarie (OIV-MA-AS2-03B) 0.96816 + 1.09542 - 0.99820 = 1.0654,
    # secondary; the model lies within 0.003
    made = substance(item(kind="liqueur", abv_percent=25, per_100=per("ml", sugars_g=25, carbohydrate_g=25)))
    assert made.density_g_per_ml == pytest.approx(1.0654, abs=0.003)


def test_composition_by_mass_is_solved_with_the_density_it_gives() -> None:
    # 50 Brix is 1.22965 g/ml (ICUMSA SPS-4, 1998), secondary
    made = substance(item(kind="syrup", per_100=per("g", sugars_g=50, carbohydrate_g=50)))
    assert made.density_g_per_ml == pytest.approx(1.22965, abs=2e-5)
    assert 1000 * made.contents["sugars"] == pytest.approx(614.8, abs=0.1)


def test_two_tables_of_different_basis_are_one_composition() -> None:
    tables = (per("g", carbohydrate_g=40), per("ml", sugars_g=30))
    made = substance(item(kind="syrup", density_g_per_ml=1.2, per_100=tables))
    assert 100 * made.contents["carbohydrate"] == pytest.approx(48.0)
    assert 100 * made.contents["sugars"] == pytest.approx(30.0)


def test_strength_alone_assumes_ethanol_and_water() -> None:
    made = substance(item(kind="bitters", abv_percent=40))
    assert made.density_g_per_ml == pytest.approx(0.94805, abs=1e-5)
    assert [row.code for row in made.assumptions] == ["density_assumed"]
    assert {name for _, name in made.unknown} >= set(NUTRIENTS)


def test_an_assumed_density_is_a_warning_too() -> None:
    things = [{"id": "own", "name": "Own", "kind": "bitters", "abv_percent": 40}]
    answer = answered(body_of([{"item": "own", "amount": "2 dashes"}], ingredients=things))
    assert [(row["code"], row["item"]) for row in answer["warnings"]] == [("density_assumed", "own")]


def test_dissolved_matter_that_is_not_stated_counts_nothing_in_the_density_and_says_so() -> None:
    made = substance(item(kind="liqueur", abv_percent=40, per_100=per("ml", salt_g=0)))
    assert made.density_g_per_ml == pytest.approx(0.94805, abs=1e-5)
    assert "dissolved_matter_unknown" in [row.code for row in made.assumptions]
    assert ("thing", "sugars_g") in made.unknown


def test_nothing_known_mixes_at_its_volume_with_mass_unknown() -> None:
    made = substance(item())
    assert made.density_g_per_ml is None
    assert {("thing", "abv_percent"), ("thing", "density_g_per_ml"), ("thing", "sugars_g")} <= made.unknown
    mix = mixture([Part(made, 30.0), Part(substance(item("gin", kind="spirit", abv_percent=40)), 30.0)])
    assert mix.volume_ml == pytest.approx(60.0)
    assert mix.mass_g is None
    assert mix.abv_percent is None


@pytest.mark.parametrize("kind", ["juice", "syrup", "dairy", "fruit", "mixer"])
def test_no_strength_of_a_kind_without_alcohol_is_zero_and_says_so(kind: str) -> None:
    made = substance(item(kind=kind, per_100=per("ml", sugars_g=5)))
    assert ("thing", "abv_percent") not in made.unknown
    assert "no_alcohol_by_kind" in [row.code for row in made.assumptions]


@pytest.mark.parametrize("kind", ["other", "wine", "beer", "liqueur", "spirit", "bitters", "fortified"])
def test_no_strength_of_any_other_kind_is_unknown(kind: str) -> None:
    assert ("thing", "abv_percent") in substance(item(kind=kind, per_100=per("ml", sugars_g=5))).unknown


def test_a_key_left_out_is_unknown_and_a_zero_is_not() -> None:
    made = substance(item(kind="juice", per_100=per("ml", acids={}, sugars_g=0.0)))
    fields = {name for _, name in made.unknown}
    assert "sugars_g" not in fields
    assert "acids_g" not in fields
    assert {"carbohydrate_g", "protein_g", "fat_g", "fibre_g", "polyols_g"} <= fields


def test_a_solid_holds_water_as_the_rest_of_100_g() -> None:
    made = substance(item(kind="fruit", per_100=per("g", acids={"citric": 4}, sugars_g=6, carbohydrate_g=8, fibre_g=2)))
    assert made.basis == "g"
    assert 100 * made.contents["water"] == pytest.approx(86.0)


def test_a_solid_of_unknown_composition_stays_undissolved_and_says_so() -> None:
    made = substance(item(kind="spice"))
    assert made.undissolved
    assert not made.contents
    assert [row.code for row in made.assumptions] == ["no_alcohol_by_kind", "solid_not_dissolved"]


def test_sugars_and_starch_of_different_items_never_cancel() -> None:
    """Sugars without a stated carbohydrate once took the place of another item's starch in the volume."""
    sweet = substance(item("sweet", kind="additive", per_100=per("g", sugars_g=100)))
    starch = substance(item("starch", kind="additive", per_100=per("g", sugars_g=0, carbohydrate_g=100)))
    mix = mixture([Part(sweet, 50.0), Part(starch, 50.0)])
    assert grams(mix.contents) == pytest.approx(100.0)
    apart = mixture([Part(sweet, 50.0)]).volume_ml + mixture([Part(starch, 50.0)]).volume_ml
    assert mix.volume_ml == pytest.approx(apart)


@pytest.mark.parametrize(
    "thing",
    [
        item(kind="spirit", abv_percent=100, per_100=per("ml", sugars_g=10)),
        item(kind="syrup", per_100=per("ml", sugars_g=180)),
        item(kind="syrup", per_100=per("g", sugars_g=110)),
        item(kind="additive", per_100=per("g", sugars_g=60, carbohydrate_g=60, fibre_g=60)),
        item(kind="liqueur", abv_percent=50, density_g_per_ml=0.5, per_100=per("ml", sugars_g=30)),
        item(kind="other", abv_percent=0, per_100=per("ml", acids={"citric": 190.0})),
    ],
    ids=["pure-and-sweet", "too-sweet-a-volume", "over-100-g-liquid", "over-100-g-solid", "too-light", "too-sour"],
)
def test_what_cannot_all_hold_is_refused(thing: Item) -> None:
    assert code(thing) == ("composition_exceeds_mass", "")


def test_a_part_cannot_exceed_its_whole() -> None:
    assert code(item(per_100=per("ml", sugars_g=10, carbohydrate_g=5))) == (
        "composition_inconsistent",
        "/per_100/sugars_g",
    )
    assert code(item(per_100=per("ml", saturates_g=3, fat_g=1))) == ("composition_inconsistent", "/per_100/saturates_g")
    substance(item(kind="juice", per_100=per("ml", sugars_g=4.6, carbohydrate_g=4.5)))  # both were rounded


def test_a_density_of_next_to_nothing_is_refused() -> None:
    assert code(item(density_g_per_ml=5e-324)) == ("density_too_low", "/density_g_per_ml")


@pytest.mark.parametrize("density", [0.01, 0.5, 5.0])
def test_any_other_density_is_taken_as_stated(density: float) -> None:
    made = substance(item(kind="juice", density_g_per_ml=density))
    mix = mixture([Part(made, 100.0)])
    assert mix.volume_ml == pytest.approx(100.0)
    assert mix.mass_g == pytest.approx(100.0 * density)


def test_pure_ethanol_is_one_hundred_percent() -> None:
    assert mixture([Part(substance(item(kind="spirit", abv_percent=100)), 100.0)]).abv_percent == pytest.approx(100.0)


def test_ice_is_water_by_mass() -> None:
    mix = mixture([Part(substance(item(kind="ice")), 100.0)])
    assert mix.contents["water"] == pytest.approx(mix.mass_g)
    assert mix.abv_percent == 0.0


def test_polyols_count_as_carbohydrate_once() -> None:
    made = substance(item(kind="additive", per_100=per("g", polyols={"erythritol": 100.0})))
    assert grams(made.contents) == pytest.approx(1.0)
    assert made.contents["carbohydrate"] == pytest.approx(1.0)


def test_pieces_and_masses_come_along() -> None:
    made = substance(item(kind="fruit", each_g=60, pieces={"wheel": Piece(share=0.125)}))
    assert made.each_g == 60
    assert made.pieces["wheel"].share == 0.125

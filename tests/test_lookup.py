"""What an id may name: the request first, then the catalogue, then the embedded reference."""

from typing import Any

import pytest

from schemas.ingredient import Ingredient
from schemas.preparation import Preparation
from service.errors import InputFault
from service.item import AllergenEntry, Composition, Item, Piece
from service.lookup import EMPTY_CATALOGUE, Catalogue, Lookup, item_of, outputs_of
from service.reference import reference

EMBEDDED = "gin-london-dry-40"


def ingredient(item_id: str = "thing", **facts: Any) -> Ingredient:
    return Ingredient.model_validate({"id": item_id, "name": "Mine", **facts})


def part(part_id: str = "part", **more: Any) -> Preparation:
    lines = [{"item": "water", "amount": "10 ml"}]
    return Preparation.model_validate({"id": part_id, "name": "Part", "lines": lines, **more})


def outputs(*names: str) -> list[dict[str, str]]:
    return [{"id": name, "amount": "10 ml", "cost_share_percent": "50"} for name in names]


def lookup(*things: Any, catalogue: Catalogue = EMPTY_CATALOGUE) -> Lookup:
    return Lookup(
        [one for one in things if isinstance(one, Ingredient)],
        [one for one in things if isinstance(one, Preparation)],
        catalogue,
        reference(),
    )


STORED = Catalogue({EMBEDDED: Item(EMBEDDED, "Stored", origin="catalogue")}, {"part": part(name="Stored")}, {})


def test_an_item_is_taken_from_the_request_then_the_catalogue_then_the_reference() -> None:
    mine = lookup(ingredient(EMBEDDED), catalogue=STORED).item(EMBEDDED)
    stored = lookup(catalogue=STORED).item(EMBEDDED)
    embedded = lookup().item(EMBEDDED)
    assert mine is not None and stored is not None and embedded is not None
    assert [(one.name, one.origin) for one in (mine, stored)] == [("Mine", "request"), ("Stored", "catalogue")]
    assert (embedded.origin, embedded.abv_percent) == ("reference", 40)


def test_an_item_nobody_holds_is_none_and_has_nearest_ids() -> None:
    assert lookup().item("gin-london-dry-4o") is None
    assert EMBEDDED in lookup().nearest("gin-london-dry-4o")
    assert "my-own-gin" in lookup(ingredient("my-own-gin")).nearest("my-own-ginn")
    assert "my-own-part" in lookup(part("my-own-part")).nearest("my-own-prat")


def test_a_preparation_is_taken_from_the_request_then_the_catalogue() -> None:
    mine, stored = lookup(part(), catalogue=STORED).preparation("part"), lookup(catalogue=STORED).preparation("part")
    assert mine is not None and stored is not None
    assert (mine.origin, mine.pointer) == ("request", "/preparations/0")
    assert (stored.origin, stored.pointer, stored.preparation.name) == ("catalogue", "", "Stored")
    assert lookup().preparation("part") is None


def test_an_ingredient_of_the_request_stands_before_a_stored_preparation() -> None:
    found = lookup(ingredient("part"), catalogue=STORED)
    assert found.preparation("part") is None
    assert found.item("part") is not None


def test_a_product_is_known_by_its_preparation() -> None:
    found = lookup(part(outputs=outputs("juice", "peel"))).output("peel")
    assert found is not None
    assert (found[0], found[1].id) == ("part", "peel")
    assert lookup().output("peel") is None


def test_where_an_item_stands_in_the_request() -> None:
    found = lookup(ingredient("one"), ingredient("two"))
    assert (found.pointer("two"), found.pointer(EMBEDDED)) == ("/ingredients/1", "")


@pytest.mark.parametrize(
    ("things", "pointer"),
    [
        ((ingredient("one"), ingredient("one")), "/ingredients/1/id"),
        ((part("one"), part("one")), "/preparations/1/id"),
        ((ingredient("one"), part("one")), "/preparations/0/id"),
        ((part("one", outputs=outputs("a", "b")), part("a")), "/preparations/1/id"),
        ((part("one", outputs=outputs("a", "a")),), "/preparations/0/outputs/1/id"),
        ((part("a"), part("one", **{"yield": {"outputs": outputs("b", "a")}})), "/preparations/1/yield/outputs/1/id"),
    ],
)
def test_an_id_used_twice_is_refused_at_the_second(things: tuple[Any, ...], pointer: str) -> None:
    with pytest.raises(InputFault) as fault:
        lookup(*things)
    assert (fault.value.code, fault.value.pointer) == ("duplicate_id", pointer)


def test_an_entry_beside_a_product_of_its_id_gives_its_composition_and_is_no_duplicate() -> None:
    assert lookup(ingredient("juice"), part(outputs=outputs("juice", "peel"))).item("juice") is not None


YIELDED: dict[str, Any] = {"yield": {"outputs": outputs("a", "b")}}
LOST: dict[str, Any] = {"yield": {"loss_percent": 1}}


def test_outputs_of_either_place() -> None:
    assert [one.id for one in outputs_of(part(outputs=outputs("a", "b")))] == ["a", "b"]
    assert [one.id for one in outputs_of(part("part", **YIELDED))] == ["a", "b"]
    assert outputs_of(part("part", **LOST)) == outputs_of(part()) == ()


def test_every_field_of_an_ingredient_becomes_one_of_the_item() -> None:
    per_100 = {
        "basis": "g", "sugars_g": 10, "carbohydrate_g": 12, "protein_g": 0, "acids_g": {"citric": 1},
        "polyols_g": {"sorbitol": 2}, "caffeine_mg": 3,
    }  # fmt: skip
    made = item_of(
        ingredient(
            kind="fruit", abv_percent="1.5", density_g_per_ml=1.05, per_100=per_100, process=["fermented"],
            pieces={"each_g": 60, "wheel": {"share": 0.1}, "peel": {"g": 2}},
            allergens={"nuts": "may_contain", "wheat": {"state": "contains", "process": "distilled"}},
            allergens_declared="complete", animal_origin=["honey"], open_life_days=3, bottle_residue_ml=5,
        )
    )  # fmt: skip
    amounts = {"sugars_g": 10.0, "carbohydrate_g": 12.0, "protein_g": 0.0, "caffeine_mg": 3.0}
    assert made == Item(
        id="thing", name="Mine", kind="fruit", abv_percent=1.5, density_g_per_ml=1.05,
        per_100=(Composition("g", amounts, {"citric": 1.0}, {"sorbitol": 2.0}),), process=("fermented",),
        allergens={"nuts": AllergenEntry("may_contain"), "wheat": AllergenEntry("contains", "distilled")},
        allergens_declared="complete", animal_origin=("honey",), each_g=60.0,
        pieces={"wheel": Piece(None, 0.1), "peel": Piece(2.0, None)}, open_life_days=3, bottle_residue_ml=5.0,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("stated", "origins"),
    [({}, None), ({"animal_origin": "unknown"}, ("unknown",)), ({"animal_origin": "none"}, ()),
     ({"animal_origin": ["egg", "milk"]}, ("egg", "milk"))],
)  # fmt: skip
def test_an_origin_said_to_be_unknown_is_not_one_left_out(stated: dict[str, Any], origins: Any) -> None:
    assert item_of(ingredient(**stated)).animal_origin == origins


@pytest.mark.parametrize(
    ("stated", "polyols"),
    [({}, None), ({"polyols_g": 0}, {}), ({"polyols_g": 3}, {"unspecified": 3.0}), ({"polyols_g": {}}, {})],
)
def test_a_sum_of_polyols_is_of_an_unspecified_one_and_left_out_is_unknown(
    stated: dict[str, Any], polyols: dict[str, float] | None
) -> None:
    [row] = item_of(ingredient(per_100={"basis": "ml", **stated})).per_100
    assert (row.polyols_g, row.acids_g) == (polyols, None)

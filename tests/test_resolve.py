"""The way in: amounts as they are read, parts, pieces, alternatives, and each fault at the caller's own field."""

from typing import Any

import pytest

from tests.asked import answered, body_of, evaluation, preparation, refused

GIN = {"item": "gin-london-dry-40", "amount": "60 ml"}
THING = {"id": "thing", "name": "Thing"}


def volumes(lines: list[dict[str, Any]], **more: Any) -> list[Any]:
    return [row["volume_ml"] for row in answered(body_of(lines, **more))["lines"]]


def test_an_ounce_is_of_mass_where_the_item_is_kept_by_mass() -> None:
    lines = [{"item": "white-sugar", "amount": "1 oz"}, {"item": "gin-london-dry-40", "amount": "1 oz"}]
    rows = answered(body_of(lines))["lines"]
    assert rows[0]["mass_g"] == pytest.approx(28.35, abs=0.005)
    assert rows[1]["volume_ml"] == pytest.approx(29.57, abs=0.005)


def test_an_offer_by_mass_alone_makes_an_ounce_one_of_mass() -> None:
    honey = {"id": "own", "name": "Own", "kind": "other", "density_g_per_ml": 1.4, "abv_percent": 0}
    offer = {
        "id": "o",
        "item": "own",
        "supplier": "S",
        "pack": {"size": "1 kg"},
        "price": {"amount": "9.00", "currency": "EUR"},
    }
    by_volume = {**offer, "id": "v", "pack": {"size": "1 l"}}
    for offers, mass in (([], 29.5735 * 1.4), ([offer], 28.3495), ([offer, by_volume], 29.5735 * 1.4)):
        answer = answered(body_of([{"item": "own", "amount": "1 oz"}], ingredients=[honey], offers=offers))
        assert answer["lines"][0]["mass_g"] == pytest.approx(mass, abs=0.006)


@pytest.mark.parametrize("kind", ["fruit", "nut", "spice", "acid", "additive", "egg", "ice"])
def test_kinds_kept_by_mass_are_read_by_mass_unless_a_density_is_stated(kind: str) -> None:
    thing = {**THING, "kind": kind, "abv_percent": 0, "per_100": {"basis": "g", "sugars_g": 0}}
    line = {"item": "thing", "amount": "1 oz"}
    assert "g" in answered(body_of([line], ingredients=[thing]))["lines"][0]["read_as"].split()
    dense = {**thing, "density_g_per_ml": 1.1}
    assert "ml" in answered(body_of([line], ingredients=[dense]))["lines"][0]["read_as"].split()


def test_other_is_a_liquid() -> None:
    assert volumes([{"item": "thing", "amount": "1 oz"}], ingredients=[THING]) == [pytest.approx(29.57, abs=0.005)]


def test_parts_share_out_their_total() -> None:
    lines = [
        {"item": "gin-london-dry-40", "amount": "2 parts"},
        {"item": "water", "amount": "1 part"},
        {"item": "water", "amount": "5 ml"},
    ]
    assert volumes(lines, parts_total="90 ml") == [60.0, 30.0, 5.0]
    assert volumes(lines, parts_total="90 ml", serves=3) == [20.0, 10.0, pytest.approx(1.67)]
    rows = answered(body_of(lines, parts_total="3 oz"))["lines"]
    assert rows[0]["read_as"] == "2 parts = 59.15 ml"


def test_faults_of_parts_have_their_place() -> None:
    lines = [{"item": "gin-london-dry-40", "amount": "2 parts"}]
    assert refused(body_of(lines)) == [("parts_total_missing", "/drink/parts_total")]
    assert refused(body_of(lines, parts_total="90 g")) == [("parts_total_not_volume", "/drink/parts_total")]
    assert refused(body_of(lines, parts_total="3 parts")) == [("parts_total_not_volume", "/drink/parts_total")]
    assert refused(body_of(lines, parts_total="many"))[0][1] == "/drink/parts_total"
    assert refused(body_of([GIN], parts_total="many"))[0][1] == "/drink/parts_total"
    part = preparation(lines, parts_total="fill")
    assert refused(body_of([{"item": "part", "amount": "1 ml"}], preparations=[part])) == [
        ("parts_total_not_volume", "/preparations/0/parts_total")
    ]


def test_all_faulty_lines_are_told_at_once() -> None:
    lines: list[dict[str, Any]] = [
        {"item": "gin-london-dry-40", "amount": "0 ml"},
        GIN,
        {"item": "lime", "amount": "3 blobs"},
        {"item": "water", "amount": {"value": 2, "unit": "x"}},
    ]
    assert [pointer for _, pointer in refused(body_of(lines))] == [
        "/drink/lines/0/amount",
        "/drink/lines/2/amount",
        "/drink/lines/3/amount/unit",
    ]


def test_an_item_of_unknown_density_is_mixed_by_volume_and_refused_by_mass() -> None:
    line = {"item": "thing", "amount": "30 g"}
    assert refused(body_of([GIN, line], ingredients=[THING])) == [("density_unknown", "/drink/lines/1/amount")]
    answer = answered(body_of([GIN, {**line, "amount": "30 ml"}], ingredients=[THING]))
    assert answer["serve"]["liquid_ml"] == pytest.approx(90.0)
    assert answer["serve"]["mass_g"] is None
    assert answer["nutrition"]["per_serve"]["energy_kcal"] is None


def test_garnishes_and_consumables_need_no_mass() -> None:
    for role in ("garnish", "consumable"):
        answer = answered(body_of([GIN, {"item": "thing", "amount": "1 each", "role": role}], ingredients=[THING]))
        assert answer["lines"][1]["mass_g"] is None
    assert refused(body_of([GIN, {"item": "thing", "amount": "1 each"}], ingredients=[THING])) == [
        ("piece_mass_unknown", "/drink/lines/1/amount")
    ]


def test_pieces_are_shares_or_masses() -> None:
    fruit = {
        **THING,
        "kind": "fruit",
        "pieces": {"each_g": 80, "wheel": {"share": 0.125}, "leaf": {"g": 0.5}},
        "per_100": {"basis": "g", "sugars_g": 0},
    }
    lines = [{"item": "thing", "amount": amount} for amount in ("1 each", "2 wheels", "4 leaves", "1/2 each")]
    assert [row["mass_g"] for row in answered(body_of(lines, ingredients=[fruit]))["lines"]] == [80.0, 20.0, 2.0, 40.0]


def test_a_share_of_a_piece_of_unknown_mass_has_none() -> None:
    fruit = {**THING, "kind": "fruit", "pieces": {"wheel": {"share": 0.125}}}
    body = body_of([{"item": "thing", "amount": "2 wheels"}], ingredients=[fruit])
    assert refused(body) == [("piece_mass_unknown", "/drink/lines/0/amount")]


def test_an_alternative_that_has_no_such_piece_is_refused_and_no_crash() -> None:
    line = {"item": "lime", "amount": "1 wheel", "alternatives": ["gin-london-dry-40"]}
    [(code, pointer)] = refused(body_of([line]))
    assert code == "piece_mass_unknown"
    assert pointer.startswith("/drink/lines/0/alternatives")


def test_alternatives_give_a_range_of_strength_and_the_union_of_allergens() -> None:
    cream = {"id": "cream", "name": "Cream", "kind": "liqueur", "abv_percent": 17, "allergens": {"milk": "contains"}}
    line = {"item": "vodka-40", "amount": "50 ml", "alternatives": ["cream", "vodka-50"]}
    answer = answered(body_of([line], ingredients=[cream]))
    assert answer["alcohol"]["abv_percent"] == pytest.approx(40.0)
    assert "milk" in answer["allergens"]["declarations"][0]["contains"]
    found = evaluation(body_of([line], ingredients=[cream])).alcohol
    assert found.low is not None and found.high is not None
    assert found.low.abv_percent == pytest.approx(17.0)
    assert found.high.abv_percent == pytest.approx(50.0)


@pytest.mark.parametrize(
    ("thing", "code", "pointer"),
    [
        (
            {"abv_percent": 100, "per_100": {"basis": "ml", "sugars_g": 50}},
            "composition_exceeds_mass",
            "/ingredients/0",
        ),
        ({"density_g_per_ml": 1e-9}, "density_too_low", "/ingredients/0/density_g_per_ml"),
        (
            {"per_100": {"basis": "ml", "sugars_g": 9, "carbohydrate_g": 1}},
            "composition_inconsistent",
            "/ingredients/0/per_100/sugars_g",
        ),
    ],
)
def test_an_impossible_ingredient_is_refused_where_it_stands(thing: dict[str, Any], code: str, pointer: str) -> None:
    body = body_of([{"item": "thing", "amount": "30 ml"}], ingredients=[{**THING, **thing}])
    assert refused(body) == [(code, pointer)]


def test_an_impossible_entry_of_a_joint_product_is_refused_where_it_stands() -> None:
    outputs = [{"id": "thing", "amount": "1 each", "cost_share_percent": "100"}]
    part = preparation([GIN], **{"yield": {"outputs": outputs}})
    bad = {**THING, "abv_percent": 100, "per_100": {"basis": "ml", "sugars_g": 50}}
    body = body_of([{"item": "thing", "amount": "1 each", "role": "garnish"}], preparations=[part], ingredients=[bad])
    assert refused(body) == [("composition_exceeds_mass", "/ingredients/0")]


def test_a_piece_of_next_to_no_mass_is_refused() -> None:
    speck: dict[str, Any] = {
        **THING,
        "kind": "fruit",
        "pieces": {"each_g": 5e-324},
        "per_100": {"basis": "g", "sugars_g": 0},
    }
    body = body_of([GIN, {"item": "thing", "amount": "1 each"}], ingredients=[speck])
    assert refused(body) == [("piece_mass_too_low", "/ingredients/0/pieces/each_g")]
    speck["pieces"] = {"each_g": 1, "wheel": {"g": 1e-9}}
    assert refused(body) == [("piece_mass_too_low", "/ingredients/0/pieces/wheel/g")]
    speck["pieces"] = {"each_g": 1, "wheel": {"share": 5e-324}}
    body["drink"]["lines"][1]["amount"] = "1 wheel"
    assert refused(body) == [("amount_too_small", "/drink/lines/1/amount")]


def test_figures_that_disagree_are_a_warning_that_names_the_item() -> None:
    answer = answered(body_of([{"item": "gin-london-dry-40", "amount": "3/4 oz (30 ml)"}]))
    assert [(row["code"], row["item"]) for row in answer["warnings"]] == [("measures_disagree", "gin-london-dry-40")]
    assert answer["lines"][0]["volume_ml"] == 30.0


def test_amounts_are_for_all_serves_together() -> None:
    answer = answered(body_of([{"item": "gin-london-dry-40", "amount": "480 ml"}], serves=8))
    assert answer["serve"]["liquid_ml"] == pytest.approx(60.0)


def test_an_alternative_kept_by_mass_stands_on_a_line_by_volume_as_what_is_poured_does() -> None:
    # Two purées that hold only sugars and water; ICUMSA: 10 % by mass of sucrose is 1.0381 g/ml, 20 % 1.0810 g/ml.
    fruits = [
        {"id": name, "name": name, "kind": "fruit", "abv_percent": 0,
         "per_100": {"basis": "g", "sugars_g": sugars, "carbohydrate_g": sugars, "acids_g": {}, "fibre_g": 0,
                     "protein_g": 0, "fat_g": 0, "caffeine_mg": mg}}
        for name, sugars, mg in (("fa", 10, 0), ("fb", 20, 100))
    ]  # fmt: skip
    line = {"item": "fa", "amount": "30 ml", "alternatives": ["fb"]}
    spirit = {"item": "vodka-40", "amount": "70 ml"}
    filled = {**line, "amount": "fill", "role": "top", "item": "water"}
    part = preparation([spirit, line])
    for body in (
        body_of([spirit, line]),
        body_of([{"item": "part", "amount": "100 ml"}], preparations=[part]),
        body_of([spirit, filled], serve={"glass_ml": 100}),
    ):
        found = answered({**body, "ingredients": fruits})
        assert found["alcohol"]["abv_percent"] == pytest.approx(28.1, abs=0.4)
        # 30 ml of 1.081 g/ml with 1 mg in a gram are 32.4 mg of caffeine in 100 ml.
        text = next(row["text"] for row in found["advisories"] if row["code"] == "caffeine_high")
        assert "(up to 32." in text

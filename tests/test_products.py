"""Joint products: several things of one batch, each with its share of the cost and the allergens of the whole."""

from typing import Any

import pytest

from tests.asked import answered, body_of, evaluation, preparation, refused


def joint(first: str, second: str) -> dict[str, Any]:
    outputs = [
        {"id": "juice-part", "amount": "400 ml", "cost_share_percent": first},
        {"id": "peel-part", "amount": "100 g", "cost_share_percent": second},
    ]
    return preparation([{"item": "lemon", "amount": "10 each"}], **{"yield": {"outputs": outputs}})


def joint_body(part: dict[str, Any]) -> dict[str, Any]:
    offers = [
        {
            "id": "o1",
            "item": "lemon",
            "supplier": "S",
            "pack": {"size": "1 each"},
            "price": {"amount": "0.50", "currency": "EUR"},
        }
    ]
    lines = [{"item": "juice-part", "amount": "40 ml"}, {"item": "peel-part", "amount": "10 g", "role": "garnish"}]
    ingredients = [
        {
            "id": "juice-part",
            "name": "Juice",
            "kind": "juice",
            "per_100": {"basis": "ml", "sugars_g": 2, "acids_g": {"citric": 5}},
        },
        {"id": "peel-part", "name": "Peel", "kind": "fruit"},
    ]
    return body_of(lines, preparations=[part], ingredients=ingredients, offers=offers)


def test_joint_products_share_the_cost_as_stated() -> None:
    answer = answered(joint_body(joint("70.00", "30")))
    # 10 x 0.50 = 5.00; 70 % of it over 400 ml x 40 ml, 30 % over 100 g x 10 g
    assert [row["cost"] for row in answer["lines"]] == ["0.350000", "0.150000"]


@pytest.mark.parametrize("shares", [("70", "29.999999999999"), ("70", "30.000000000001"), ("0", "0")])
def test_shares_of_joint_products_are_exactly_100(shares: tuple[str, str]) -> None:
    assert refused(joint_body(joint(*shares))) == [("cost_shares", "/preparations/0/yield/outputs")]


def test_a_joint_product_has_its_ingredients_composition_and_the_whole_parts_allergens() -> None:
    part = joint("50", "50")
    part["lines"].append({"item": "almond", "amount": "10 g", "strained_out": True})
    answer = answered(joint_body(part))
    assert "almond" in answer["allergens"]["declarations"][0]["contains"]
    paths = [row["path"] for row in answer["allergens"]["routes"] if row["state"] == "contains"]
    assert ["asked", "juice-part", "part", "almond"] in paths
    assert answer["balance"]["acid_g_per_100_ml"] == pytest.approx(5.0)


def test_joint_products_cannot_weigh_more_than_the_lines() -> None:
    body = joint_body(joint("70", "30"))
    body["preparations"][0]["lines"] = [{"item": "lemon", "amount": "300 g"}]
    assert refused(body) == [("yield_exceeds_inputs", "/preparations/0/yield/outputs")]


def test_outputs_beside_the_yield_are_read_like_outputs_within_it() -> None:
    part = joint("70", "30")
    part["outputs"] = part.pop("yield")["outputs"]
    assert [row["cost"] for row in answered(joint_body(part))["lines"]] == ["0.350000", "0.150000"]


def test_a_product_without_an_ingredient_entry_is_unknown_and_not_zero() -> None:
    body = joint_body(joint("70", "30"))
    body["ingredients"] = []
    answer = answered(body)
    assert answer["alcohol"]["abv_percent"] is None
    assert {"item": "juice-part", "field": "abv_percent"} in answer["alcohol"]["missing"]


def test_products_are_read_in_the_base_they_are_given_in() -> None:
    found = evaluation(joint_body(joint("70", "30"))).resolved.products
    read = {name: (product.preparation, str(product.quantity), product.base) for name, product in found.items()}
    assert read == {"juice-part": ("part", "400", "ml"), "peel-part": ("part", "100", "g")}


def test_a_product_may_be_counted() -> None:
    part = joint("70", "30")
    part["yield"]["outputs"][1]["amount"] = "50 each"
    body = joint_body(part)
    body["drink"]["lines"][1] = {"item": "peel-part", "amount": "2 each", "role": "garnish"}
    body["ingredients"][1]["pieces"] = {"each_g": 2}
    # 30 % of 5.00 over 50 twists, two of them.
    assert answered(body)["lines"][1]["cost"] == "0.060000"


def test_products_of_one_product_take_the_whole_cost() -> None:
    part = joint("100", "0")
    part["yield"]["outputs"].pop()
    body = joint_body(part)
    body["drink"]["lines"].pop()
    assert answered(body)["lines"][0]["cost"] == "0.500000"


@pytest.mark.parametrize("written", ["fill", "2 parts"])
def test_a_products_amount_is_a_volume_a_mass_or_pieces(written: str) -> None:
    part = joint("70", "30")
    part["yield"]["outputs"][1]["amount"] = written
    assert refused(joint_body(part)) == [("yield_unreadable", "/preparations/0/yield/outputs/1/amount")]


def test_an_amount_nobody_can_read_points_to_its_product() -> None:
    part = joint("70", "30")
    part["yield"]["outputs"][0]["amount"] = "a lot"
    [(_, pointer)] = refused(joint_body(part))
    assert pointer == "/preparations/0/yield/outputs/0/amount"


def test_products_may_weigh_two_percent_more_for_the_scales() -> None:
    # Contract, Preparation: over 2 % above the computed is refused. 500 g of lemon against 400 ml of juice and peel; a
    # juice of 1.02 g/ml makes 408 g of them.
    def body_with(peel_g: int) -> dict[str, Any]:
        part = joint("70", "30")
        part["lines"] = [{"item": "lemon", "amount": "500 g"}]
        part["yield"]["outputs"][1]["amount"] = f"{peel_g} g"
        body = joint_body(part)
        body["ingredients"][0] = {"id": "juice-part", "name": "Juice", "kind": "juice", "density_g_per_ml": 1.02}
        return body

    assert answered(body_with(101))["lines"]
    assert refused(body_with(103)) == [("yield_exceeds_inputs", "/preparations/0/yield/outputs")]

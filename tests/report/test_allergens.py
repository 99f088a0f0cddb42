"""Allergens as they are written: statements, routes with their paths and GS1 codes, the diet beside them."""

from typing import Any

from tests.one_drink import asked, declared, poured, thing

NUTTY = thing("nutty", allergens={"almond": "contains", "milk": "may_contain"})
UNSAID = thing("unsaid", allergens_declared="partial", allergens={"gluten": "absent"})


def routes(found: Any, allergen: str) -> list[Any]:
    return [row for row in found["allergens"]["routes"] if row["allergen"] == allergen]


def test_a_statement_says_what_is_there_what_may_be_and_what_nobody_knows() -> None:
    found = asked([poured("nutty"), poured("unsaid")], [NUTTY, UNSAID], ("EU",))
    row = declared(found, "EU")
    assert row["contains"][:2] == ["nuts", "almond"]
    assert row["may_contain"] == ["milk"]
    assert "milk" in row["unknown"] and "sesame" in row["unknown"] and "gluten" not in row["unknown"]
    text = row["statement"]
    assert text.index("almond") < text.index("milk") < text.index("Not known")
    assert "Cross-contact not assessed" in text
    assert row["source"] and row["standing"]


def test_a_statement_of_nothing_is_made_where_everything_is_known() -> None:
    row = declared(asked([poured()], [thing()], ("EU",)), "EU")
    assert row["contains"] == row["may_contain"] == row["unknown"] == row["exempt"] == []
    assert row["statement"]


def test_a_route_leads_from_the_drink_to_the_bought_item() -> None:
    part = {"id": "milkless", "name": "Part", "lines": [poured("nutty", "50 ml", strained_out=True), poured("thing")]}
    found = asked([poured("milkless", "10 ml")], [NUTTY, thing()], preparations=[part])
    [row] = [row for row in routes(found, "almond") if row["state"] == "contains"]
    # Strained out, and an allergen all the same.
    assert (row["path"], row["equipment"]) == (["drink", "milkless", "nutty"], None)
    # GS1 code list for allergen types, from memory: SA is almond.
    assert row["gs1"] == "SA"


def test_a_tool_is_a_route_of_its_own() -> None:
    house = {"cross_contact": [{"allergens": ["eggs"], "equipment": "blender", "control": "washed"}]}
    found = asked([poured()], [thing()], house=house)
    [row] = routes(found, "eggs")
    assert (row["state"], row["equipment"], row["path"]) == ("may_contain", "blender", ["drink"])
    assert declared(found, "EU")["cross_contact"] == "assessed"


def test_an_exemption_names_its_item_and_source() -> None:
    grain = thing("grain", kind="spirit", abv_percent=40, process=["distilled"], allergens={"wheat": "contains"})
    row = declared(asked([poured("grain", "50 ml")], [grain], ("EU",)), "EU")
    assert row["contains"] == []
    # Regulation (EU) 1169/2011, annex II 1(d): cereals for alcoholic distillates.
    assert {one["item"] for one in row["exempt"]} == {"grain"}
    assert all(one["source"] and one["standing"] for one in row["exempt"])


def test_sulphites_of_a_source_without_a_figure_are_declared_and_not_counted() -> None:
    wine = thing("wine", kind="wine", allergens={"sulphites": "contains"})
    del wine["per_100"]["sulphites_mg"]
    found = asked([poured("wine")], [wine])
    assert found["allergens"]["sulphites_mg_per_l"] is None
    assert declared(found, "EU")["contains"] == ["sulphites"]


def test_the_diet_says_what_stands_against_it_and_how_not_to_read_it() -> None:
    honey = thing("honeyed", animal_origin=["honey"])
    found = asked([poured("honeyed")], [honey])["allergens"]["diet"]
    assert (found["vegan"], found["vegetarian"]) == ("no", "yes")
    [row] = [row for row in found["routes"] if row["diet"] == "vegan"]
    assert (row["answer"], list(row["path"])) == ("no", ["drink", "honeyed"])
    assert "allergen" in found["note"]
    unknown = asked([poured("thing")], [thing(animal_origin="unknown")])["allergens"]["diet"]
    assert (unknown["vegan"], unknown["vegetarian"]) == ("unknown", "unknown")

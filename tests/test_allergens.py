"""Allergens and diet of whole drinks, against the laws' lists and the sentences of the contract."""

import tomllib
from pathlib import Path
from typing import Any, get_args

import pytest

from schemas.ingredient import AllergenKey
from service.rules import codes, jurisdiction, rules
from tests.one_drink import DAY, asked, declared, poured, states, thing

CASES = tomllib.loads((Path(__file__).parent / "cases" / "allergens.toml").read_text())


def by_id(rows: list[Any]) -> list[Any]:
    return [pytest.param(row, id=row["id"]) for row in rows]


def wine(mg_per_100_ml: float | None, item_id: str = "wine", **more: Any) -> dict[str, Any]:
    facts: dict[str, Any] = {"allergens": {"sulphites": "contains"}, **more}
    made = thing(item_id, **facts)
    if mg_per_100_ml is None:
        del made["per_100"]["sulphites_mg"]
    else:
        made["per_100"]["sulphites_mg"] = mg_per_100_ml
    return made


def judged(found: Any, code: str) -> str:
    """The state of sulphites in one declaration, ``none`` where they are not named."""
    held = [state for state, keys in states(found, code).items() if "sulphites" in keys]
    return held[0] if held else "none"


# The lists and exemptions themselves.


@pytest.mark.parametrize("row", CASES["list"], ids=lambda row: row["jurisdiction"])
def test_lists_are_those_of_the_law(row: dict[str, Any]) -> None:
    held = jurisdiction(row["jurisdiction"]).on(DAY).allergens
    assert set(held.listed) == set(row["listed"])
    assert set(held.recommended) == set(row.get("recommended", ()))
    assert set(held.separate_statement) == set(row.get("separate_statement", ()))
    for group, members in row.get("members", {}).items():
        # Triticale is a hybrid, which Annex II covers without naming it.
        assert set(held.members[group]) - {"triticale"} == set(members) - {"triticale"}


@pytest.mark.parametrize("row", CASES["exemption"], ids=lambda row: f"{row.get('process')}-{row['allergen']}")
def test_exemptions_are_those_of_the_law(row: dict[str, Any]) -> None:
    for code in row["jurisdictions"]:
        held = jurisdiction(code).on(DAY).exemptions
        assert any(
            (rule.process, rule.allergen, set(rule.kinds))
            == (row.get("process"), row["allergen"], set(row.get("kinds", ())))
            for rule in held
        )


def test_every_key_that_a_caller_may_use_is_in_the_vocabulary() -> None:
    assert set(get_args(AllergenKey)) == set(rules().allergens)


@pytest.mark.parametrize("case", by_id(CASES["case"]))
def test_worked_case(case: dict[str, Any]) -> None:
    assert case["source"] and case["standing"] in ("confirmed", "secondary", "memory")
    made = thing(
        kind=case.get("kind", "other"),
        process=case.get("process", []),
        allergens=case["allergens"],
        allergens_declared="partial" if case.get("partial") else "complete",
    )
    del made["per_100"]["sulphites_mg"]
    found = asked([poured()], [made], tuple(case["expect"]))
    for code, expected in case["expect"].items():
        row = declared(found, code)
        for state in ("contains", "may_contain", "unknown", "recommended"):
            assert set(row[state]) == set(expected.get(state, ())), (code, state)
        assert {entry["allergen"] for entry in row["exempt"]} == set(expected.get("exempt", ())), code


# Joining parts.


def test_contains_wins_and_the_others_are_each_listed() -> None:
    things = [
        thing("a", allergens={"milk": "unknown", "eggs": "may_contain"}),
        thing("b", allergens={"milk": "contains", "eggs": "unknown"}),
    ]
    found = states(asked([poured("a"), poured("b")], things), "EU")
    assert found == {"contains": {"milk"}, "may_contain": {"eggs"}, "unknown": {"eggs"}}


def test_absent_only_where_every_part_says_so() -> None:
    things = [thing("a"), thing("b", allergens_declared="partial", allergens={"milk": "absent"})]
    unknown = states(asked([poured("a"), poured("b")], things), "EU")["unknown"]
    assert "milk" not in unknown
    assert "eggs" in unknown


@pytest.mark.parametrize("role", ["pour", "top", "rinse", "garnish"])
def test_every_line_that_may_reach_the_guest_carries_its_allergens(role: str) -> None:
    found = asked([poured("water"), poured(amount="5 ml", role=role)], [thing(allergens={"peanuts": "contains"})])
    assert "peanuts" in states(found, "EU")["contains"]


def test_a_consumable_carries_none() -> None:
    found = asked(
        [poured("water"), poured(amount="5 ml", role="consumable")], [thing(allergens={"peanuts": "contains"})]
    )
    assert states(found, "EU") == {"contains": set(), "may_contain": set(), "unknown": set()}


def test_alternatives_are_a_union() -> None:
    things = [thing("a"), thing("b", allergens={"lupin": "contains"})]
    found = asked([poured("a", alternatives=["b"])], things)
    assert states(found, "EU")["contains"] == {"lupin"}


def test_straining_out_leaves_the_allergen_and_its_route() -> None:
    made = {
        "id": "washed", "name": "Washed", "yield": {"loss_percent": 0},
        "lines": [poured("water"), poured("nut", amount="10 g", strained_out=True)],
    }  # fmt: skip
    nut = {
        "id": "nut",
        "name": "Nut",
        "kind": "nut",
        "allergens_declared": "complete",
        "allergens": {"hazelnut": "contains"},
    }
    found = asked([poured("washed", "30 ml")], [nut], preparations=[made])
    assert states(found, "EU")["contains"] == {"nuts", "hazelnut"}
    assert {
        "allergen": "hazelnut",
        "state": "contains",
        "path": ["drink", "washed", "nut"],
        "equipment": None,
        "gs1": "SH",
    } in (found["allergens"]["routes"])


def test_a_distillate_made_in_house_earns_no_exemption() -> None:
    made = {
        "id": "spirit", "name": "House spirit", "lines": [poured("beer", "1 l")],
        "steps": [{"kind": "distilling", "measured": {"volume_ml": 50, "abv_percent": 60}}],
    }  # fmt: skip
    beer = thing("beer", kind="beer", abv_percent=5, process=["fermented"], allergens={"barley": "contains"})
    found = asked([poured("spirit", "20 ml")], [beer], preparations=[made])
    assert states(found, "EU")["contains"] == {"gluten", "barley"}


def test_a_statement_says_what_is_not_known_and_never_free() -> None:
    found = asked(
        [poured("a"), poured("b")], [thing("a", name="Odd cordial", allergens={"milk": "unknown"}), thing("b")]
    )
    row = declared(found, "EU")
    assert row["statement"] == "Not known: milk (Odd cordial). Cross-contact not assessed."
    nothing = declared(asked([poured()], [thing()]), "EU")["statement"]
    assert nothing == "No listed allergen is declared by any part. Cross-contact not assessed."
    assert "free" not in nothing


def test_a_name_stands_in_a_statement_as_the_bar_wrote_it() -> None:
    """Proper names and German nouns begin with a capital wherever they stand; only the embedded items, whose names are
    English words in a fixed form, take a small letter inside a sentence."""
    syrup = thing("a", name="Zitronensirup", allergens={"milk": "unknown"})
    found = declared(asked([poured("a"), poured("tonic-water")], [syrup]), "EU")["statement"]
    assert "Zitronensirup; tonic water" in found


def test_recommended_allergens_are_marked_in_the_statement() -> None:
    found = asked([poured()], [thing(allergens={"wheat": "contains", "orange": "contains"})], ["JP"])
    row = declared(found, "JP")
    assert row["recommended"] == ["orange"]
    assert row["statement"].startswith("Contains wheat, orange (recommended).")


@pytest.mark.parametrize("code", [code for code in codes() if not jurisdiction(code).on(DAY).rules_held])
def test_a_jurisdiction_without_rules_shows_another_list_without_its_exemptions(code: str) -> None:
    found = asked([poured()], [thing(kind="spirit", process=["distilled"], allergens={"wheat": "contains"})], [code])
    row = declared(found, code)
    assert row["contains"] == ["gluten", "wheat"]
    assert row["exempt"] == []
    assert row["rules_held"] is False
    assert "check the local one" in row["statement"]


# Cross-contact.


def with_tools(*tools: dict[str, Any], kind: str = "none", code: str = "EU", **facts: Any) -> Any:
    house = {"cross_contact": list(tools)}
    return asked(
        [poured()], [thing(**facts)], [code], house=house, drink={"method": {"kind": kind, "water": {"ml": 1}}}
    )


@pytest.mark.parametrize("control", ["none", "rinsed", "washed"])
def test_a_shared_tool_may_carry_over(control: str) -> None:
    found = with_tools({"allergens": ["almond"], "equipment": "blender", "control": control})
    row = declared(found, "EU")
    assert row["may_contain"] == ["nuts", "almond"]
    assert row["cross_contact"] == "assessed"
    assert {"blender"} == {route["equipment"] for route in found["allergens"]["routes"]}


def test_a_dedicated_tool_carries_nothing() -> None:
    found = with_tools({"allergens": ["almond"], "equipment": "blender", "control": "dedicated"})
    assert states(found, "EU")["may_contain"] == set()
    assert declared(found, "EU")["cross_contact"] == "assessed"


def test_a_tool_counts_for_its_methods_alone() -> None:
    tool = {"allergens": ["eggs"], "equipment": "shaker", "methods": ["shaken", "dry_shaken"]}
    assert states(with_tools(tool, kind="shaken"), "EU")["may_contain"] == {"eggs"}
    assert states(with_tools(tool, kind="stirred"), "EU")["may_contain"] == set()


def test_what_is_contained_is_not_said_to_be_carried_over() -> None:
    found = states(with_tools({"allergens": ["milk"], "equipment": "jug"}, allergens={"milk": "contains"}), "EU")
    assert found == {"contains": {"milk"}, "may_contain": set(), "unknown": set()}


@pytest.mark.parametrize(
    ("code", "key", "expected"),
    [
        ("AU", "nuts", {"nuts"}),
        ("JP", "nuts", {"walnut", "almond", "cashew", "macadamia"}),
        ("US", "gluten", {"wheat"}),
        ("US", "spelt", {"wheat"}),
        ("JP", "crustaceans", {"shrimp", "crab"}),
        ("EU", "salmon", {"fish"}),
        ("EU", "sulphites", {"sulphites"}),
        ("US", "sulphites", {"sulphites"}),
        ("US", "celery", set()),
    ],
)
def test_a_tool_carries_a_key_to_where_the_regime_lists_it(code: str, key: str, expected: set[str]) -> None:
    assert states(with_tools({"allergens": [key], "equipment": "board"}, code=code), code)["may_contain"] == expected


# Sulphites: comparators of Annex II 12 (more than 10 mg/l) and of 27 CFR 4.32(e), B.01.010.2, S9-3 (10 or more).


@pytest.mark.parametrize(
    ("mg_per_100_ml", "over", "from_ten"),
    [(1.0, "none", "contains"), (1.0004, "none", "contains"), (1.0005, "contains", "contains"),
    (0.9995, "none", "contains"),
     (0.9994, "none", "none"), (1.1, "contains", "contains"), (0.0, "none", "none")],
)  # fmt: skip
def test_ten_is_ten(mg_per_100_ml: float, over: str, from_ten: str) -> None:
    found = asked([poured("wine")], [wine(mg_per_100_ml)], ["EU", "GB", "IE", "US", "CA", "AU", "NZ"])
    assert {code: judged(found, code) for code in ("EU", "GB", "IE")} == dict.fromkeys(("EU", "GB", "IE"), over)
    assert {code: judged(found, code) for code in ("US", "CA", "AU", "NZ")} == dict.fromkeys(
        ("US", "CA", "AU", "NZ"), from_ten
    )


def test_the_finished_drink_is_judged_with_its_water() -> None:
    # 100 mg/l in 60 ml of wine, made up to 600 ml with measured water: 10 mg/l.
    method = {"kind": "built", "water": {"ml": 540}}
    found = asked([poured("wine", "60 ml")], [wine(10)], ["EU", "US"], drink={"method": method})
    assert found["allergens"]["sulphites_mg_per_l"] == pytest.approx(10.0, abs=0.02)


def test_a_source_without_a_quantity_is_declared() -> None:
    found = asked([poured("wine", "1 ml"), poured("water", "900 ml")], [wine(None)], ["EU", "US"])
    assert judged(found, "EU") == judged(found, "US") == "contains"
    assert found["allergens"]["sulphites_mg_per_l"] is None


def test_an_item_that_nobody_declared_leaves_sulphites_unknown() -> None:
    odd = wine(None, "odd", allergens={}, allergens_declared="partial")
    found = asked([poured("wine"), poured("odd")], [wine(0.5), odd], ["EU"])
    assert judged(found, "EU") == "unknown"
    assert found["allergens"]["sulphites_mg_per_l"] is None


def test_known_sources_that_pass_leave_nothing_unknown() -> None:
    odd = wine(None, "odd", allergens={}, allergens_declared="partial")
    found = asked([poured("wine"), poured("odd")], [wine(5), odd], ["EU"])
    assert judged(found, "EU") == "contains"


@pytest.mark.parametrize("line", [{"role": "garnish"}, {"role": "rinse"}])
def test_a_quantity_that_is_not_drunk_decides_nothing(line: dict[str, Any]) -> None:
    found = asked([poured("water"), poured("wine", "1 ml", **line)], [wine(1)], ["EU"])
    assert judged(found, "EU") == "contains"


def test_a_strained_out_source_is_declared() -> None:
    fruit = thing("apricot", kind="fruit", allergens={"sulphites": "contains"}, per_100={"sulphites_mg": 200})
    fruit["per_100"]["basis"] = "g"
    made = {
        "id": "syrup",
        "name": "Syrup",
        "lines": [poured("water", "1 l"), poured("apricot", "10 g", strained_out=True)],
    }
    found = asked([poured("syrup", "10 ml"), poured("water")], [fruit], preparations=[made])
    assert judged(found, "EU") == "contains"


def test_a_source_strained_out_and_poured_is_declared() -> None:
    made = {
        "id": "syrup",
        "name": "Syrup",
        "lines": [poured("water", "1 l"), poured("wine", "10 ml", strained_out=True)],
    }
    found = asked([poured("syrup", "10 ml"), poured("wine", "1 ml")], [wine(1)], preparations=[made])
    assert judged(found, "EU") == "contains"


def test_an_eaten_garnish_counts_in_the_figure() -> None:
    cherry = thing("cherry", kind="fruit", allergens={"sulphites": "contains"}, per_100={"sulphites_mg": 20})
    cherry["per_100"]["basis"] = "g"
    found = asked([poured("water"), poured("cherry", "10 g", role="garnish", eaten=True)], [cherry])
    # 2 mg on 100 ml of drink.
    assert found["allergens"]["sulphites_mg_per_l"] == pytest.approx(20.0, abs=0.01)
    assert judged(found, "EU") == "contains"


def test_the_alternative_with_the_most_sulphites_decides() -> None:
    things = [wine(0.2, "dry"), wine(20, "sweet")]
    found = asked([poured("dry", "50 ml", alternatives=["sweet"]), poured("water", "50 ml")], things)
    assert judged(found, "EU") == "contains"
    assert found["allergens"]["sulphites_mg_per_l"] == pytest.approx(100.0, rel=0.01)


def part_of_lines(*lines: dict[str, Any]) -> list[dict[str, Any]]:
    return [{"id": "syrup", "name": "Syrup", "lines": list(lines)}]


def test_the_sulphites_of_what_a_part_may_hold_instead_are_declared() -> None:
    # Wine of 100 mg/L may stand in the part: how much of it is drunk nobody knows, so no figure can clear it.
    things = [thing("plain"), wine(10, "sweet")]
    made = part_of_lines(poured("plain", "100 ml", alternatives=["sweet"]))
    found = asked([poured("syrup")], things, ("EU", "US"), preparations=made)
    assert judged(found, "EU") == judged(found, "US") == "contains"
    assert found["allergens"]["sulphites_mg_per_l"] is None
    instead = asked([poured("plain", alternatives=["syrup"])], things, preparations=made)
    assert judged(instead, "EU") == "contains"
    inner = [*made, {"id": "outer", "name": "Outer", "lines": [poured("syrup", "50 ml"), poured("sweet", "0.1 ml")]}]
    assert judged(asked([poured("outer")], things, preparations=inner), "EU") == "contains"


def test_the_sulphites_of_what_may_be_eaten_instead_are_declared() -> None:
    fresh, glazed = (
        thing(name, kind="fruit", per_100={"sulphites_mg": mg, "basis": "g"})
        for name, mg in (("fresh", 0), ("glazed", 20))
    )
    line = poured("fresh", "10 g", role="garnish", eaten=True, alternatives=["glazed"])
    assert judged(asked([poured("water"), line], [fresh, glazed]), "EU") == "contains"


def test_a_fill_of_unknown_amount_is_declared() -> None:
    drink = {"method": {"kind": "swizzled"}, "serve": {"glass_ml": 300}}
    found = asked([poured("water", "50 ml"), poured("wine", "fill", role="top")], [wine(1)], drink=drink)
    assert found["serve"]["liquid_ml"] is None
    assert judged(found, "EU") == "contains"


def test_every_part_declared_and_without_sulphites_is_none() -> None:
    found = asked([poured()], [thing()])
    assert judged(found, "EU") == "none"
    assert found["allergens"]["sulphites_mg_per_l"] == 0


# Diet. What is animal is common practice, no source.


def fed(**facts: Any) -> Any:
    return asked([poured()], [thing(**facts)])["allergens"]["diet"]


@pytest.mark.parametrize(
    ("facts", "vegan", "vegetarian"),
    [
        ({}, "yes", "yes"),
        ({"animal_origin": "unknown"}, "unknown", "unknown"),
        ({"animal_origin": ["honey"]}, "no", "yes"),
        ({"animal_origin": ["milk", "egg"]}, "no", "yes"),
        ({"animal_origin": ["fish_gelatine"]}, "no", "no"),
        ({"animal_origin": ["insect"]}, "no", "no"),
        ({"animal_origin": ["something_odd"]}, "no", "unknown"),
        ({"allergens": {"milk": "contains"}}, "no", "yes"),
        ({"animal_origin": "unknown", "allergens": {"milk": "contains"}}, "no", "unknown"),
        ({"allergens": {"fish": "contains"}}, "no", "no"),
        ({"allergens": {"milk": "may_contain"}}, "yes", "yes"),
        ({"process": ["fined_isinglass"]}, "no", "no"),
        ({"process": ["fined_egg"]}, "no", "yes"),
        ({"animal_origin": None, "kind": "spirit", "process": ["distilled"]}, "yes", "yes"),
        ({"animal_origin": "unknown", "kind": "spirit", "process": ["distilled"]}, "unknown", "unknown"),
        ({"animal_origin": "unknown", "kind": "spirit", "process": ["distilled", "macerated"]}, "unknown", "unknown"),
        ({"animal_origin": "unknown", "kind": "liqueur", "process": ["distilled"]}, "unknown", "unknown"),
    ],
)
def test_diet(facts: dict[str, Any], vegan: str, vegetarian: str) -> None:
    found = fed(**facts)
    assert (found["vegan"], found["vegetarian"]) == (vegan, vegetarian)
    assert found["note"] == "Not an allergen statement."
    against = {(route["diet"], route["answer"]) for route in found["routes"]}
    assert against == {
        (name, answer) for name, answer in (("vegan", vegan), ("vegetarian", vegetarian)) if answer != "yes"
    }


def test_a_distillate_taken_as_vegan_is_named() -> None:
    found = fed(animal_origin=None, kind="spirit", process=["distilled"])
    assert [row["item"] for row in found["assumed"]] == ["thing"]


def test_no_beats_unknown_and_both_are_routed() -> None:
    things = [thing("a", animal_origin="unknown"), thing("b", animal_origin=["honey"])]
    found = asked([poured("a"), poured("b")], things)["allergens"]["diet"]
    assert found["vegan"] == "no"
    assert found["vegetarian"] == "unknown"
    assert {tuple(route["path"]) for route in found["routes"] if route["diet"] == "vegan"} == {
        ("drink", "a"),
        ("drink", "b"),
    }


def test_gs1_codes_stand_in_the_routes() -> None:
    found = asked([poured()], [thing(allergens={"milk": "contains", "wheat": "contains"})])
    codes_by_key = {route["allergen"]: route["gs1"] for route in found["allergens"]["routes"]}
    # GS1 Web Vocabulary 1.16.
    assert codes_by_key == {"milk": "AM", "gluten": "AW", "wheat": "UW"}


@pytest.mark.parametrize(("per_100_mg", "figure", "declared"), [(0.9995, 10.0, {"US"}), (1.0005, 10.01, {"EU", "US"})])
def test_the_sulphites_that_are_shown_are_those_that_are_judged(
    per_100_mg: float, figure: float, declared: set[str]
) -> None:
    """Contract, arithmetic 6: half up at 0.01 mg/l; 9.995 is 10.00, which 21 CFR 101.100(a)(4) declares, and 10.005 is
    10.01, which Annex II 12 does too. No figure stands on the other side of the limit it was judged by."""
    wine = thing("wine", kind="wine", abv_percent=12, per_100={"sulphites_mg": per_100_mg})
    found = asked([poured("wine")], [wine | {"allergens": {"sulphites": "contains"}}], ("EU", "US"))["allergens"]
    assert found["sulphites_mg_per_l"] == figure
    assert {row["jurisdiction"] for row in found["declarations"] if row["contains"] == ["sulphites"]} == declared


@pytest.mark.parametrize("code", ["AU", "NZ"])
def test_barley_is_summed_up_as_gluten_in_australia_and_new_zealand(code: str) -> None:
    """Schedule 9, S9-3 (secondary): barley by its name, and "gluten" in the line that begins with Contains."""
    found = asked([poured("malted")], [thing("malted", allergens={"barley": "contains"})], [code])["allergens"]
    assert found["declarations"][0]["statement"].startswith("Contains barley, gluten.")

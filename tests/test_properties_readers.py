"""Properties of the readers of one drink: allergens as a join, unknown as poison, names and prices of no influence."""

import json
from collections.abc import Iterator, Mapping
from copy import deepcopy
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from schemas.answer import Answer
from service.errors import InputFault, InputFaults
from service.rules import jurisdiction
from tests.campaign import DERANDOMIZED
from tests.campaign import EXAMPLES as TRIED
from tests.odd_requests import requests as odd_requests
from tests.one_drink import DAY, answer_to, asked, declared, poured, request_of, states, thing

EXAMPLES = settings(max_examples=TRIED, derandomize=DERANDOMIZED, deadline=None)
CODES = ("EU", "US", "CA", "AU", "JP", "IS")
RANK = {"absent": 0, "unknown": 1, "may_contain": 2, "contains": 3}

KEYS = ("gluten", "wheat", "barley", "spelt", "nuts", "almond", "walnut", "pine_nut", "milk", "eggs", "fish", "salmon",
        "crustaceans", "shrimp", "sesame", "celery", "orange", "soybeans", "sulphites")  # fmt: skip

entries = st.one_of(
    st.sampled_from(tuple(RANK)),
    st.builds(
        lambda state, process: {"state": state, "process": process},
        st.sampled_from(tuple(RANK)),
        st.sampled_from(
            ("distilled", "macerated", "fined_isinglass", "refined_oil", "whey_distillate", "glucose_syrup")
        ),
    ),
)
declarations = st.fixed_dictionaries(
    {
        "kind": st.sampled_from(("spirit", "wine", "beer", "liqueur", "other")),
        "process": st.lists(st.sampled_from(("distilled", "macerated", "fermented")), max_size=2, unique=True),
        "allergens": st.dictionaries(st.sampled_from(KEYS), entries, max_size=5),
        "allergens_declared": st.sampled_from(("complete", "partial")),
    }
)
bars = st.lists(declarations, min_size=1, max_size=5)


def made_of(facts: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Ingredients that differ in their allergens alone; without a quantity of sulphites, which water would thin."""
    things = [thing(f"thing-{index}", **one) for index, one in enumerate(facts)]
    for one in things:
        del one["per_100"]["sulphites_mg"]
    return things


def drink_of(things: list[dict[str, Any]], codes: tuple[str, ...] = CODES) -> Any:
    return asked([poured(one["id"], "20 ml") for one in things], things, codes, include=["allergens"])


# H9.


@EXAMPLES
@given(bars)
def test_adding_a_part_never_removes_a_flag(facts: list[dict[str, Any]]) -> None:
    things = made_of(facts)
    before, after = drink_of(things[:-1] or things), drink_of(things)
    for code in CODES:
        less, more = states(before, code), states(after, code)
        assert less["contains"] <= more["contains"]
        assert less["may_contain"] <= more["may_contain"] | more["contains"]
        assert less["unknown"] <= more["unknown"] | more["contains"]


@EXAMPLES
@given(bars)
def test_a_drink_is_the_join_of_its_parts(facts: list[dict[str, Any]]) -> None:
    things = made_of(facts)
    whole = drink_of(things)
    alone = [asked([poured(one["id"], "20 ml")], [one], CODES, include=["allergens"]) for one in things]
    for code in CODES:
        parts = [states(one, code) for one in alone]
        contains = set().union(*(one["contains"] for one in parts))
        expected = {
            "contains": contains,
            "may_contain": set().union(*(one["may_contain"] for one in parts)) - contains,
            "unknown": set().union(*(one["unknown"] for one in parts)) - contains,
        }
        assert states(whole, code) == expected


@EXAMPLES
@given(bars, st.randoms(use_true_random=False))
def test_order_and_duplicates_are_immaterial(facts: list[dict[str, Any]], random: Any) -> None:
    things = made_of(facts)
    lines = [poured(one["id"], "20 ml") for one in things]
    again = [*lines, lines[0]]
    random.shuffle(again)
    first = asked(lines, things, CODES, include=["allergens"])
    second = asked(again, list(reversed(things)), CODES, include=["allergens"])
    for code in CODES:
        assert states(first, code) == states(second, code)
        assert set(map(str, declared(first, code)["exempt"])) == set(map(str, declared(second, code)["exempt"]))


@EXAMPLES
@given(bars, st.data())
def test_unknown_never_becomes_absent(facts: list[dict[str, Any]], data: st.DataObject) -> None:
    """Whatever is declared, telling less of one item never makes a listed allergen vanish."""
    things = made_of(facts)
    before = drink_of(things)
    index = data.draw(st.integers(0, len(things) - 1))
    vague = deepcopy(things)
    # Its exemption went with what it declared, so nothing but more can be listed.
    vague[index] |= {"allergens": {}, "allergens_declared": "partial"}
    after = drink_of(vague)
    for code in CODES:
        listed = set().union(*states(before, code).values())
        assert listed - {"nuts", "gluten"} - group_members(code) <= set().union(*states(after, code).values())


def group_members(code: str) -> set[str]:
    """Members that are shown only by name: an item that declares nothing leaves their group unknown instead."""
    return {key for members in jurisdiction(code).on(DAY).allergens.members.values() for key in members}


@EXAMPLES
@given(declarations)
def test_a_stated_key_is_listed_as_stated_unless_exempt(facts: dict[str, Any]) -> None:
    """A naive reading of the fourteen, written apart from the service."""
    found = drink_of(made_of([facts]), ("EU",))
    row, shown = declared(found, "EU"), states(found, "EU")
    exempted = {entry["allergen"] for entry in row["exempt"]}
    for key in ("milk", "eggs", "celery", "sesame", "soybeans", "sulphites"):
        entry = facts["allergens"].get(key)
        state = entry if isinstance(entry, str) else entry["state"] if entry else None
        if state is None:
            state = "absent" if facts["allergens_declared"] == "complete" else "unknown"
        held = [name for name, keys in shown.items() if key in keys]
        assert held == ([] if state == "absent" or key in exempted else [state]), key
    assert exempted <= {
        "gluten",
        "wheat",
        "barley",
        "spelt",
        "nuts",
        "almond",
        "walnut",
        "milk",
        "soybeans",
        "fish",
        "salmon",
    }


@EXAMPLES
@given(declarations)
def test_what_was_macerated_is_never_exempt(facts: dict[str, Any]) -> None:
    allergens = {key: {"state": "contains", "process": "macerated"} for key in facts["allergens"]}
    found = drink_of(made_of([facts | {"allergens": allergens}]))
    for code in CODES:
        assert not {entry["allergen"] for entry in declared(found, code)["exempt"]} & set(allergens)


# H10.

FIELDS = (
    "carbohydrate_g",
    "protein_g",
    "fat_g",
    "fibre_g",
    "polyols_g",
    "acids_g",
    "sugars_g",
    "saturates_g",
    "salt_g",
)
ENERGY = frozenset(("carbohydrate_g", "protein_g", "fat_g", "fibre_g", "polyols_g", "acids_g"))
grams = st.sampled_from((0, 0.1, 1, 5))


def _table(sugars: float, starch: float, acid: float, protein: float, fat: float, fibre: float) -> dict[str, Any]:
    return {
        "sugars_g": sugars, "carbohydrate_g": sugars + starch, "acids_g": {"citric": acid}, "protein_g": protein,
        "fat_g": fat, "fibre_g": fibre,
    }  # fmt: skip


compositions = st.builds(_table, grams, grams, grams, grams, grams, grams)


@EXAMPLES
@given(st.lists(compositions, min_size=1, max_size=4), st.sampled_from(FIELDS), st.data())
def test_deleting_one_datum_makes_its_figures_incomplete(
    tables: list[dict[str, Any]], field: str, data: st.DataObject
) -> None:
    things = [thing(f"thing-{index}", per_100=table, abv_percent=index * 5) for index, table in enumerate(tables)]
    lines = [poured(one["id"], "30 ml") for one in things]
    whole = asked(lines, things, ("EU", "US"))
    assert whole["nutrition"]["complete"] is True
    index = data.draw(st.integers(0, len(things) - 1))
    poorer = deepcopy(things)
    del poorer[index]["per_100"][field]
    found = asked(lines, poorer, ("EU", "US"))
    assert found["nutrition"]["complete"] is False
    assert {"item": f"thing-{index}", "field": field} in found["nutrition"]["missing"]
    serve = found["nutrition"]["per_serve"]
    shown = {"polyols_g": "polyols_g", "acids_g": "acids_g"}.get(field, field)
    assert serve[shown] is None and shown in serve["at_least"]
    if field in ENERGY:
        assert serve["energy_kcal"] is None and serve["energy_kj"] is None
        assert serve["at_least"]["energy_kcal"] <= whole["nutrition"]["per_serve"]["energy_kcal"] + 0.011
    else:
        assert serve["energy_kcal"] == pytest.approx(whole["nutrition"]["per_serve"]["energy_kcal"], rel=0.02)
    if field in ("sugars_g", "acids_g"):
        assert found["balance"]["complete"] is False and found["balance"]["sugar_to_acid"] is None


@EXAMPLES
@given(st.lists(st.sampled_from((0, 0.5, 12, 40)), min_size=1, max_size=4), st.data())
def test_deleting_a_strength_leaves_no_strength(strengths: list[float], data: st.DataObject) -> None:
    things = [thing(f"thing-{index}", abv_percent=abv, kind="liqueur") for index, abv in enumerate(strengths)]
    lines = [poured(one["id"], "30 ml") for one in things]
    index = data.draw(st.integers(0, len(things) - 1))
    del things[index]["abv_percent"]
    found = asked(lines, things, ("US", "DE", "GB"))
    assert found["alcohol"]["complete"] is False
    assert {"item": f"thing-{index}", "field": "abv_percent"} in found["alcohol"]["missing"]
    for figure in ("abv_percent", "ethanol_g", "ethanol_ml", "us_proof"):
        assert found["alcohol"][figure] is None
    assert all(
        row["count"] is row["count_low"] is row["count_high"] is None for row in found["alcohol"]["standard_drinks"]
    )
    assert not any(row["allowed"] for row in found["alcohol"]["claims"])
    assert found["nutrition"]["per_serve"]["energy_kcal"] is None


# H24 and H25.


def _numbers(found: Any) -> Iterator[tuple[str, Any]]:
    """Every figure with its place, the ids of items apart."""

    def walk(place: str, value: Any) -> Iterator[tuple[str, Any]]:
        if isinstance(value, Mapping):
            for key, inner in value.items():
                yield from walk(f"{place}/{key}", inner)
        elif isinstance(value, list | tuple):
            for index, inner in enumerate(value):
                yield from walk(f"{place}/{index}", inner)
        elif isinstance(value, int | float) and not isinstance(value, bool):
            yield place, value

    for section in ("serve", "lines", "alcohol", "nutrition", "balance", "cost"):
        yield from walk(section, found.get(section))


@EXAMPLES
@given(st.lists(compositions, min_size=1, max_size=4), bars, st.permutations(("zeta", "alpha", "mu", "kappa")))
def test_names_never_change_numbers(
    tables: list[dict[str, Any]], facts: list[dict[str, Any]], names: list[str]
) -> None:
    def found(ids: list[str]) -> Any:
        things = [
            thing(item_id, name=item_id.title(), per_100=table, abv_percent=index * 7, **facts[index % len(facts)])
            for index, (item_id, table) in enumerate(zip(ids, tables, strict=False))
        ]
        lines = [poured(one["id"], "30 ml") for one in things]
        return asked(lines, things, CODES, drink={"method": {"kind": "shaken"}})

    first, second = found(["a", "b", "c", "d"]), found(list(names))
    # What is missing is listed by id, so that its order may differ; the figures may not.
    assert dict(_numbers(first)) == dict(_numbers(second))
    for code in CODES:
        assert states(first, code) == states(second, code)
    assert {row["code"] for row in first["advisories"]} == {row["code"] for row in second["advisories"]}
    assert first["allergens"]["diet"]["vegan"] == second["allergens"]["diet"]["vegan"]


@EXAMPLES
@given(st.lists(compositions, min_size=1, max_size=3), st.sampled_from(("1.00", "14.20", "999.99")), st.booleans())
def test_prices_never_change_what_a_label_shows(tables: list[dict[str, Any]], price: str, offered: bool) -> None:
    things = [thing(f"thing-{index}", per_100=table, abv_percent=index * 5) for index, table in enumerate(tables)]
    lines = [poured(one["id"], "30 ml") for one in things]
    labels = ["alcohol", "nutrition", "allergens", "balance"]
    offers = [
        {
            "id": "offer",
            "item": "thing-0",
            "supplier": "Example",
            "pack": {"size": "700 ml"},
            "price": {"amount": price, "currency": "EUR"},
        }
    ]
    plain = answer_to(request_of(lines, things, CODES, include=labels))
    priced = answer_to(request_of(lines, things, CODES, include=labels, offers=offers if offered else []))
    assert json.dumps(plain) == json.dumps(priced)
    assert "cost" not in plain and "price" not in plain


# H20, as far as the answer's shape goes.


def test_the_answer_to_any_legal_request_has_its_shape() -> None:
    reached = {"asked": 0, "answered": 0}

    @EXAMPLES
    @given(odd_requests())
    def shape(body: dict[str, Any]) -> None:
        reached["asked"] += 1
        try:
            found = answer_to(body)
        except (InputFault, InputFaults):
            return
        reached["answered"] += 1
        text = json.dumps(found, allow_nan=False)
        Answer.model_validate(json.loads(text))
        assert text == json.dumps(answer_to(body))

    shape()
    # Two in three odd requests are refused for a good reason; the rest have to be enough.
    assert reached["answered"] >= 40

"""Groups that one item tells apart and another does not: one that names almond says nothing of the other's nuts.

Regulation (EU) 1169/2011, Annex II 8, Food Standards Code S9-3 and 21 USC 321(qq) (all from memory) list each nut by
its name; which nuts are in "nuts" nobody can tell from the almond of something else. Contract, arithmetic 7: unknown is
never shown as absent.
"""

from typing import Any

import pytest

from schemas.evaluation import EvaluationRequest
from service.allergens import left_open
from service.evaluate import evaluate
from service.reference import reference
from service.renderers.reading import state_in
from service.renderers.regime import columns_of, columns_with
from tests.one_drink import DAY, asked, declared, poured, request_of, thing

CODES = ("EU", "US", "AU", "CA")
SOME_NUT = {"allergens": ["nuts"], "equipment": "blender", "control": "rinsed"}


def drink(named: dict[str, str], bare: dict[str, str]) -> tuple[list[Any], list[Any]]:
    return [poured("told"), poured("vague")], [thing("told", allergens=named), thing("vague", allergens=bare)]


def cells(found: Any, code: str) -> dict[str, str]:
    row = declared(found, code)
    shown = columns_with(columns_of(code, DAY), [found], code, {})
    return {one.key: state_in(row, one.key, one.members, one.group) for one in shown}


def open_to(lines: Any, things: Any, key: str) -> set[str]:
    asked_for = EvaluationRequest.model_validate(request_of(lines, things, CODES))
    found = evaluate(asked_for, DAY, ["EU"], reference()).declarations or ()
    return {one.rules.code for one in found if left_open(one, key)}


@pytest.mark.parametrize("code", CODES)
@pytest.mark.parametrize("almond", ["contains", "may_contain"])
@pytest.mark.parametrize("nuts", ["contains", "may_contain"])
def test_almond_in_one_item_does_not_tell_the_nuts_of_another(code: str, almond: str, nuts: str) -> None:
    lines, things = drink({"almond": almond}, {"nuts": nuts})
    found = asked(lines, things, (code,))
    row = declared(found, code)
    assert row["partly_unknown"] == ["nuts"]
    assert "nuts are in it is not known (vague)" in row["statement"]
    walnut = {"walnut": "contains"}
    beside = asked([poured("walnut")], [thing("walnut", allergens=walnut)], (code,))
    shown = columns_with(columns_of(code, DAY), [found, beside], code, {})
    [cell] = [state_in(row, one.key, one.members, one.group) for one in shown if one.key == "walnut"]
    assert cell == "unknown"
    assert open_to(lines, things, "walnut") == {*CODES}


def test_an_item_that_names_its_nuts_tells_them_apart() -> None:
    for stated in ({"almond": "contains", "nuts": "contains"}, {"almond": "contains", "hazelnut": "may_contain"}):
        found = asked([poured()], [thing(allergens=stated)], CODES)
        assert [declared(found, code)["partly_unknown"] for code in CODES] == [[]] * 4
    # Traces of nuts that nobody names are others than the almond in it.
    found = asked([poured()], [thing(allergens={"almond": "contains", "nuts": "may_contain"})], CODES)
    assert [declared(found, code)["partly_unknown"] for code in CODES] == [["nuts"]] * 4


@pytest.mark.parametrize("code", ["EU", "AU", "CA"])
def test_wheat_in_one_item_does_not_tell_the_cereals_of_another(code: str) -> None:
    lines, things = drink({"wheat": "contains"}, {"gluten": "contains"})
    assert declared(asked(lines, things, (code,)), code)["partly_unknown"] == ["gluten"]
    assert open_to(lines, things, "rye") >= {code}
    # A distillate is exempt (Annex II 1(d)), and leaves nothing open.
    things[1] |= {"kind": "spirit", "abv_percent": 40, "process": ["distilled"]}
    assert declared(asked(lines, things, (code,)), code)["partly_unknown"] == []


@pytest.mark.parametrize("code", CODES)
def test_a_tool_that_meets_some_nut_leaves_open_which(code: str) -> None:
    """Common practice, no source: a rinsed blender may carry over any of what went through it."""
    told = [thing(allergens={"almond": "contains"})]
    row = declared(asked([poured()], told, (code,), house={"cross_contact": [SOME_NUT]}), code)
    assert row["partly_unknown"] == ["nuts"] and "not known (blender)" in row["statement"]
    named = SOME_NUT | {"allergens": ["hazelnut"]}
    row = declared(asked([poured()], told, (code,), house={"cross_contact": [named]}), code)
    assert row["partly_unknown"] == []


def test_nuts_that_nobody_names_are_open_where_the_law_lists_each_by_itself() -> None:
    """Schedule 9, S9-3 (secondary) lists almond, walnut and the others, and no group of them."""
    lines, things = drink({}, {"nuts": "contains"})
    shown = cells(asked(lines, things, ("AU",)), "AU")
    assert shown["nuts"] == "contains"
    assert {shown[key] for key in ("almond", "walnut", "hazelnut", "cashew")} == {"unknown"}
    assert "AU" in open_to(lines, things, "walnut")

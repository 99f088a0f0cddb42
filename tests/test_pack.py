"""How a drink is sold and how long its packs keep: the drink's own word, then the house's; days by the calendar."""

from datetime import date
from typing import Any

import pytest
from msgspec.structs import replace

from schemas.evaluation import EvaluationRequest
from service.pack import aged, net_quantity_ml, pack_of, sold_as, use_by_date
from service.useby import UseBy
from tests.one_drink import asked as answer_to
from tests.one_drink import poured, request_of, thing

DAY = date(2026, 11, 25)
LIFE = UseBy(30, ("flask", "part"), "part, 30 days once made")


def asked(drink: dict[str, Any], **house: Any) -> EvaluationRequest:
    more: dict[str, Any] = {"house": house} if house else {}
    return EvaluationRequest.model_validate(request_of([poured()], [thing()], drink=drink, **more))


@pytest.mark.parametrize(
    ("own", "house", "expected"),
    [
        (None, None, "poured"), (None, "prepacked", "prepacked"), ("distance", "prepacked", "distance"),
        ("packed_for_direct_sale", "poured", "packed_for_direct_sale"), ("poured", "prepacked", "poured"),
    ],
)  # fmt: skip
def test_the_drinks_own_word_comes_before_the_houses(own: str | None, house: str | None, expected: str) -> None:
    drink = {} if own is None else {"sold_as": own}
    assert sold_as(asked(drink, **({} if house is None else {"sold_as": house}))) == expected


def test_what_the_drink_states_comes_before_what_the_house_states() -> None:
    house = {"sold_as": "prepacked", "storage": "Keep cool", "responsible": "The bar"}
    pack = pack_of(asked({"storage": "Keep at 4 C", "net_ml": "100"}, **house))
    assert pack is not None
    assert (pack.storage, pack.responsible, pack.net_ml, pack.lot) == ("Keep at 4 C", "The bar", "100", None)


def test_a_poured_drink_has_no_pack_unless_packs_of_it_were_made() -> None:
    assert pack_of(asked({"net_ml": "100", "storage": "Keep cool"})) is None
    assert pack_of(asked({"lot": "L1", "sold_as": "poured"})) is None
    found = pack_of(asked({"lot": "L1"}))
    assert found is not None and found.sold_as == "poured"


@pytest.mark.parametrize(("written", "figure"), [("100", 100.0), ("33.3", 33.3), ("0", None), ("0.000", None)])
def test_a_net_quantity_of_nothing_is_none(written: str, figure: float | None) -> None:
    assert net_quantity_ml(pack_of(asked({"net_ml": written, "sold_as": "prepacked"}))) == figure


@pytest.mark.parametrize(
    ("made_on", "days", "ends"),
    [
        # 25 November and 30 days: 25 December. Made on the 15th, ten of them are gone.
        (None, 30, date(2026, 12, 25)), (DAY, 30, date(2026, 12, 25)), (date(2026, 11, 15), 20, date(2026, 12, 15)),
        (date(2026, 10, 20), -6, date(2026, 11, 19)),
        # A later day counts as nothing off, and the life begins on it.
        (date(2026, 12, 1), 30, date(2026, 12, 31)),
    ],
)  # fmt: skip
def test_a_life_is_counted_from_the_day_of_making(made_on: date | None, days: int, ends: date) -> None:
    life = aged(LIFE, "flask", made_on, DAY)
    assert life is not None and life.days == days
    assert use_by_date(life, made_on, DAY) == ends


def test_without_a_life_there_is_no_day() -> None:
    assert use_by_date(aged(None, "flask", DAY, DAY), DAY, DAY) is None
    assert use_by_date(replace(LIFE, days=10**7), None, DAY) is None


@pytest.mark.parametrize(("review_by", "missing"), [("2026-11-25", []), ("2026-11-24", ["allergens"])])
def test_a_panel_is_not_ready_while_a_declaration_is_to_be_renewed(review_by: str, missing: list[str]) -> None:
    """Its own words then say that more may be in it, so that the allergens are not known."""
    evidence = {"document": "Specification", "dated": "2025-01-01", "review_by": review_by}
    drink = {"sold_as": "prepacked", "net_ml": "100", "lot": "L1", "made_on": "2026-11-25", "storage": "Keep cool",
             "responsible": "The bar"}  # fmt: skip
    told = answer_to([poured()], [thing(evidence=evidence, open_life_days=30)], drink=drink)
    assert told["pack"]["panels"] == [{"jurisdiction": "EU", "ready": not missing, "missing": missing}]
    assert ("to be renewed" in told["allergens"]["declarations"][0]["statement"]) is bool(missing)


@pytest.mark.parametrize(
    ("allergens", "codes"),
    [
        ({"nuts": "contains"}, {"EU", "GB", "US", "AU", "CA"}),
        ({"nuts": "contains", "almond": "contains"}, set()),
        ({"almond": "contains"}, set()),
        # Of barley the United States ask nothing, and of a bare gluten whether it is wheat: that is not known.
        ({"gluten": "contains"}, {"EU", "GB", "US", "AU", "CA"}),
        ({"barley": "contains"}, set()),
        ({"nuts": "may_contain"}, set()),
    ],
)
def test_a_label_names_the_nut_and_the_cereal(allergens: dict[str, str], codes: set[str]) -> None:
    """Annex II of Regulation (EU) 1169/2011 lists nuts and cereals "namely" by their names; 21 USC 343(w)(2) asks for
    the type of nut; S9-3 of the Food Standards Code for each by its name. A panel that says "nuts" alone is not ready.
    """
    syrup = thing("syrup", kind="syrup", allergens=allergens)
    found = answer_to([poured("syrup")], [syrup], ("EU", "GB", "US", "AU", "CA"), house={"sold_as": "prepacked"})
    assert {row["jurisdiction"] for row in found["pack"]["panels"] if "allergens" in row["missing"]} == codes


@pytest.mark.parametrize(("other", "lacks"), [(40, False), (41, True), (None, True)])
def test_a_pack_that_may_hold_another_strength_has_none_to_print(other: float | None, lacks: bool) -> None:
    """Annex XII of Regulation (EU) 1169/2011 asks for the strength of what is in the pack; two spirits of one strength
    have one, and of 40 or 41 % vol, or of nobody knows what, a label states the wrong one of some packs."""
    things = [thing("one", kind="spirit", abv_percent=40), thing("other", kind="spirit", abv_percent=other)]
    lines = [poured("one", alternatives=["other"])]
    found = answer_to(lines, things, ("EU",), house={"sold_as": "prepacked"})
    assert ("strength" in found["pack"]["panels"][0]["missing"]) is lacks


SWEET = {"sugars_g": 30, "carbohydrate_g": 30}


@pytest.mark.parametrize(("per_100", "lacks"), [({}, False), (SWEET, True), ({"fat_g": None}, True)])
@pytest.mark.parametrize("code", ["EU", "US"])
def test_a_pack_that_may_hold_other_sugars_has_no_declaration(
    per_100: dict[str, float | None], lacks: bool, code: str
) -> None:
    """Regulation (EU) 1169/2011, Article 31(4), asks for the average of what is in the packs; one of a dry and one of a
    sweet liqueur, of the same strength, have no one declaration. On a line of a part as on one of the drink."""
    other = thing("other", kind="liqueur", abv_percent=40, per_100=per_100)
    other["per_100"] = {name: fact for name, fact in other["per_100"].items() if fact is not None}
    things = [thing("one", kind="liqueur", abv_percent=40), other]
    either = poured("one", alternatives=["other"])
    part = {"id": "part", "name": "Part", "lines": [either]}
    for line in (either, poured("part")):
        found = answer_to([line], things, (code,), preparations=[part], house={"sold_as": "prepacked"})
        assert ("nutrition" in found["pack"]["panels"][0]["missing"]) is lacks

"""Duties: official texts word for word, the day that decides, proposals that never apply, nothing declared as zero."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service import labelling
from service.duties import Duty, Sale, duties, menu_calories
from service.rules import jurisdiction
from tests.campaign import DERANDOMIZED, EXAMPLES
from tests.one_drink import answer_to, asked, poured, request_of, thing, varied

TODAY = date(2026, 11, 25)
SPIRIT = thing("spirit", kind="spirit", abv_percent=40)


def found(code: str, sold_as: str = "prepacked", day: date = TODAY, abv: float | None = 40, **more: Any) -> list[Duty]:
    return list(duties(jurisdiction(code).on(day), Sale(sold_as, abv, **more)))


def texts(rows: list[Duty], applies: str = "applies") -> dict[str, str]:
    return {row.statement.key: row.statement.text for row in rows if row.applies == applies}


def rows(codes: list[str], day: date = TODAY, things: Any = (SPIRIT,), **more: Any) -> list[Any]:
    lines = more.pop("lines", [poured("spirit", "50 ml")])
    answered = answer_to(request_of(lines, things, codes, as_of=day.isoformat(), **more))
    listed: list[Any] = answered["duties"]
    return listed


PREPACKED: Any = {"house": {"sold_as": "prepacked"}}


# Official texts, word for word.


def test_the_government_warning_word_for_word() -> None:
    # 27 CFR 16.21.
    assert texts(found("US"))["health_warning"] == (
        "GOVERNMENT WARNING: (1) According to the Surgeon General, women should not drink alcoholic beverages during "
        "pregnancy because of the risk of birth defects. (2) Consumption of alcoholic beverages impairs your ability "
        "to drive a car or operate machinery, and may cause health problems."
    )


@pytest.mark.parametrize(
    ("code", "key", "day", "text"),
    [
        # SI 249/2023, regulation 5(1); its regulation 5(3) from memory.
        ("IE", "warning_liver", date(2028, 9, 1), "Drinking alcohol causes liver disease"),
        ("IE", "warning_cancer", date(2028, 9, 1), "There is a direct link between alcohol and fatal cancers"),
        # Standard 2.7.1, pregnancy warning labels, from memory.
        ("AU", "pregnancy_warning", TODAY, "PREGNANCY WARNING: Alcohol can cause lifelong harm to your baby"),
        ("NZ", "pregnancy_warning", TODAY, "PREGNANCY WARNING: Alcohol can cause lifelong harm to your baby"),
    ],
)
def test_warnings_word_for_word(code: str, key: str, day: date, text: str) -> None:
    assert texts(found(code, day=day))[key] == text


@pytest.mark.parametrize(
    ("code", "key", "abv", "measure", "under", "at", "text"),
    [
        # Regulation (EU) 1169/2011, Annex III 4.1: over 150 mg/l.
        ("EU", "high_caffeine", 0, "caffeine_mg", 150, 150.01,
         "High caffeine content. Not recommended for children or pregnant or breast-feeding women"),
        # Annex III 3.1: 10 mg/l or more; 3.3: 50 mg/l or more, over 1.2 % vol 300 mg/l or more.
        ("EU", "liquorice", 0, "glycyrrhizin_mg", 9.99, 10, "contains liquorice"),
        ("EU", "liquorice_hypertension", 1.2, "glycyrrhizin_mg", 49.9, 50,
         "contains liquorice – people suffering from hypertension should avoid excessive consumption"),
        ("EU", "liquorice_hypertension_alcohol", 1.3, "glycyrrhizin_mg", 299.9, 300,
         "contains liquorice – people suffering from hypertension should avoid excessive consumption"),
        # 27 CFR 4.32(e): 10 parts per million or more.
        ("US", "sulfites", 12, "sulphites_mg", 9.99, 10, "Contains sulfites"),
        # Schedule 9, S9-2.
        ("AU", "quinine", 0, "quinine_mg", 0, 0.1, "contains quinine"),
    ],
)  # fmt: skip
def test_a_text_is_due_by_what_a_litre_holds(
    code: str, key: str, abv: float, measure: str, under: float, at: float, text: str
) -> None:
    assert key not in texts(found(code, abv=abv, per_l={measure: under}))
    assert texts(found(code, abv=abv, per_l={measure: at}))[key] == text
    # More than is known may be there, so the duty is not taken off; it is said to be open.
    [open_row] = [
        row
        for row in found(code, abv=abv, per_l={measure: under}, more_of=frozenset([measure]))
        if row.statement.key == key
    ]
    assert measure in open_row.missing and open_row.applies == "not known"


def test_the_statements_of_a_chain_come_with_the_option_alone() -> None:
    # 21 CFR 101.11(b)(2)(i)(B) and (C), wording from memory.
    keys = ("succinct_statement", "written_available")
    without = texts(found("US", "poured"))
    assert not set(keys) & set(without)
    chosen = texts(found("US", "poured", options=frozenset(["chain_menu"])))
    assert [chosen[key] for key in keys] == [
        "2,000 calories a day is used for general nutrition advice, but calorie needs vary.",
        "Additional nutrition information available upon request.",
    ]


def test_the_daily_energy_of_england_leaves_alcohol_out() -> None:
    # SI 2021/909: the words; drinks over 1.2 % vol are exempt.
    assert texts(found("GB-ENG", "poured", abv=1.2))["daily_energy"] == "adults need around 2000 kcal a day"
    assert "daily_energy" not in texts(found("GB-ENG", "poured", abv=1.21))
    assert "daily_energy" not in texts(found("GB-SCT", "poured", abv=0))


# The day decides.


@pytest.mark.parametrize(
    ("code", "key", "before", "since"),
    [
        # Deferred from 22 May 2026 to September 2028; the day in September is not known, so its first is held.
        ("IE", "warning_liver", date(2028, 8, 31), date(2028, 9, 1)),
        ("IE", "container_label", date(2028, 8, 31), date(2028, 9, 1)),
        # P1059: mandatory from 13 August 2028.
        ("AU", "energy_statement", date(2028, 8, 12), date(2028, 8, 13)),
        ("NZ", "energy_statement", date(2028, 8, 12), date(2028, 8, 13)),
    ],
)
def test_an_adopted_rule_applies_from_its_day(code: str, key: str, before: date, since: date) -> None:
    def applies(day: date) -> list[str]:
        return [row.applies for row in found(code, day=day) if row.statement.key == key]

    assert applies(TODAY) == applies(before) == [f"from {since.isoformat()}"]
    assert applies(since) == ["applies"]
    assert key not in {row.key for row in labelling.statements(jurisdiction(code).on(before), 40, "prepacked")}
    assert key in {row.key for row in labelling.statements(jurisdiction(code).on(since), 40, "prepacked")}


def test_a_rule_is_not_known_of_before_it_was_adopted() -> None:
    # P1059 was gazetted on 13 August 2025.
    def keys(day: date) -> set[str]:
        return {row.statement.key for row in found("AU", day=day)}

    assert "energy_statement" not in keys(date(2025, 8, 12))
    assert "energy_statement" in keys(date(2025, 8, 13))


@pytest.mark.parametrize(
    ("code", "key"), [("US", "alcohol_facts"), ("US", "allergens_on_label"), ("JP", "cashew_mandatory")]
)
def test_a_proposal_is_shown_and_never_applied(code: str, key: str) -> None:
    # TTB Notices 237 and 238 (17 January 2025); the draft of 26 December 2025.
    for day in (TODAY, date(2040, 1, 1)):
        [row] = [row for row in found(code, day=day) if row.statement.key == key]
        assert row.applies == "proposal"
        assert key not in {one.key for one in jurisdiction(code).on(day).statements}
    assert key not in {row.statement.key for row in found(code, day=date(2025, 1, 16))}
    assert "cashew" not in jurisdiction("JP").on(date(2040, 1, 1)).allergens.listed


# One drink under two jurisdictions.


def test_one_drink_under_two_jurisdictions_carries_each_ones_text() -> None:
    listed = rows(["US", "AU"], **PREPACKED)
    official = {row["jurisdiction"]: row["statement"] for row in listed if row["statement"]}
    assert official["US"].startswith("GOVERNMENT WARNING: (1)")
    assert official["AU"] == "PREGNANCY WARNING: Alcohol can cause lifelong harm to your baby"
    for row in listed:
        assert row["article"] and row["applies_to"] and row["standing"] in ("confirmed", "secondary", "memory")
        assert "not legal advice" in row["defer"]
        assert (row["asks"] is None) is (row["statement"] is not None)
    defer = {row["jurisdiction"]: row["defer"] for row in listed}
    assert defer["US"] != defer["AU"]


def test_wine_has_rules_of_its_own_and_a_mixed_drink_has_not() -> None:
    wine = thing("wine", kind="wine", abv_percent=12)
    keys = {row["code"] for row in rows(["EU"], things=[wine], lines=[poured("wine")], **PREPACKED)}
    assert "wine_label" in keys
    mixed = rows(["EU"], things=[wine, SPIRIT], lines=[poured("wine"), poured("spirit", "10 ml")], **PREPACKED)
    assert "wine_label" not in {row["code"] for row in mixed}


def test_duties_are_left_out_where_no_label_section_is_asked_for() -> None:
    assert "duties" not in answer_to(request_of([poured("spirit")], [SPIRIT], ["US"], include=["cost"]))
    assert "duties" in answer_to(request_of([poured("spirit")], [SPIRIT], ["US"], include=["nutrition"]))


# What is not known is named, and nothing stands in its place.


def test_a_panel_that_lacks_a_datum_says_so_and_declares_nothing() -> None:
    vague = thing("vague", abv_percent=None, kind="liqueur")
    listed = rows(["AU", "IE"], date(2028, 9, 1), things=[vague], lines=[poured("vague")], **PREPACKED)
    panels = {row["code"]: row for row in listed if row["code"] in ("energy_statement", "container_label")}
    assert set(panels) == {"energy_statement", "container_label"}
    assert {"abv_percent", "energy_kj", "standard_drinks"} <= set(panels["energy_statement"]["missing"])
    assert {"ethanol_g", "energy_kcal"} <= set(panels["container_label"]["missing"])
    for row in panels.values():
        assert row["refused"].startswith("Not known: ") and row["declaration"] is None
        assert "0" not in row["refused"]


def test_a_serve_does_not_say_how_much_a_package_holds() -> None:
    [row] = [row for row in rows(["EU"], **PREPACKED) if row["code"] == "net_quantity"]
    assert row["missing"] == ["net_quantity_ml"]


# Calories of a chain's menu: FDA key facts and draft guidance 7.2 and 7.3 give the shapes 400/550 and 850-1150.


@pytest.mark.parametrize(
    ("low", "high", "options", "text"),
    [
        (400, 550, 2, "400/550 Cal"),
        (850, 1150, 3, "850-1150 Cal"),
        (120, 120, 5, "120 Cal"),
        # 21 CFR 101.9(c)(1): to 50 the nearest 5, over 50 the nearest 10, under 5 may be 0.
        (147, 153, 2, "150 Cal"),
        (47, 248, 2, "45/250 Cal"),
        (4.9, 4.9, 1, "0 Cal"),
        (5, 5, 1, "5 Cal"),
        (145, 145, 1, "150 Cal"),
    ],
)
def test_menu_calories(low: float, high: float, options: int, text: str) -> None:
    shown = menu_calories(jurisdiction("US").on(TODAY), low, high, options)
    assert shown is not None and shown.text == text


def test_menu_calories_of_what_is_not_known_are_no_zero() -> None:
    shown = menu_calories(jurisdiction("US").on(TODAY), None, 200, 2)
    assert shown is not None and shown.text is None and shown.reason
    assert menu_calories(jurisdiction("GB").on(TODAY), 100, 100, 1) is None


@given(st.floats(0, 5000), st.floats(0, 5000), st.integers(1, 9))
@settings(max_examples=EXAMPLES, derandomize=DERANDOMIZED, deadline=None)
def test_menu_calories_of_any_choice(one: float, other: float, options: int) -> None:
    low, high = sorted((one, other))
    shown = menu_calories(jurisdiction("US").on(TODAY), low, high, options)
    assert shown is not None and shown.text is not None and shown.text.endswith(" Cal")
    figures = [Decimal(part) for part in shown.text.removesuffix(" Cal").replace("/", "-").split("-")]
    assert len(figures) <= 2 and figures == sorted(set(figures))
    for figure, kcal in zip((figures[0], figures[-1]), (low, high), strict=True):
        assert abs(float(figure) - kcal) <= 5.0001


SYRUPS = [
    # 100 ml x 10, 20 and 30 g of sugars in 100 ml x 4 kcal/g (21 CFR 101.9(c)(1)(i)): 40, 80, 120 kcal.
    thing(f"syrup-{grams}", per_100={"sugars_g": grams, "carbohydrate_g": grams})
    for grams in (10, 20, 30)
]


@pytest.mark.parametrize(
    ("others", "text"),
    [([], "40 Cal"), (["syrup-30"], "40/120 Cal"), (["syrup-20", "syrup-30"], "40-120 Cal")],
)
def test_a_drink_with_alternatives_has_both_or_a_range(others: list[str], text: str) -> None:
    line = poured("syrup-10", "100 ml", **({"alternatives": others} if others else {}))
    listed = rows(["US"], things=SYRUPS, lines=[line], house={"chain_menu": True})
    [row] = [row for row in listed if row["code"] == "menu_calories"]
    assert row["declaration"] == text
    assert row["refused"] is None
    plain = rows(["US"], things=SYRUPS, lines=[line])
    [row] = [row for row in plain if row["code"] == "menu_calories"]
    assert row["declaration"] is None and "20 or more locations" in row["applies_to"]


def test_two_choices_on_two_lines_are_four_drinks() -> None:
    lines = [poured("syrup-10", "100 ml", alternatives=["syrup-20"]) for _ in range(2)]
    listed = rows(["US"], things=SYRUPS, lines=lines, house={"chain_menu": True})
    # 40 + 40 to 80 + 80 kcal.
    assert [row["declaration"] for row in listed if row["code"] == "menu_calories"] == ["80-160 Cal"]


def test_an_alternative_of_unknown_energy_leaves_nothing_to_declare() -> None:
    vague = {"id": "vague", "name": "Vague", "kind": "liqueur", "abv_percent": 20}
    lines = [poured("syrup-10", "100 ml", alternatives=["vague"])]
    listed = rows(["US"], things=[*SYRUPS, vague], lines=lines, house={"chain_menu": True})
    [row] = [row for row in listed if row["code"] == "menu_calories"]
    assert row["declaration"] is None and "no zero" in row["refused"]


def test_alternatives_inside_a_part_leave_nothing_to_declare() -> None:
    # The part may be made with either syrup; which is richer is not carried through the part.
    part = {"id": "part", "name": "Part", "lines": [poured("syrup-10", "100 ml", alternatives=["syrup-30"])]}
    listed = rows(
        ["US"], things=SYRUPS, lines=[poured("part", "50 ml")], preparations=[part],
        house={"chain_menu": True},
    )  # fmt: skip
    [row] = [row for row in listed if row["code"] == "menu_calories"]
    assert row["declaration"] is None and "no zero" in row["refused"]


# What a guest may change. 21 CFR 101.11: two options with a slash, more as a range (FDA key facts); what is added is
# told apart (secondary); a custom order is exempt (from memory).


def chain_row(modifiers: list[Any], lines: list[Any] | None = None, **more: Any) -> Any:
    lines = lines or [poured("syrup-10", "100 ml")]
    listed = rows(
        ["US"], things=SYRUPS, lines=lines, drink={"modifiers": modifiers}, house={"chain_menu": True}, **more
    )
    [row] = [row for row in listed if row["code"] == "menu_calories"]
    return row


def modifier(name: str, **change: Any) -> Any:
    return {"id": name, "name": name.capitalize(), **change}


OTHER = modifier("other", replace=[{"item": "syrup-10", "with": "syrup-30"}])
DOUBLE = modifier("double", scale="2")
MORE = modifier("more", add=[poured("syrup-20", "50 ml")])
WITHOUT = modifier("without", remove=["syrup-10"])


@pytest.mark.parametrize(
    ("modifiers", "text"),
    [
        # 100 ml hold 40 kcal; with the other syrup 120; of the double 80.
        ([OTHER], "40/120 Cal"),
        ([DOUBLE], "40/80 Cal"),
        ([OTHER, DOUBLE], "40-120 Cal"),
    ],
)
def test_what_a_guest_may_choose_is_a_choice(modifiers: list[Any], text: str) -> None:
    row = chain_row(modifiers)
    assert (row["declaration"], row["add_ons"], row["refused"]) == (text, [], None)


def test_what_is_only_added_is_told_apart() -> None:
    # 50 ml x 20 g in 100 ml x 4 kcal/g = 40 kcal.
    row = chain_row([MORE, OTHER])
    assert row["declaration"] == "40/120 Cal"
    assert row["add_ons"] == [{"modifier": "more", "name": "More", "text": "adds 40 Cal"}]


def test_what_is_only_left_out_is_a_custom_order() -> None:
    lines = [poured("syrup-10", "100 ml"), poured("syrup-20", "100 ml")]
    assert chain_row([WITHOUT], lines)["declaration"] == "120 Cal"


def test_a_drink_that_is_sold_with_a_modifier_is_that_drink() -> None:
    request = request_of(
        [poured("syrup-10", "100 ml")], SYRUPS, ["US"],
        drink={"modifiers": [DOUBLE, OTHER]}, house={"chain_menu": True}, **{"with": ["double"]},
    )  # fmt: skip
    [row] = [row for row in varied(request)["duties"] if row["code"] == "menu_calories"]
    assert row["declaration"] == "80 Cal"


def test_a_choice_of_unknown_energy_or_that_cannot_be_made_leaves_nothing_to_declare() -> None:
    vague = {"id": "vague", "name": "Vague", "kind": "liqueur", "abv_percent": 20}
    swap = modifier("swap", replace=[{"item": "syrup-10", "with": "vague"}])
    listed = rows(
        ["US"], things=[*SYRUPS, vague], lines=[poured("syrup-10", "100 ml")], drink={"modifiers": [swap]},
        house={"chain_menu": True},
    )  # fmt: skip
    [row] = [row for row in listed if row["code"] == "menu_calories"]
    assert row["declaration"] is None and "no zero" in row["refused"]
    gone = modifier("gone", replace=[{"item": "syrup-20", "with": "syrup-30"}])
    assert chain_row([gone])["declaration"] is None
    added = modifier("added", add=[{"item": "vague", "amount": "10 ml"}])
    listed = rows(
        ["US"], things=[*SYRUPS, vague], lines=[poured("syrup-10", "100 ml")], drink={"modifiers": [added]},
        house={"chain_menu": True},
    )  # fmt: skip
    [row] = [row for row in listed if row["code"] == "menu_calories"]
    assert row["declaration"] == "40 Cal" and row["add_ons"][0]["text"] == "not known"


@pytest.mark.parametrize(
    ("code", "key", "sold_as", "abv", "more", "standing"),
    [
        # Regulation (EU) 2019/787, Article 2; Regulation (EU) 1169/2011, Annex VII D and Article 34(5).
        ("EU", "spirit_drink_names", "prepacked", 20, {}, "confirmed"),
        ("EU", "quinine_named", "prepacked", 5, {"per_l": {"quinine_mg": 1}}, "secondary"),
        ("EU", "negligible_amounts", "prepacked", 5, {}, "secondary"),
        # SR (NI) 2005/198 had the same thresholds; as assimilated, from memory.
        ("GB", "liquorice", "prepacked", 5, {"per_l": {"glycyrrhizin_mg": 10}}, "memory"),
        # HSE: 11 standard drinks a week for women, 17 for men.
        ("IE", "low_risk_guideline", "poured", 20, {}, "confirmed"),
        # 27 CFR 4.36(b) for wine alone; 21 CFR 172.575.
        ("US", "strength_on_wine", "prepacked", 12, {"kind": "wine"}, "secondary"),
        ("US", "quinine_declared", "prepacked", 0, {"per_l": {"quinine_mg": 1}}, "confirmed"),
        ("AU", "guarana", "prepacked", 5, {"per_l": {"caffeine_mg": 1}}, "confirmed"),
        ("AU", "nhmrc_guideline", "poured", 12, {}, "confirmed"),
    ],
)  # fmt: skip
def test_a_duty_says_its_article_or_guidance_and_its_standing(
    code: str, key: str, sold_as: str, abv: float, more: Any, standing: str
) -> None:
    [row] = [row for row in found(code, sold_as, abv=abv, **more) if row.statement.key == key]
    assert (row.applies, row.statement.standing) == ("applies", standing)
    assert row.statement.article or row.statement.source


def test_the_notice_of_irish_premises_waits_for_its_day() -> None:
    # Deferred to September 2028 with the rest of section 12.
    [row] = [row for row in found("IE", "poured") if row.statement.key == "premises_notice"]
    assert row.applies == "from 2028-09-01"


def test_a_packed_drink_with_aspartame_has_the_statements_of_each_place() -> None:
    """Annex III, 2.1 and 2.3 of Regulation (EU) 1169/2011 (seen in a copy), for a member as for the Union; the US text
    and Schedule 9 from memory."""
    rows = asked([poured("cola-aspartame")], [], ("FR", "US", "NZ"), **PREPACKED)["duties"]
    told = {(row["jurisdiction"], row["code"]): row["statement"] or row["asks"] for row in rows}
    assert told["FR", "sweetener"] == "with sweetener(s)"
    assert told["FR", "aspartame"] == "contains a source of phenylalanine"
    assert told["US", "aspartame"] == "PHENYLKETONURICS: CONTAINS PHENYLALANINE"
    assert "phenylalanine" in told["NZ", "aspartame"]
    plain = asked([poured("cola")], [], ("FR", "US", "NZ"), **PREPACKED)["duties"]
    assert not {"sweetener", "aspartame"} & {row["code"] for row in plain}


def test_polyols_that_are_not_known_leave_their_statement_open() -> None:
    """Annex III, 2.4: more than 10 %; 10.01 g in 100 ml is, 10 is not, and a drink of which nobody says is open."""
    for grams, applies in ((10.01, ["applies"]), (10, []), (None, ["not known"])):
        per_100 = {"polyols_g": grams, "carbohydrate_g": grams}
        drink = thing("t", per_100={key: one for key, one in per_100.items() if one is not None})
        if grams is None:
            del drink["per_100"]["polyols_g"]
        rows = asked([poured("t")], [drink], ("EU",), **PREPACKED)["duties"]
        assert [row["applies"] for row in rows if row["code"] == "polyols"] == applies


def test_a_content_is_judged_with_the_alternative_that_has_most_of_it() -> None:
    """Annex III, 4.1: over 150 mg/l. What may be poured instead holds 500, 100 or nobody knows how much."""
    for milligrams, applies in ((50, ["applies"]), (10, []), (None, ["not known"])):
        other = thing("hot", per_100={"caffeine_mg": milligrams})
        if milligrams is None:
            del other["per_100"]["caffeine_mg"]
        rows = asked([poured("cold", alternatives=["hot"])], [thing("cold"), other], ("EU",), **PREPACKED)["duties"]
        assert [row["applies"] for row in rows if row["code"] == "high_caffeine"] == applies

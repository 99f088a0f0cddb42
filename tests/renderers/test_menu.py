"""The menu: every demo drink, the words its jurisdiction gives it, a matrix that words alone explain."""

import re
import xml.etree.ElementTree as ET
from typing import Any

import pytest

from service.renderers.menu import STAFF, MenuRow, menu_of
from service.renderers.regime import allergen_names, columns_of
from service.rules import rules
from tests.asked import DAY
from tests.renderers.answers import DRINKS, GUEST_SECTIONS, answer_to, body_of, demo_answer
from tests.renderers.test_sheet import flat

H = "{http://www.w3.org/1999/xhtml}"


def _page(code: str | None = "NL", answers: list[dict[str, Any]] | None = None, rows: Any = None) -> str:
    given = answers if answers is not None else [demo_answer(drink_id) for drink_id in DRINKS]
    columns = () if code is None else columns_of(code, DAY)
    names = {} if code is None else allergen_names(code, DAY)
    return menu_of(given, rows, jurisdiction=code, columns=columns, allergen_names=names)


def _matrix(page: str) -> dict[str, dict[str, str]]:
    """Words of each cell by drink and by column."""
    table = ET.fromstring(page).find(f".//{H}table")
    assert table is not None
    heads = ["".join(one.itertext()) for one in table.iterfind(f"{H}thead/{H}tr/{H}th")]
    found = {}
    for row in table.iterfind(f"{H}tbody/{H}tr"):
        head = row.find(f"{H}th")
        assert head is not None and head.get("scope") == "row"
        cells = [one.findall(f"{H}span")[1].text or "" for one in row.iterfind(f"{H}td")]
        found["".join(head.itertext())] = dict(zip(heads[1:], cells, strict=True))
    return found


def test_every_demo_drink_is_on_it_in_the_words_of_its_jurisdiction() -> None:
    text = flat(_page("US"))
    for drink_id in DRINKS:
        answer = demo_answer(drink_id)
        assert answer["drink"]["name"] in text
        packed = "pack" in answer
        for key in ("label" if packed else "menu_text", "standard_drinks"):
            row = next(row for row in answer["alcohol"][key] if row["jurisdiction"] == "US")
            assert (row["text"] or "Strength not known") in text
        assert ("Net quantity: 100 ml" in text) or not packed
        assert next(r for r in answer["allergens"]["declarations"] if r["jurisdiction"] == "US")["statement"] in text


def test_the_matrix_has_every_allergen_of_the_regime_and_its_members_where_declared() -> None:
    """Regulation (EU) 1169/2011, Annex II: fourteen, in this order."""
    fourteen = [
        "cereals containing gluten", "crustaceans", "eggs", "fish", "peanuts", "soybeans", "milk", "nuts", "celery",
        "mustard", "sesame", "sulphites", "lupin", "molluscs",
    ]  # fmt: skip
    columns = list(_matrix(_page())["Fog Signal"])
    assert [name for name in columns if name in fourteen] == fourteen
    assert columns.index("almond") == columns.index("nuts") + 1


def test_a_cell_says_in_words_what_the_declaration_says() -> None:
    matrix = _matrix(_page())
    assert matrix["Almond Pier"]["almond"] == "contains"
    assert matrix["Wickwarden Sour"]["eggs"] == "contains"
    assert matrix["Wickwarden Sour"]["almond"] == "may contain"
    assert matrix["Wickwarden Sour"]["sulphites"] == "not known"
    # The barley of a pot still is exempt as distilled, which is not the same as not being there.
    assert matrix["Wickwarden Sour"]["cereals containing gluten"].startswith("exempt")
    assert matrix["Night Watch Toddy"]["fish"] == "not declared"


def test_a_member_of_a_group_that_is_not_known_is_not_known() -> None:
    """Unknown is never shown as absent: of Ballast Line nobody says whether there are nuts in it, nor which."""
    declaration = next(
        row for row in demo_answer("ballast-line")["allergens"]["declarations"] if row["jurisdiction"] == "NL"
    )
    assert "nuts" in declaration["unknown"] and "almond" not in str(declaration["statement"])
    row = _matrix(_page("NL"))["Ballast Line"]
    assert row["nuts"] == row["almond"] == "not known"


def test_every_sign_of_the_matrix_is_explained_in_words() -> None:
    page = _page()
    text = flat(page)
    signs = set(re.findall(r'<span aria-hidden="true">([^<]+)</span>', page))
    assert signs == {"C", "M", "?", "E", "–"}
    for words in ("C contains.", "M may contain", "? not known", "– not declared", "E exempt"):
        assert words in text
    answer = demo_answer("almond-pier")
    answer["allergens"]["declarations"][0]["partly_unknown"] = ["nuts"]
    partly = _page("NL", [answer])
    assert _matrix(partly)["Almond Pier"]["nuts"] == "contains, and which others is not known"
    assert "C ? contains" in flat(partly)


def test_a_member_is_exempt_where_its_group_is_exempt_as_a_whole() -> None:
    """Contract, arithmetic 1 and 7: a spirit of gluten cereals that nobody names may be of wheat, exempt by Annex
    II 1(d) of Regulation (EU) 1169/2011; beside a drink with wheat, "not declared by any part" was not true of it."""
    spirit = {"id": "grain", "name": "Grain", "kind": "spirit", "abv_percent": 40, "process": ["distilled"],
              "allergens": {"gluten": "contains"}, "allergens_declared": "complete"}  # fmt: skip
    barley = spirit | {"id": "malt", "name": "Malt", "allergens": {"barley": "contains"}}
    soda = {"id": "soda", "name": "Wheat soda", "kind": "mixer", "abv_percent": 0,
            "allergens": {"wheat": "contains"}, "allergens_declared": "complete"}  # fmt: skip
    answers = [
        answer_to({"drink": {"id": one["id"], "name": one["name"], "lines": [{"item": one["id"], "amount": "50 ml"}]},
                   "ingredients": [one], "jurisdictions": ["NL"], "as_of": DAY.isoformat()})
        for one in (spirit, barley, soda)
    ]  # fmt: skip
    matrix = _matrix(_page("NL", answers))
    assert matrix["Wheat soda"]["wheat"] == "contains"
    for column in ("cereals containing gluten", "wheat"):
        assert matrix["Grain"][column].startswith("exempt")
    # Of the malt spirit the cereal is named, and it is not wheat.
    assert matrix["Malt"]["wheat"] == "not declared"


def test_a_chain_menu_says_which_calories_are_not_known() -> None:
    """21 CFR 101.11(b)(2)(i)(A): calories beside each standard item; one without them says why, and no zero stands."""
    liqueur = {"id": "u", "name": "U", "kind": "liqueur", "abv_percent": 20}
    body = {"drink": {"id": "u", "name": "Unmeasured", "lines": [{"item": "u", "amount": "50 ml"}]},
            "ingredients": [liqueur], "jurisdictions": ["US"], "as_of": DAY.isoformat()}  # fmt: skip
    chain = answer_to(body | {"house": {"chain_menu": True}})
    duty = next(row for row in chain["duties"] if row["code"] == "menu_calories")
    assert duty["declaration"] is None and duty["missing"] == ["energy_kcal"]
    assert "Calories not known" in flat(_page("US", [chain]))
    assert "Calories not known" not in flat(_page("US", [answer_to(body)]))  # No chain: nothing is asked for.


def test_a_drink_without_allergens_in_its_answer_is_unknown_throughout() -> None:
    answer = answer_to(body_of("fog-signal", include=["alcohol"]))
    page = _page("NL", [answer])
    assert set(_matrix(page)["Fog Signal"].values()) == {"not known"}
    assert "Nothing here says that the drink is free of any." in flat(page)


def test_a_jurisdiction_that_was_not_asked_for_is_unknown_throughout() -> None:
    page = _page("JP", [demo_answer("night-watch-toddy")])
    assert set(_matrix(page)["Night Watch Toddy"].values()) == {"not known"}
    assert "Strength not known" in flat(page)


def test_a_strength_that_nobody_knows_is_said_once() -> None:
    unsaid = {"id": "unsaid", "name": "Unsaid liqueur", "kind": "liqueur"}
    drink = {"id": "riddle", "name": "Riddle", "lines": [{"item": "unsaid", "amount": "40 ml"}]}
    asked = {"drink": drink, "ingredients": [unsaid], "jurisdictions": ["GB"], "as_of": "2026-11-25"}
    text = flat(_page("GB", [answer_to(asked)]))
    assert "Strength not known" in text and "Strength not known · not known" not in text


def test_sections_prices_and_descriptions_are_printed_as_given() -> None:
    answers = [demo_answer("fog-signal"), demo_answer("long-jetty"), demo_answer("drift-ice")]
    rows = [MenuRow("Short", "13.50", "Smoke and lime.", "EUR"), MenuRow("Long", "€ 9"), MenuRow("Short")]
    page = _page("NL", answers, rows)
    text = flat(page)
    assert "Smoke and lime." in text and "13.50 EUR" in text and "€ 9" in text
    heads = ["".join(one.itertext()) for one in ET.fromstring(page).iter(f"{H}h2")]
    assert heads == ["Short", "Long", "Allergens by drink", "For the staff: what the law may ask for"]
    assert text.index("Drift Ice") < text.index("Long Jetty")


def test_it_defers_to_staff_and_local_codes_and_tells_of_pregnancy_once() -> None:
    text = flat(_page())
    assert "Ask the staff about allergens before you order." in text
    assert "local codes and licensed practice decide" in text
    assert text.count("the safest choice in pregnancy is none") == 1


def test_cautions_for_guests_are_on_it_and_those_for_staff_are_not() -> None:
    text = flat(_page())
    assert "Raw or lightly cooked egg." in text
    assert "extinguisher" not in text and "chargers" not in text
    assert "could not be checked" not in text  # A limit of the house is for those who serve.
    known = {row.key for row in rules().advisories} | {"time_and_temperature", "house_limit_not_checked"}
    assert known >= STAFF


@pytest.mark.parametrize("drink_id", DRINKS)
def test_no_cost_is_on_it_even_where_the_answer_has_one(drink_id: str) -> None:
    with_cost = _page("NL", [demo_answer(drink_id)])
    without = _page("NL", [answer_to(body_of(drink_id, include=GUEST_SECTIONS))])
    assert with_cost == without


def test_rows_and_answers_go_together() -> None:
    with pytest.raises(ValueError, match="zip"):
        _page("NL", [demo_answer("fog-signal")], [])


def test_the_annex_for_the_staff_has_each_duty_once_with_the_drinks_it_is_about() -> None:
    answers = [answer_to(body_of(one, jurisdictions=["GB-ENG"])) for one in ("fog-signal", "sober-tide")]
    page = _page("GB-ENG", answers)
    [annex] = ET.fromstring(page).iter(f"{H}aside")
    text = " ".join(" ".join(annex.itertext()).split())
    assert text.count("Allergens of what is poured") == 1
    # SI 2021/909 leaves drinks over 1.2 % vol out, so that it is about the one without alcohol alone.
    assert "Calories on menus May apply now" in text and "About Sober Tide." in text
    assert "Food Information Regulations 2014, SI 2014/1855, regulation 5" in text
    assert "is for the local food authority or trading standards to say; this is not legal advice." in text


def test_a_chains_menu_in_the_united_states_states_calories_beside_name_and_price() -> None:
    # 21 CFR 101.11(b)(2)(i): adjacent to name or price, with both statements (wording from memory).
    body = body_of("fog-signal", jurisdictions=["US"])
    syrup = {"id": "syrup", "name": "Syrup", "kind": "syrup", "abv_percent": 0,
             "per_100": {"basis": "ml", "sugars_g": 10, "carbohydrate_g": 10, "protein_g": 0, "fat_g": 0, "fibre_g": 0,
                         "polyols_g": 0, "acids_g": {}}}  # fmt: skip
    more = {"id": "more", "name": "more syrup", "add": [{"item": "syrup", "amount": "50 ml"}]}
    drink = {"id": "sweet", "name": "Sweet", "lines": [{"item": "syrup", "amount": "100 ml"}], "modifiers": [more]}
    asked = {"drink": drink, "ingredients": [syrup], "jurisdictions": ["US"], "as_of": DAY.isoformat()}
    plain, chain = answer_to(asked), answer_to(asked | {"house": {"chain_menu": True}})
    page = _page("US", [chain, answer_to(body)], [MenuRow(price="9.00"), MenuRow()])
    prices = ["".join(one.itertext()) for one in ET.fromstring(page).iter(f"{H}p") if one.get("class") == "price"]
    # 100 ml x 10 g in 100 ml x 4 kcal/g; the add-on half of it.
    assert prices == ["40 Cal · 9.00"]
    text = flat(page)
    assert "with more syrup: adds 20 Cal" in text
    for words in ("2,000 calories a day is used", "Additional nutrition information available upon request."):
        assert words in text
    assert "Cal ·" not in flat(_page("US", [plain])) and "2,000 calories" not in flat(_page("US", [plain]))

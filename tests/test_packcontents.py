"""Alcohol and energy of whole packs against published counts of standard drinks and the factors of the laws."""

from typing import Any

import pytest

from service.renderers.label import label_of
from tests.one_drink import answer_to, asked, poured, request_of, thing
from tests.renderers.test_label import words


def bought(abv: float | None, **facts: Any) -> dict[str, Any]:
    return thing("bottle", kind="wine", abv_percent=abv, **facts)


def contents(abv: float | None, net_ml: str | None, code: str, day: str = "2026-11-25", **more: Any) -> dict[str, Any]:
    drink = {"sold_as": "prepacked", **({} if net_ml is None else {"net_ml": net_ml}), **more}
    found = asked([poured("bottle")], [bought(abv)], (code,), drink=drink, as_of=day)["pack"]
    [row] = found["contents"]
    return dict(row) | {"panel": found["panels"][0]["missing"]}


def printed(row: dict[str, Any]) -> dict[str, str | None]:
    return {one["what"]: one["text"] for one in row["printed"]}


@pytest.mark.parametrize(
    ("code", "net_ml", "abv", "text"),
    [
        # NHS and Alcohol Change UK (seen): a bottle of 750 ml of 13 % holds 9.8 units, 330 ml of 5 % 1.7.
        ("GB", "750", 13, "9.8 units"), ("GB", "330", 5, "1.7 units"), ("GB", "700", 40, "28.0 units"),
        # Department of Health, Australia (seen): 750 ml of 13 % are 7.7, 700 ml of 40 % 22, 375 ml of 4.9 % 1.4.
        ("AU", "750", 13, "7.7 standard drinks"), ("AU", "700", 40, "22 standard drinks"),
        ("AU", "375", 4.9, "1.4 standard drinks"), ("NZ", "750", 13, "7.7 standard drinks"),
        # Standard 2.7.1 (from memory): one decimal up to 10, the whole number over it; 4 litres of 13 %: 41.03.
        ("AU", "4000", 13, "41 standard drinks"), ("AU", "1267", 10, "10.0 standard drinks"),
    ],
)  # fmt: skip
def test_standard_drinks_of_a_whole_pack_are_the_published_ones(code: str, net_ml: str, abv: float, text: str) -> None:
    assert printed(contents(abv, net_ml, code)) == {"standard_drinks": text}


@pytest.mark.parametrize(("code", "words"), [("US", {}), ("CA", {}), ("JP", {}), ("NL", {}), ("IE", {})])
def test_no_panel_prints_what_no_duty_in_force_asks_for(code: str, words: dict[str, str]) -> None:
    row = contents(13, "750", code)
    assert printed(row) == words
    # 750 ml x 13 % x 0.789239 g/ml (OIML R 22) = 76.95 g.
    assert row["ethanol_g"] == pytest.approx(76.95, abs=0.01)


def test_ireland_prints_grams_and_energy_once_its_rule_is_in_force() -> None:
    """Public Health (Alcohol) Act 2018, section 12(1), deferred to September 2028: 76.95 g in 750 ml of 13 %; Annex XIV
    of Regulation (EU) 1169/2011, 29 kJ and 7 kcal in a gram of ethanol: 2,231.6 kJ, 538.6 kcal."""
    assert printed(contents(13, "750", "IE", "2028-08-31")) == {}
    found = contents(13, "750", "IE", "2028-09-01")
    assert printed(found) == {"ethanol_g": "77.0 g", "energy": "2232 kJ / 539 kcal"}


@pytest.mark.parametrize(
    ("abv", "net_ml", "more"), [(None, "750", {}), (13, None, {}), (13, "0", {}), (13, "750", {"alternatives": True})]
)
def test_what_is_not_known_of_a_pack_is_no_zero(abv: float | None, net_ml: str | None, more: dict[str, bool]) -> None:
    line = poured("bottle", alternatives=["other"] if more else [])
    drink = {"sold_as": "prepacked", **({} if net_ml is None else {"net_ml": net_ml})}
    other = thing("other", kind="wine", abv_percent=11)
    found = asked([line], [bought(abv), other], ("AU",), drink=drink)["pack"]
    [row] = found["contents"]
    assert (row["ethanol_g"], row["standard_drinks"]) == (None, None)
    assert printed(row) == {"standard_drinks": None}
    assert {"strength", "net_ml"} & {*found["panels"][0]["missing"]}


def test_the_panel_prints_the_pack_and_not_the_serve() -> None:
    """A serve of 100 ml of 13 % is 1.0, the bottle of 750 ml 7.7."""
    drink = {"sold_as": "prepacked", "net_ml": "750"}
    text = words(label_of(answer_to(request_of([poured("bottle")], [bought(13)], ("AU",), drink=drink))))
    assert "Standard drinks, whole pack 7.7 standard drinks" in text and "1.0 standard drinks" not in text


def test_a_figure_next_to_nothing_is_less_than_its_step() -> None:
    """A millilitre of 1.3 % vol holds 0.0103 g of ethanol (0.789239 g/ml), 0.3 kJ and 0.07 kcal: more than nothing."""
    found = contents(1.3, "1", "IE", "2028-09-01")
    assert printed(found) == {"ethanol_g": "<0.1 g", "energy": "<1 kJ / <1 kcal"}


@pytest.mark.parametrize("known", [True, False])
@pytest.mark.parametrize("code", ["EU", "GB"])
def test_a_panel_is_not_ready_whose_official_text_lacks_its_figure(code: str, known: bool) -> None:
    """Regulation (EU) 1169/2011, Annex III, 4.1: the caffeine in mg for 100 ml stands in brackets behind it. 50 ml
    of 64 mg/100 ml and 50 ml of a bitter of which nobody says: 32 mg and perhaps more."""
    strong, bitter = thing("strong", per_100={"caffeine_mg": 64}), thing("bitter")
    if not known:
        del bitter["per_100"]["caffeine_mg"]
    lines = [poured("strong", "50 ml"), poured("bitter", "50 ml")]
    found = asked(lines, [strong, bitter], (code,), drink={"sold_as": "prepacked"})
    [duty] = [row for row in found["duties"] if row["code"] == "high_caffeine"]
    assert duty["applies"] == "applies" and duty["statement"].endswith("(32 mg/100 ml)") is known
    assert ("statement" not in found["pack"]["panels"][0]["missing"]) is known


def test_that_a_strength_is_not_known_is_said_in_words_of_our_own() -> None:
    """Food and Drug Regulations, B.02.003, words a strength, and no law that it is not known (contract: own)."""
    found = asked([poured("bottle")], [thing("bottle", kind="liqueur", abv_percent=None)], ("CA",),
                  drink={"sold_as": "prepacked"})["pack"]["languages"]  # fmt: skip
    rows = [one for side in found for one in side["texts"] if one["what"] == "strength"]
    assert [(row["lang"], row["standing"]) for row in rows] == [("en", "own"), ("fr", "own")]

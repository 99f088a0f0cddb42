"""Every statement that a jurisdiction holds, one by one, against its article: when it is due and in what words.

The comments name the published text and how far it was seen: seen in a copy, in a secondary text (secondary), or from
memory. A statement that no row here names fails the last test.
"""

from datetime import date
from typing import Any, NamedTuple

import pytest

from service.duties import Duty, Sale, duties
from service.rules import jurisdiction, rules

DAY = date(2026, 11, 25)


class Due(NamedTuple):
    """One statement: how the drink is sold, a strength (or content) at which it is due and one at which it is not, what
    its words have to hold, what its article names, and from when."""

    key: str
    sold_as: str
    at: float
    not_at: float | None
    words: tuple[str, ...]
    article: str
    standing: str
    not_sold_as: str | None = None
    measure: str | None = None
    more: dict[str, Any] = {}
    day: date = DAY
    applies: str = "applies"


PACKED = "packed_for_direct_sale"
SEPTEMBER_2028 = date(2028, 9, 1)

# Regulation (EU) 1169/2011 unless another is named.
EU = [
    # Articles 9(1)(c), 44(1)(a) (secondary): allergens stay mandatory for what is not prepacked.
    Due("allergens_on_request", "poured", 0, None, ("poured",), "44(1)(a)", "secondary", "prepacked"),
    # Article 44(1): what is packed on the premises for direct sale is not prepacked; Article 14: at a distance, before
    # the purchase and at delivery; both from memory.
    Due("allergens_direct_sale", PACKED, 0, None, ("direct sale",), "44(1)(a)", "memory", "prepacked"),
    Due("distance_selling", "distance", 0, None, ("before the purchase", "at delivery"), "Article 14", "memory",
        "poured"),
    # Article 9(1)(k), 28(2), Annex XII: over 1.2 % vol, at most one decimal, "% vol", at 20 C (seen in a copy).
    Due("strength_on_label", "prepacked", 1.21, 1.2, ("% vol", "20 C", "one decimal"), "9(1)(k)", "confirmed",
        "poured"),
    # Articles 9(1)(e) and 23, from memory.
    Due("net_quantity", "prepacked", 0, None, ("net quantity", "millilitres"), "9(1)(e)", "memory", "poured"),
    # Articles 9(1)(c) and 21(1) (secondary): "contains" where there is no list of ingredients.
    Due("allergens_on_label", "prepacked", 0, None, ("contains", "emphasised"), "21(1)", "secondary", "poured"),
    # Articles 30(1), 32 (from memory): the seven; not over 1.2 % vol by Article 16(4) (seen in COM(2017) 58).
    Due("nutrition_on_label", "prepacked", 1.2, 1.21,
        ("energy", "fat", "saturates", "carbohydrate", "sugars", "protein", "salt"), "30(1)", "memory", "poured"),
    Due("nutrition_exempt", "prepacked", 1.21, 1.2, ("energy alone",), "16(4)", "confirmed", "poured"),
    # Regulation (EU) 2021/2117: wine produced after 8 December 2023; Notice C/2023/1190 (seen in a copy).
    Due("wine_label", "prepacked", 12, None, ("ingredients", "electronic label", "energy of 100 ml"), "2021/2117",
        "confirmed", "poured", more={"kind": "wine"}),
    # Annex III 4.1: more than 150 mg/l; 3.1: 10 mg/l or more; 3.2, 3.3: 50, over 1.2 % vol 300 mg/l (seen in copies).
    Due("high_caffeine", "prepacked", 150.01, 150, ("High caffeine content",), "Annex III, 4.1", "confirmed", "poured",
        "caffeine_mg"),
    # Annex III 2.1 to 2.4 (seen in a copy): sweeteners, aspartame by its name, over 10 % of added polyols.
    Due("sweetener", "prepacked", 0, None, ("with sweetener(s)",), "Annex III, 2.1", "confirmed", "poured",
        more={"cautions": frozenset(["sweeteners"])}),
    Due("aspartame", "prepacked", 0, None, ("contains a source of phenylalanine",), "Annex III, 2.3", "confirmed",
        "poured", more={"cautions": frozenset(["aspartame"])}),
    Due("polyols", "prepacked", 100.01, 100, ("excessive consumption may produce laxative effects",), "Annex III, 2.4",
        "confirmed", "poured", "polyols_g"),
    Due("liquorice", "prepacked", 10, 9.99, ("contains liquorice",), "Annex III, 3.1", "confirmed", "poured",
        "glycyrrhizin_mg"),
    Due("liquorice_hypertension", "prepacked", 50, 49.9, ("hypertension should avoid excessive consumption",), "3.3",
        "confirmed", "poured", "glycyrrhizin_mg", {"abv_upper_percent": 1.2}),
    Due("liquorice_hypertension_alcohol", "prepacked", 300, 299.9, ("hypertension",), "3.3", "confirmed", "poured",
        "glycyrrhizin_mg", {"abv_upper_percent": 1.3}),
    # Regulation (EU) 2019/787, Article 2: 15 % vol, egg liqueur 14 (from memory); category 33: 100 g/l, cherry 70,
    # gentian 80 (seen in copies).
    Due("spirit_drink_names", "prepacked", 20, 1.2, ("15 % vol", "14 %", "100 g", "invert sugar", "cherry", "gentian"),
        "2019/787", "confirmed", "poured"),
    # Annex VII, part D (secondary).
    Due("quinine_named", "prepacked", 0.1, 0, ("right after the word flavouring",), "Annex VII", "secondary", "poured",
        "quinine_mg"),
    # Article 34(5) (secondary).
    Due("negligible_amounts", "prepacked", 0, None, ("negligible amounts",), "34(5)", "secondary", "poured"),
]  # fmt: skip

GB = [
    # SI 2014/1855, regulation 5 (secondary): the fourteen, by any means, with a written sign where to ask.
    Due("allergens_on_request", "poured", 0, None, ("fourteen", "word of mouth", "written sign"), "2014/1855",
        "secondary", "prepacked"),
    # Distance selling (secondary): before the purchase and at delivery.
    Due("distance_selling", "distance", 0, None, ("before the purchase", "at delivery"), "2014/1855", "secondary",
        "poured"),
    # Chief Medical Officers, 25 August 2016: 14 units over 3 days or more (seen); asked for on labels, not required.
    Due("low_risk_guideline", "prepacked", 1.21, 1.2, ("14 units", "3 days", "not required"), "", "secondary",
        "poured"),
    # Assimilated Regulation (EU) 1169/2011: "as EU", from memory.
    Due("strength_on_label", "prepacked", 1.21, 1.2, ("% vol", "20 C"), "9(1)(k)", "memory", "poured"),
    Due("net_quantity", "prepacked", 0, None, ("net quantity",), "9(1)(e)", "memory", "poured"),
    Due("allergens_on_label", "prepacked", 0, None, ("contains",), "21(1)", "memory", "poured"),
    Due("high_caffeine", "prepacked", 150.01, 150, ("High caffeine content",), "Annex III, 4.1", "memory", "poured",
        "caffeine_mg"),
    # Annex III 2.1 to 2.4, from memory: sweeteners, aspartame by its name, over 10 % of added polyols.
    Due("sweetener", "prepacked", 0, None, ("with sweetener(s)",), "Annex III, 2.1", "memory", "poured",
        more={"cautions": frozenset(["sweeteners"])}),
    Due("aspartame", "prepacked", 0, None, ("contains a source of phenylalanine",), "Annex III, 2.3", "memory",
        "poured", more={"cautions": frozenset(["aspartame"])}),
    Due("polyols", "prepacked", 100.01, 100, ("excessive consumption may produce laxative effects",), "Annex III, 2.4",
        "memory", "poured", "polyols_g"),
    Due("liquorice", "prepacked", 10, 9.99, ("contains liquorice",), "Annex III, 3.1", "memory", "poured",
        "glycyrrhizin_mg"),
    Due("liquorice_hypertension", "prepacked", 50, 49.9, ("hypertension",), "3.3", "memory", "poured",
        "glycyrrhizin_mg", {"abv_upper_percent": 1.2}),
    Due("liquorice_hypertension_alcohol", "prepacked", 300, 299.9, ("hypertension",), "3.3", "memory", "poured",
        "glycyrrhizin_mg", {"abv_upper_percent": 1.3}),
    Due("nutrition_on_label", "prepacked", 1.2, 1.21,
        ("energy", "fat", "saturates", "carbohydrate", "sugars", "protein", "salt"), "30(1)", "memory", "poured"),
    Due("quinine_named", "prepacked", 0.1, 0, ("right after the word flavouring",), "Annex VII", "memory", "poured",
        "quinine_mg"),
    Due("allergens_direct_sale", PACKED, 0, None, ("direct sale", "full list"), "44(1)(a)", "memory", "prepacked"),
    Due("nutrition_exempt", "prepacked", 1.21, 1.2, ("nutrition declaration",), "16(4)", "memory", "poured"),
]  # fmt: skip

# SI 2021/909 from 6 April 2022: drinks over 1.2 % vol exempt (secondary), the words seen; the full list of ingredients
# on what is packed for direct sale from 1 October 2021 in England, Wales and Northern Ireland (seen).
ENGLAND = [
    Due("menu_calories", "poured", 1.2, 1.21, ("kcal", "2000 kcal a day"), "2021/909", "secondary", "prepacked"),
    Due("daily_energy", "poured", 1.2, 1.21, ("adults need around 2000 kcal a day",), "2021/909", "confirmed",
        "prepacked"),
    Due("full_ingredients", PACKED, 5, None, ("full list of ingredients", "allergens"), "", "confirmed", "prepacked"),
]  # fmt: skip
PPDS = [Due("full_ingredients", PACKED, 5, None, ("full list of ingredients",), "", "confirmed", "prepacked")]

IE = [
    # Public Health (Alcohol) Act 2018, section 12(1): grams, kJ, kcal, website, three warnings (seen); commencement
    # deferred from 22 May 2026 to September 2028 (seen).
    Due("container_label", "prepacked", 1.21, 1.2, ("grams of alcohol", "kJ and kcal", "website", "cancer"), "12(1)",
        "confirmed", "poured", day=SEPTEMBER_2028),
    # SI 249/2023: the first seen, the second from memory.
    Due("warning_liver", "prepacked", 1.21, 1.2, ("Drinking alcohol causes liver disease",), "249/2023", "confirmed",
        "poured", day=SEPTEMBER_2028),
    Due("warning_cancer", "prepacked", 1.21, 1.2, ("direct link between alcohol and fatal cancers",), "249/2023",
        "memory", "poured", day=SEPTEMBER_2028),
    # Poured drinks: a document on request with alcohol and calories; section 12(4): a notice in both languages (seen).
    Due("poured_on_request", "poured", 1.21, 1.2, ("document", "on request"), "section 12", "confirmed", "prepacked",
        day=SEPTEMBER_2028),
    Due("premises_notice", "poured", 1.21, 1.2, ("Irish and in English",), "12(4)", "confirmed", "prepacked",
        day=SEPTEMBER_2028),
    # Health Service Executive: 11 a week for women, 17 for men (seen).
    Due("low_risk_guideline", "poured", 1.21, 1.2, ("11 standard drinks", "17 for men"), "", "confirmed"),
]  # fmt: skip

# Decree of 2006, from memory: a pictogram or message on every container.
FR = [Due("pregnancy_pictogram", "prepacked", 1.21, 1.2, ("pictogram", "pregnancy"), "", "memory", "poured")]

US = [
    # 27 CFR 16.21: from 0.5 % by volume (seen).
    Due("health_warning", "prepacked", 0.5, 0.49, ("GOVERNMENT WARNING: (1)", "Surgeon General"), "16.21", "confirmed",
        "poured"),
    # 21 CFR 101.11(b)(2)(i)(A) (secondary): listed alcohol included; cup without ice; slash for two, range for more.
    Due("menu_calories", "poured", 40, None, ("slash", "range", "without ice", "alcoholic drink that is on the menu"),
        "101.11", "secondary", "prepacked"),
    # (B), (C) and (ii): wording from memory; only where the chain has chosen to label.
    Due("succinct_statement", "poured", 5, None, ("2,000 calories a day",), "101.11", "memory", "prepacked",
        more={"options": frozenset(["chain_menu"])}),
    Due("written_available", "poured", 5, None, ("available upon request",), "101.11", "memory", "prepacked",
        more={"options": frozenset(["chain_menu"])}),
    Due("written_nutrition", "poured", 5, None, ("trans fat", "cholesterol", "sodium", "fiber"), "101.11(b)(2)(ii)",
        "memory", "prepacked", more={"options": frozenset(["chain_menu"])}),
    # 27 CFR 4.32(e), 5.63(c), 7.63(b): 10 parts per million or more (seen).
    Due("sulfites", "prepacked", 10, 9.99, ("Contains sulfites",), "", "confirmed", "poured", "sulphites_mg"),
    # 27 CFR 5.65, from memory: 0.3 percentage points.
    Due("strength_on_label", "prepacked", 0.5, 0.49, ("percent by volume",), "5.65", "memory", "poured"),
    # 27 CFR 4.36(b) (secondary): 1 over 14 %, 1.5 from 7 to 14 %; 24.257(a)(3): 0.75 under 7 % (seen); wine alone.
    Due("strength_on_wine", "prepacked", 0.5, 0.49, ("over 14 %", "1.5", "0.75 under 7 %", "not cross 14 %"), "4.36(b)",
        "secondary", "poured", more={"kind": "wine"}),
    # 27 CFR 7.65, from memory: to 0.1 %, 0.3 percentage points; malt alone.
    Due("strength_on_malt", "prepacked", 0.5, 0.49, ("0.1 %", "0.3 percentage points"), "7.65", "memory", "poured",
        more={"kind": "beer"}),
    Due("net_contents", "prepacked", 0, None, ("net contents",), "5.63", "memory", "poured"),
    # TTB Ruling 2013-2, voluntary (seen): serving, servings, calories, carbohydrate, protein, fat.
    Due("serving_facts", "prepacked", 5, None, ("Serving size", "calories", "carbohydrate", "protein", "fat"), "2013-2",
        "confirmed", "poured"),
    # 27 CFR 4.32a, 5.82, 7.82: voluntary (secondary).
    Due("allergens_voluntary", "prepacked", 5, None, ("may be disclosed",), "4.32a", "secondary", "poured"),
    # FD&C Yellow No. 5, cochineal and carmine named.
    Due("colours_named", "prepacked", 0.5, 0.49, ("Yellow No. 5", "cochineal", "carmine"), "5.63(c)", "secondary",
        "poured"),
    # 27 CFR 5.63(c), 21 CFR 172.804, from memory: aspartame.
    Due("aspartame", "prepacked", 0, None, ("PHENYLKETONURICS: CONTAINS PHENYLALANINE",), "172.804", "memory", "poured",
        more={"cautions": frozenset(["aspartame"])}),
    # 21 CFR 172.575: 83 ppm in carbonated drinks, prominent declaration (seen).
    Due("quinine_declared", "prepacked", 0.1, 0, ("83 parts per million", "declared prominently"), "172.575",
        "confirmed", "poured", "quinine_mg"),
    # Notices 237 (90 FR 6654) and 238 (90 FR 5763) of 17 January 2025: proposals, no final rule seen.
    Due("alcohol_facts", "prepacked", 5, None, ("fluid ounces of ethanol", "servings"), "90 FR 6654", "confirmed",
        "poured", applies="proposal"),
    Due("allergens_on_label", "prepacked", 5, None, ("nine major allergens",), "90 FR 5763", "confirmed", "poured",
        applies="proposal"),
]  # fmt: skip

CA = [
    # Food and Drug Regulations B.02.003: from 1.1 %, "X % alc./vol." (seen).
    Due("strength_on_label", "prepacked", 1.1, 1.09, ("% alc./vol.",), "B.02.003", "confirmed", "poured"),
    # B.01.010.1 to .3: allergens, gluten, added sulphites of 10 ppm or more, on standardised alcoholic drinks too.
    Due("allergens_on_label", "prepacked", 0, None, ("gluten", "10 parts per million or more"), "B.01.010.1",
        "secondary", "poured"),
    Due("net_quantity", "prepacked", 0, None, ("net quantity", "metric"), "", "memory", "poured"),
    # B.01.012 and section 6 of the Consumer Packaging and Labelling Regulations: both languages (from memory).
    Due("both_languages", "prepacked", 0, None, ("English", "French"), "B.01.012", "memory", "poured"),
    # Guidance of 2023, from memory: 1 to 2 low, 3 to 6 moderate, 7 or more increasingly high.
    Due("weekly_continuum", "poured", 1.1, 1.09, ("1 to 2", "3 to 6", "7 or more"), "", "memory"),
]  # fmt: skip

AU = [
    # Standard 2.7.1: packaged, over 1.15 % (seen); the words from memory.
    Due("pregnancy_warning", "prepacked", 1.16, 1.15, ("lifelong harm to your baby",), "2.7.1", "memory", "poured"),
    # P1059: gazetted 13 August 2025, from 13 August 2028, 0.5 % or more (seen).
    Due("energy_statement", "prepacked", 0.5, 0.49, ("servings per package", "kJ (Cal)", "100 ml", "standard drinks"),
        "P1059", "confirmed", "poured", day=date(2028, 8, 13)),
    # Standard drinks over 0.5 %, from memory; strength from 0.5 %: "not more than" to 1.15 % (seen).
    Due("standard_drinks_on_label", "prepacked", 0.51, 0.5, ("number of standard drinks",), "2.7.1", "memory",
        "poured"),
    Due("strength_on_label", "prepacked", 0.5, 0.49, ("Over 1.15 %", "not more than"), "2.7.1", "confirmed", "poured"),
    # Schedule 9, S9-2: quinine, caffeine of guarana (seen; added caffeine and kola from memory).
    Due("quinine", "prepacked", 0.1, 0, ("contains quinine",), "S9-2", "confirmed", "poured", "quinine_mg"),
    Due("guarana", "prepacked", 0.1, 0, ("contains caffeine",), "S9-2", "confirmed", "poured", "caffeine_mg"),
    # Schedule 9, S9-2, from memory: phenylalanine; a laxative effect from 10 g in 100 g of some polyols, 25 of others.
    Due("aspartame", "prepacked", 0, None, ("phenylalanine",), "S9-2", "memory", "poured",
        more={"cautions": frozenset(["aspartame"])}),
    Due("polyols", "prepacked", 100, 99.9, ("laxative effect",), "S9-2", "memory", "poured", "polyols_g"),
    # Standard 1.2.1, from memory: what needs no label has its allergens displayed or told on request.
    Due("allergens_on_request", "poured", 0, None, ("displayed", "on request"), "1.2.1", "memory", "prepacked"),
    # Standard 1.2.3 and S9-3 (secondary): bold, one size, a line that begins with Contains.
    Due("allergens_on_label", "prepacked", 0, None, ("bold", "Contains", "one size"), "S9-3", "secondary", "poured"),
    # NHMRC 2020: 10 a week, 4 on a day (seen).
    Due("nhmrc_guideline", "poured", 0.51, 0.5, ("10 standard drinks a week", "4 on any day"), "", "confirmed"),
]  # fmt: skip

JP = [
    # Health Japan 21: 40 g a day for men, 20 g for women (seen).
    Due("grams", "poured", 5, None, ("40 g", "20 g"), "", "confirmed"),
    # Food Labelling Standard, from memory: alcoholic drinks may leave out allergens.
    Due("strength_on_label", "prepacked", 1, 0.99, ("percent", "may leave out the labelling of allergens"), "",
        "memory", "poured"),
    # Draft of 26 December 2025 (seen).
    Due("cashew_mandatory", "poured", 5, None, ("Cashew", "mandatory"), "", "confirmed", applies="proposal"),
]  # fmt: skip

PLACES = {
    "EU": EU, "GB": GB, "GB-ENG": ENGLAND, "GB-WLS": PPDS, "GB-NIR": PPDS, "IE": IE, "FR": FR, "US": US, "CA": CA,
    "AU": AU, "JP": JP,
}  # fmt: skip
PAIRS = [(code, due) for code, rows in PLACES.items() for due in rows]
ROWS = [pytest.param(code, due, id=f"{code} {due.key}") for code, due in PAIRS]


def _asked(code: str, due: Due, figure: float, sold_as: str | None = None, day: date | None = None) -> list[Duty]:
    more: dict[str, Any] = {"abv_upper_percent": 5.0, **due.more}
    if due.measure is not None:
        more["per_l"] = {due.measure: figure}
    else:
        more["abv_upper_percent"] = figure
    found = duties(jurisdiction(code).on(day or due.day), Sale(sold_as or due.sold_as, **more))
    return [row for row in found if row.statement.key == due.key]


@pytest.mark.parametrize(("code", "due"), ROWS)
def test_a_statement_is_due_where_its_article_says_and_nowhere_else(code: str, due: Due) -> None:
    [row] = _asked(code, due, due.at)
    assert row.applies == due.applies
    assert all(word.lower() in row.statement.text.lower() for word in due.words), row.statement.text
    assert due.article in (row.statement.article or row.statement.source)
    assert row.statement.standing == due.standing
    if due.not_at is not None:
        assert _asked(code, due, due.not_at) == []
    if "cautions" in due.more:
        assert _asked(code, due._replace(more={}), due.at) == []
    if due.not_sold_as is not None:
        assert _asked(code, due, due.at, due.not_sold_as) == []


@pytest.mark.parametrize(("code", "due"), [(code, due) for code, due in PAIRS if due.day != DAY])
def test_a_later_law_waits_for_its_day(code: str, due: Due) -> None:
    [row] = _asked(code, due, due.at, day=DAY)
    assert row.applies == f"from {due.day}"


@pytest.mark.parametrize(("code", "due"), [(code, due) for code, due in PAIRS if due.applies == "proposal"])
def test_a_proposal_is_shown_and_never_applied(code: str, due: Due) -> None:
    """However late the day is asked for, a proposal stays one."""
    for day in (DAY, date(2035, 1, 1)):
        regime = jurisdiction(code).on(day)
        assert due.key not in {one.key for one in regime.statements}
        assert [row.applies for row in _asked(code, due, due.at, day=day)] == ["proposal"]


def test_every_statement_that_is_held_has_a_row() -> None:
    places = rules().jurisdictions.items()
    held = {(code, one.key) for code, place in places for one in place.entries.get("statement", ())}
    assert {(code, due.key) for code, due in PAIRS} == held

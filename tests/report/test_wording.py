"""Every demo drink in every language: nothing missing in silence, figures the same, each jurisdiction's own text."""

import re
from datetime import date
from functools import cache
from typing import Any

import pytest

from schemas.answer import Answer
from schemas.evaluation import EvaluationRequest
from service.api.app import demo_catalogue
from service.demo import demo
from service.evaluate import evaluate
from service.language import language, languages
from service.reference import reference
from service.report import answer
from service.report.wording import Wording
from tests.one_drink import poured, request_of, thing

DAY = date(2026, 11, 25)
CODES = sorted(languages())
WORDS_ADDED = ("lang", "fallback", "deferral_lang", "reason_lang", "condition", "condition_lang")


def answered(body: dict[str, Any], asked: str | None, day: date = DAY) -> dict[str, Any]:
    request = EvaluationRequest.model_validate(body)
    wording = Wording() if asked is None else Wording(asked, language(asked))
    return dict(answer(evaluate(request, day, ["EU"], reference(), _catalogue()), "", wording))


@cache
def _catalogue() -> Any:
    return demo_catalogue()


def translated(found: dict[str, Any]) -> list[dict[str, Any]]:
    """The rows with a text of a language."""
    alcohol = found["alcohol"]
    rows = [*found["allergens"]["declarations"], *alcohol["menu_text"], *alcohol["label"], *alcohol["standard_drinks"]]
    return [*rows, *alcohol["statements"], *alcohol["claims"], *found["advisories"]]


def plain(value: Any) -> Any:
    """An answer without its words: what machines read of it."""
    if isinstance(value, dict):
        words = (
            "statement",
            "text",
            "statement_lang",
            "labels",
            "deferral",
            "reason",
            "standard_drinks_text",
            *WORDS_ADDED,
        )
        return {key: plain(one) for key, one in value.items() if key not in words}
    return [plain(one) for one in value] if isinstance(value, list | tuple) else value


@pytest.mark.parametrize("code", CODES)
@pytest.mark.parametrize("sold_as", ["poured", "prepacked"])
def test_every_demo_drink_in_every_language(code: str, sold_as: str) -> None:
    for drink in demo().drinks.values():
        body = {**drink, "jurisdictions": ["FR", "GB", "US", "JP", "CL"]}
        body["house"] = {**drink.get("house", {}), "sold_as": sold_as}
        found = answered(body, code)
        Answer.model_validate(found)
        assert found["labels"]["lang"] == code and not found["labels"]["fallback"]
        assert plain(found) == plain(answered(body, None))
        for row in translated(found):
            text = row["statement"] if "statement" in row else row["text"]
            if text is None:
                assert row["lang"] is None
                continue
            assert not re.search(r"[{}]", text)
            assert row["lang"] == code or row["fallback"]
            if row["lang"] != code:
                assert row["lang"] == "en"
        for term in found["labels"]["terms"]:
            assert term["fallback"] is (term["key"] in found["labels"]["missing"])
            assert term["standing"] in ("confirmed", "secondary", "memory", "own")


@pytest.mark.parametrize("code", [code for code in CODES if code != "en"])
def test_no_english_sentence_is_left_in_a_statement(code: str) -> None:
    vague = {"id": "vague", "name": "x", "kind": "liqueur", "allergens": {"almond": "contains", "milk": "may_contain"}}
    row = answered(request_of([poured("vague")], [vague]), code)["allergens"]["declarations"][0]
    assert row["lang"] == code and row["fallback"] is False
    for word in ("Contains", "May contain", "Not known", "almond", "milk", "nuts", "not assessed"):
        assert word not in row["statement"]


def test_without_a_language_nothing_is_marked() -> None:
    found = answered(request_of([poured()], [thing()], ["EU", "US"]), None)
    assert "labels" not in found
    for row in translated(found):
        assert not set(WORDS_ADDED) & set(row)


def test_english_asked_for_is_the_same_text_and_marked() -> None:
    body = request_of([poured("thing")], [thing(abv_percent=13.4)], ["EU", "US"])
    plainly, asked = answered(body, None), answered(body, "en")
    for one, other in zip(translated(plainly), translated(asked), strict=True):
        said = other.pop("condition", "")
        assert one.get("text") is None or one["text"].endswith(said)
        names = ("reason_lang", "deferral_lang", "condition_lang")
        marks = {name: other.pop(name) for name in names if name in other}
        assert set(marks.values()) <= {"en", None}
        assert {**one, "lang": "en", "fallback": False} == other


def test_a_language_that_is_not_held_is_answered_in_english_and_says_so() -> None:
    found = answered(request_of([poured("thing")], [thing(abv_percent=13.4)], ["EU", "US"]), "da")
    labels = found["labels"]
    assert (labels["asked"], labels["lang"], labels["fallback"]) == ("da", "en", True)
    assert {(row["lang"], row["fallback"]) for row in translated(found)} == {("en", True)}


def test_a_missing_name_is_english_and_the_statement_says_so() -> None:
    nutty = thing("nutty", allergens={"heartnut": "contains"})
    row, found = _first(answered(request_of([poured("nutty")], [nutty], ["US"]), "fr"))
    assert "heartnut" in row["statement"] and row["statement"].startswith("Contient\u00a0: ")
    assert (row["lang"], row["fallback"]) == ("fr", True)
    assert found["labels"]["missing"] == ["allergen.heartnut"]


def _first(found: dict[str, Any]) -> tuple[dict[str, Any], dict[str, Any]]:
    return found["allergens"]["declarations"][0], found


def test_one_drink_under_two_jurisdictions_has_each_ones_label() -> None:
    # Regulation (EU) 1169/2011, Annex XII; Food and Drug Regulations B.02.003, both in French; no other has French.
    body = request_of([poured("thing")], [thing(abv_percent=13.44)], ["FR", "CA", "US"], house={"sold_as": "prepacked"})
    found = answered(body, "fr")
    rows = {row["jurisdiction"]: (row["text"], row["lang"], row["fallback"]) for row in found["alcohol"]["label"]}
    assert rows == {
        "FR": ("13,4 % vol", "fr", False),
        "CA": ("13,4 % alc./vol.", "fr", False),
        "US": ("13.4% alc/vol", "en", True),
    }
    [warning] = [row for row in found["duties"] if row["code"] == "health_warning"]
    assert warning["statement"].startswith("GOVERNMENT WARNING")
    assert (warning["statement_lang"], warning["fallback"]) == ("en", True)


def test_a_statement_of_the_law_is_in_the_laws_own_version() -> None:
    strong = thing("strong", per_100={"caffeine_mg": 32})
    body = request_of([poured("strong")], [strong], ["DE", "GB"], house={"sold_as": "prepacked"})
    rows = {row["jurisdiction"]: row for row in answered(body, "de")["duties"] if row["code"] == "high_caffeine"}
    # Annex III, 4.1, German version, with mg for 100 ml in brackets; the United Kingdom has it in English alone.
    assert rows["DE"]["statement"] == (
        "Erhöhter Koffeingehalt. Für Kinder und schwangere oder stillende Frauen nicht empfohlen (32 mg/100 ml)"
    )
    assert (rows["DE"]["statement_lang"], rows["DE"]["fallback"]) == ("de", False)
    assert rows["GB"]["statement"].startswith("High caffeine content.")
    assert (rows["GB"]["statement_lang"], rows["GB"]["fallback"]) == ("en", True)


@pytest.mark.parametrize(
    ("code", "menu", "drinks"),
    # 100 ml of 40 % vol are 40 ml, 31.56 g at 0.789 g/ml: 3.2 French drinks of 10 g.
    [("fr", "environ 40 % vol", "3,2 verres standard"), ("de", "etwa 40 % vol", "3,2 Standardgläser"),
     ("pl", "około 40 % obj.", "porcje standardowe: 3,2"), ("ja", "約40度", "3.2ドリンク")],
)  # fmt: skip
def test_strength_and_drinks_are_said_with_the_languages_own_figures(code: str, menu: str, drinks: str) -> None:
    found = answered(request_of([poured("spirit")], [thing("spirit", abv_percent=40)], ["FR"]), code)["alcohol"]
    said = found["menu_text"][0]["text"].replace(",0 ", " ").replace("40.0", "40")
    assert said == menu
    assert found["standard_drinks"][0]["text"] == drinks
    assert found["abv_percent"] == 40.0


@pytest.mark.parametrize(
    ("abv", "french", "german", "portuguese"),
    # 100 ml at 0.789 g/ml in drinks of 10 g; CLDR plural rules: singular below two in French, for one alone elsewhere.
    [(24, "1,9 verre standard", "1,9 Standardgläser", "1,9 bebidas-padrão"),
     (26, "2,1 verres standard", "2,1 Standardgläser", "2,1 bebidas-padrão"),
     (12.7, "1,0 verre standard", "1,0 Standardglas", "1,0 bebida-padrão"),
     (0.05, "au plus 0,1 verre standard", "höchstens 0,1 Standardgläser", "no máximo 0,1 bebidas-padrão")],
)  # fmt: skip
def test_standard_drinks_stand_in_the_number_that_the_language_wants(
    abv: float, french: str, german: str, portuguese: str
) -> None:
    for code, said in (("fr", french), ("de", german), ("pt", portuguese)):
        found = answered(request_of([poured("wine")], [thing("wine", kind="wine", abv_percent=abv)], ["FR"]), code)
        assert found["alcohol"]["standard_drinks"][0]["text"] == said


def test_canada_has_its_own_french_words_for_allergens() -> None:
    # Health Canada's list in French, as reprinted in secondary texts.
    nutty = thing("nutty", allergens={"walnut": "contains", "pecan": "may_contain", "milk": "contains"})
    rows = answered(request_of([poured("nutty")], [nutty], ["CA", "FR"]), "fr")
    said = {row["jurisdiction"]: row["statement"] for row in rows["allergens"]["declarations"]}
    assert "noix (noix de Grenoble)" in said["CA"] and "pacanes" in said["CA"] and "fruits à coque" not in said["CA"]
    assert "fruits à coque (noix)" in said["FR"] and "noix de pécan" in said["FR"]
    terms = {row["key"]: row["text"] for row in rows["labels"]["terms"]}
    assert (terms["allergen.CA.nuts"], terms["allergen.nuts"]) == ("noix", "fruits à coque")

"""Cautions, claims and reasons in the ten languages of the house: what a guest reads is in the guest's."""

import re

import pytest

from schemas.answer import Answer
from service.language import OWN, languages
from service.renderers.menu import STAFF
from service.rules import rules
from tests.one_drink import poured, request_of, thing
from tests.report.test_wording import CODES, answered

OFFICIAL = {"aspartame_us"}
"""Words that a law prescribes, which are not ours to translate."""

OTHERS = [code for code in CODES if code != "en"]

# What each language calls raw egg and pregnancy, from memory: the sentence is found by its own word.
EGG = {
    "de": "Ei",
    "fr": "Œuf",
    "es": "Huevo",
    "it": "Uovo",
    "nl": "ei",
    "pt": "Ovo",
    "pl": "Jajo",
    "sv": "ägg",
    "ja": "卵",
}
PREGNANCY = {
    "de": "Schwangerschaft", "fr": "grossesse", "es": "embarazo", "it": "gravidanza", "nl": "zwangerschap",
    "pt": "gravidez", "pl": "ciąży", "sv": "graviditet", "ja": "妊娠",
}  # fmt: skip


@pytest.mark.parametrize("code", OTHERS)
def test_every_caution_of_a_guest_is_held_and_is_our_own_wording(code: str) -> None:
    spoken = languages()[code]
    for key in {one.key for one in rules().advisories} - STAFF - OFFICIAL:
        word = spoken.text(f"advisory.{key}")
        assert (word.lang, word.fallback, word.standing) == (code, False, OWN), key
    for key in spoken.english:
        if key.startswith(("caution.", "claim.", "saying.")):
            assert (spoken.text(key).fallback, spoken.text(key).standing) == (False, OWN), key


SOUR = [
    thing("raw-egg-white", kind="egg", allergens={"eggs": "contains"}),
    thing("strong-rum", kind="spirit", abv_percent=63),
]
LINES = [poured("raw-egg-white", "30 ml"), poured("strong-rum", "60 ml")]


@pytest.mark.parametrize("code", OTHERS)
def test_raw_egg_strong_drink_and_pregnancy_are_said_in_the_language(code: str) -> None:
    body = request_of(LINES, SOUR, ("IE", "GB"), house={"max_standard_drinks": 2})
    found = answered(body, code)
    Answer.model_validate(found)
    plain = answered(body, None)["advisories"]
    rows = [row for row in found["advisories"] if not row["code"].startswith("pour_measure_")]
    english = [row for row in plain if not row["code"].startswith("pour_measure_")]
    assert {row["code"] for row in rows} >= {"raw_egg", "raw_egg_gb", "pregnancy", "strong_spirit", "over_house_limit"}
    for row, held in zip(rows, english, strict=True):
        assert (row["lang"], row["fallback"], row["deferral_lang"]) == (code, False, code), row["code"]
        assert row["text"] != held["text"] and row["deferral"] != held["deferral"]
        assert (row["code"], row["level"], row["items"]) == (held["code"], held["level"], held["items"])
    said = {row["code"]: row["text"] for row in rows}
    assert EGG[code] in said["raw_egg"] and PREGNANCY[code] in said["pregnancy"]
    # 60 ml of 63 % vol: 37.8 ml of ethanol. IE: 37.8 x 0.789 / 10 = 2.98, so 3.0; GB: 3.78 units, so 3.8.
    counts = [row["text"] for row in rows if row["code"] == "over_house_limit"]
    figures = ["3.0", "3.8"] if code == "ja" else ["3,0", "3,8"]
    assert [figure in text for figure, text in zip(figures, counts, strict=True)] == [True, True]


@pytest.mark.parametrize(("code", "figure"), [("fr", "18,0"), ("ja", "18.0"), ("de", "18,0")])
def test_an_amount_in_a_caution_is_written_as_the_language_writes_it(code: str, figure: str) -> None:
    """180 mg in a litre are 18.0 mg in 100 ml: arithmetic."""
    cola = thing("strong-cola", kind="mixer", per_100={"caffeine_mg": 18})
    rows = answered(request_of([poured("strong-cola", "200 ml")], [cola]), code)["advisories"]
    [row] = [row for row in rows if row["code"] == "caffeine_high"]
    assert figure in row["text"] and row["lang"] == code


@pytest.mark.parametrize("code", OTHERS)
def test_a_claim_is_refused_in_the_language_with_its_reason(code: str) -> None:
    vague = thing("kombucha", kind="mixer", abv_percent=None)  # taken as 0 % vol by its kind alone
    body = request_of([poured("kombucha", "200 ml")], [vague], ("GB", "US"))
    plain, said = answered(body, None)["alcohol"]["claims"], answered(body, code)["alcohol"]["claims"]
    assert [row["allowed"] for row in said] == [row["allowed"] for row in plain]
    assert any(not row["allowed"] and "kombucha" in row["text"] for row in said)
    for row, english in zip(said, plain, strict=True):
        assert row["lang"] == code and row["text"] != english["text"] and not re.search(r"[{}]", row["text"])
        # A condition of the rule itself is in English, and the text says that not all of it is in the language.
        assert row["fallback"] is (english["text"].count(". ") > 0)


def test_a_reason_says_its_language() -> None:
    unknown = {"id": "unknown", "name": "x", "kind": "liqueur"}
    row = answered(request_of([poured("unknown")], [unknown]), "de")["alcohol"]["menu_text"][0]
    assert (row["text"], row["reason"], row["reason_lang"]) == (None, "Der Alkoholgehalt ist nicht bekannt.", "de")


def test_what_is_not_translated_falls_back_and_says_so() -> None:
    tonka = thing("tonka-syrup", kind="syrup")
    found = answered(request_of([poured("tonka-syrup")], [tonka], ("US",)), "fr")["advisories"]
    rows = {row["code"]: row for row in found}
    assert (rows["tonka_us"]["lang"], rows["tonka_us"]["fallback"]) == ("en", True)
    assert (rows["coumarin"]["lang"], rows["coumarin"]["fallback"]) == ("fr", False)
    stood_in = answered(request_of(LINES, SOUR), "da")["advisories"][0]
    assert (stood_in["lang"], stood_in["fallback"]) == ("en", True)


@pytest.mark.parametrize(
    ("code", "one", "two"),
    # Made four and five days ago with a life of three; the forms of the noun for one and two by hand.
    [("en", "1 day past", "2 days past"), ("de", "1 Tag über", "2 Tage über"), ("fr", "de 1 jour la", "de 2 jours la"),
     ("pl", "(1 dzień temu)", "(2 dni temu)"), ("ja", "を1日過ぎ", "を2日過ぎ")],
)  # fmt: skip
def test_days_past_the_life_of_a_part_are_said_in_their_number(code: str, one: str, two: str) -> None:
    for made, said in (("2026-11-21", one), ("2026-11-20", two)):
        part = {"id": "old", "name": "Old", "lines": [poured("water", "1 l")], "shelf_life_days": 3, "made_on": made}
        rows = answered(request_of([poured("old", "50 ml")], preparations=[part]), code)["advisories"]
        [row] = [row for row in rows if row["code"] == "past_use_by"]
        assert said in row["text"]

"""The words of each language: checked at the start, official where a law names them, visibly English where missing."""

import re
import shutil
import tomllib
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from service.errors import DataFault
from service.language import ENGLISH, GROUPS, LANGUAGES, OWN, language, languages, load_languages
from service.renderers.menu import STAFF
from service.ruleentry import STANDINGS
from service.rules import rules

TODAY = date(2026, 11, 29)
CODES = sorted(languages())
OTHERS = [code for code in CODES if code != ENGLISH]
FOURTEEN = (
    "gluten", "crustaceans", "eggs", "fish", "peanuts", "soybeans", "milk", "nuts", "celery", "mustard", "sesame",
    "sulphites", "lupin", "molluscs",
)  # fmt: skip

# Versions of Regulation (EU) 1169/2011, Annex II, in the order of FOURTEEN. German, French, Spanish, Italian,
# Portuguese and Polish as reprinted in secondary texts, Dutch and Swedish from memory.
ANNEX_II = {
    "de": "glutenhaltiges Getreide, Krebstiere, Eier, Fische, Erdnüsse, Sojabohnen, Milch, Schalenfrüchte, Sellerie, "
    "Senf, Sesamsamen, Schwefeldioxid und Sulphite, Lupinen, Weichtiere",
    "fr": "céréales contenant du gluten, crustacés, œufs, poissons, arachides, soja, lait, fruits à coque, céleri, "
    "moutarde, graines de sésame, anhydride sulfureux et sulfites, lupin, mollusques",
    "es": "cereales que contengan gluten, crustáceos, huevos, pescado, cacahuetes, soja, leche, frutos de cáscara, "
    "apio, mostaza, granos de sésamo, dióxido de azufre y sulfitos, altramuces, moluscos",
    "it": "cereali contenenti glutine, crostacei, uova, pesce, arachidi, soia, latte, frutta a guscio, sedano, senape, "
    "semi di sesamo, anidride solforosa e solfiti, lupini, molluschi",
    "pt": "cereais que contêm glúten, crustáceos, ovos, peixes, amendoins, soja, leite, frutos de casca rija, aipo, "
    "mostarda, sementes de sésamo, dióxido de enxofre e sulfitos, tremoço, moluscos",
    "pl": "zboża zawierające gluten, skorupiaki, jaja, ryby, orzeszki ziemne (arachidowe), soja, mleko, orzechy, "
    "seler, gorczyca, nasiona sezamu, dwutlenek siarki i siarczyny, łubin, mięczaki",
    "nl": "glutenbevattende granen, schaaldieren, eieren, vis, aardnoten, soja, melk, noten, selderij, mosterd, "
    "sesamzaad, zwaveldioxide en sulfieten, lupine, weekdieren",
    "sv": "spannmål som innehåller gluten, kräftdjur, ägg, fisk, jordnötter, sojabönor, mjölk, nötter, selleri, senap, "
    "sesamfrön, svaveldioxid och sulfit, lupin, blötdjur",
}  # fmt: skip

# What guests call it stands behind the word of the law: the Dutch food authority's own list says pinda, as reprinted in
# secondary texts; on its own "aardnoten" is read by few.
CALLED = {"nl": {"peanuts": "aardnoten (pinda’s)"}}

# Food Labelling Standard: eight mandatory names, as reprinted in secondary texts.
JAPAN = {
    "shrimp": "えび", "crab": "かに", "walnut": "くるみ", "wheat": "小麦", "buckwheat": "そば", "eggs": "卵",
    "milk": "乳", "peanuts": "落花生",
}  # fmt: skip


@pytest.mark.parametrize("code", sorted(ANNEX_II))
def test_the_fourteen_are_named_as_the_version_of_the_law_names_them(code: str) -> None:
    called = CALLED.get(code, {})
    named = {key: language(code).text(f"allergen.{key}") for key in FOURTEEN}
    law = dict(zip(FOURTEEN, ANNEX_II[code].split(", "), strict=True))
    for key, word in named.items():
        assert word.text == called.get(key, law[key]) and word.text.startswith(law[key])
        assert (word.lang, word.fallback) == (code, False)
        standing = "memory" if code in ("nl", "sv") else "secondary"
        assert word.standing == (OWN if key in called else standing)


def test_an_allergen_has_the_word_of_the_place_where_a_language_holds_one() -> None:
    # Health Canada's list in French, as reprinted in secondary texts; the Union's version says fruits à coque and noix.
    french = language("fr")
    for key, there, elsewhere in (("nuts", "noix", "fruits à coque"), ("walnut", "noix de Grenoble", "noix")):
        assert french.allergen(("CA",), key).text == there
        assert french.allergen(("FR", "EU"), key).text == elsewhere
    assert french.allergen(("CA",), "milk") == french.text("allergen.milk")
    assert language("de").allergen(("CA",), "nuts") == language("de").text("allergen.nuts")


def test_the_mandatory_names_of_japan() -> None:
    for key, name in JAPAN.items():
        word = language("ja").text(f"allergen.{key}")
        assert (word.text, word.standing, word.fallback) == (name, "secondary", False)


@pytest.mark.parametrize("code", CODES)
def test_every_word_says_where_it_is_from(code: str) -> None:
    raw = tomllib.loads((LANGUAGES / f"{code}.toml").read_text("utf-8"))
    used = set()
    for block in raw["words"]:
        provenance = {**raw["sources"][block["source"]], **block}
        assert provenance["title"].strip() and provenance["standing"] in STANDINGS
        assert isinstance(provenance["since"], date) and date(2026, 1, 1) <= provenance["checked"] <= TODAY
        assert block["group"] in GROUPS
        assert block.get("own", False) is (block["source"] == "own")
        used.add(block["source"])
    assert used == set(raw["sources"])


@pytest.mark.parametrize("code", OTHERS)
def test_what_a_guest_needs_is_there_in_every_language(code: str) -> None:
    spoken = language(code)
    missing = {key for key in spoken.english if spoken.text(key).fallback}
    # Kinds of walnut that only the United States list by name have no word of their own here; nor have the cautions for
    # those who make the drink, and what a law of the United States words itself.
    walnuts = {"allergen.california_walnut", "allergen.heartnut"}
    assert missing - walnuts <= {f"advisory.{key}" for key in (*STAFF, "aspartame_us")}
    assert walnuts <= missing


def test_a_missing_word_falls_back_visibly() -> None:
    word = language("fr").text("allergen.heartnut")
    assert (word.text, word.lang, word.fallback) == ("heartnut", "en", True)
    with pytest.raises(KeyError):
        language("fr").text("allergen.unheard_of")


def test_a_language_that_is_not_held_is_english_and_says_so() -> None:
    found = language("da")
    assert found.code == "en" and found.stands_in
    assert found.text("phrase.separator").fallback
    assert not language("en").text("phrase.separator").fallback


def test_an_official_version_is_held_only_where_a_law_has_one() -> None:
    for code in CODES:
        for key in language(code).words:
            group, _, name = key.partition(".")
            place = name.partition(".")[0]
            if group in ("label", "statement"):
                # Official languages: the Union's eight here, French in Canada, Japanese in Japan.
                assert (place, code) in {*(("EU", one) for one in ANNEX_II), ("CA", "fr"), ("JP", "ja")}
    german = language("de").held("statement", ("DE", "EU"), "high_caffeine")
    # Regulation (EU) 1169/2011, Annex III, 4.1, German version, from memory.
    assert german is not None and german.text.startswith("Erhöhter Koffeingehalt.")
    assert language("de").held("statement", ("US",), "health_warning") is None


@pytest.mark.parametrize(
    ("code", "written"),
    # Decimal signs of CLDR: a comma in these, a full stop in Japanese; English is left as it is.
    [("fr", "17,3"), ("de", "17,3"), ("es", "17,3"), ("it", "17,3"), ("nl", "17,3"), ("pt", "17,3"), ("pl", "17,3"),
     ("sv", "17,3"), ("ja", "17.3"), ("en", "17.3")],
)  # fmt: skip
def test_figures_are_written_with_the_decimals_they_have(code: str, written: str) -> None:
    spoken = language(code)
    assert spoken.number("17.3") == written
    assert spoken.number("2.0") == written[:0] + "2" + written[2] + "0"
    assert spoken.number("5") == "5"


WRITTEN_OUT = {
    "en": "25 November {}", "fr": "25 novembre {}", "de": "25. November {}", "es": "25 de noviembre de {}",
    "it": "25 novembre {}", "nl": "25 november {}", "pt": "25 de novembro de {}", "pl": "25 listopada {}",
    "sv": "25 november {}", "ja": "{}年11月25日",
}  # fmt: skip
"""The same day of the year in every language, by hand: the month in Polish stands in the genitive."""


@pytest.mark.parametrize("code", CODES)
def test_a_day_is_written_out(code: str) -> None:
    # Regulation (EU) 1169/2011, Annex X, 2(b): the day, the month and the year, in that order and uncoded.
    assert language(code).day("2027-11-25") == WRITTEN_OUT[code].format(2027)


@pytest.mark.parametrize(
    ("code", "one", "many"),
    # CLDR, plural rules: French counts everything under two as one, Japanese has no singular, and so in Portugal, other
    # than in Brazil, 0 and 1,9 are many.
    [("fr", "0 0.9 1 1.0 1.9", "2 2.0 10"), ("pt", "1 1.0", "0 0.9 1.9 2"), ("de", "1 1.0", "0 0.9 1.9 2"),
     ("en", "1 1.0", "0 0.9 1.9 2"), ("it", "1", "0 1.9"), ("es", "1", "0 1.9"), ("sv", "1", "0 1.9"),
     ("nl", "1", "0 1.9"), ("ja", "", "0 1 2")],
)  # fmt: skip
def test_a_noun_stands_in_the_number_that_its_figure_wants(code: str, one: str, many: str) -> None:
    spoken = language(code)
    assert all(spoken.singular(Decimal(figure)) for figure in one.split())
    assert not any(spoken.singular(Decimal(figure)) for figure in many.split())


def test_portuguese_is_that_of_portugal() -> None:
    # CLDR, pt-PT: thousands by a no-break space, where Brazil writes a full stop.
    assert language("pt").number("2304.94") == "2\u00a0304,94"


# How each language says "free of", from memory. Read in haste, "free of: milk" is a claim whatever stands before it.
FREE_OF = {
    "en": "free of",
    "fr": "exempt sans libre", "de": "frei", "es": "libre exento sin", "it": "privo senza libero", "nl": "vrij zonder",
    "pt": "livre isento sem", "pl": "wolny bez", "sv": "fri fritt utan", "ja": "含まない",
}  # fmt: skip


@pytest.mark.parametrize("code", CODES)
def test_what_is_exempt_is_never_named_right_behind_free_of(code: str) -> None:
    text = language(code).text("phrase.exempt").text
    last = re.split(r"[,，（(;]", text.partition("{names}")[0].rstrip(": \u00a0："))[-1]
    words = {"含まない"} & {last} if code == "ja" else set(last.split()[-2:])
    assert not words & set(FREE_OF[code].split()), text


def test_french_has_its_own_spaces_and_signs() -> None:
    # Lexique des règles typographiques en usage à l'Imprimerie nationale, from memory: no break before a colon, a
    # semicolon or inside quotes; the apostrophe is curved. Italian has the same apostrophe.
    for code in ("fr", "it"):
        for key, word in language(code).words.items():
            assert not re.search(r"\w'\w", word.text), (code, key)
            if code == "fr":
                assert not re.search(r" [;:!»]|« |[^\s\u00a0\u202f][;!»]|[^\u00a0]:", word.text), key


def test_japanese_speaks_to_guests_in_one_polite_register() -> None:
    # The desu/masu form, from memory; what stands in brackets says how much and is no sentence.
    for key, word in language("ja").words.items():
        if key.startswith(("advisory.", "caution.over", "caution.past", "caution.time", "saying.")):
            for sentence in re.sub(r"（[^（）]*）", "", word.text).removesuffix("。").split("。"):
                assert re.search(r"(です|ます|ました|ません|ください)\Z", sentence), (key, sentence)


# A file that is wrong stops the start.


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    target = tmp_path / "languages"
    shutil.copytree(LANGUAGES, target)
    return target


def changed(folder: Path, name: str, old: str, new: str) -> Any:
    path = folder / name
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), "utf-8")
    return load_languages(folder, rules())


@pytest.mark.parametrize(
    ("name", "old", "new", "said"),
    [
        ("fr.toml", 'milk = "lait"', 'milch = "lait"', "allergen.milch: unknown key"),
        ("fr.toml", 'contains = "Contient\\u00a0: {names}."', 'contains = "Contient."', "phrase.contains"),
        ("fr.toml", 'contains = "Contient\\u00a0: {names}."', 'contains = "Contient {name}."', "phrase.contains"),
        ("fr.toml", 'milk = "lait"', 'milk = " "', "allergen.milk: is empty"),
        ("fr.toml", 'group = "unit"', 'group = "units"', "units: no such group"),
        ("fr.toml", 'source = "own"', 'source = "nobody"', "source"),
        ("fr.toml", 'code = "fr"', 'code = "de"', "code: must be fr"),
        ("fr.toml", '"CA.strength"', '"CA.weight"', "label.CA.weight: unknown key"),
        ("de.toml", '"EU.high_caffeine"', '"EU.net_quantity"', "statement.EU.net_quantity: unknown key"),
        ("de.toml", 'milk = "Milch"', 'milk = "Milch {n}"', "allergen.milk"),
        ("de.toml", 'milk = "Milch"', 'milk = "Milch {"', "allergen.milk"),
        ("fr.toml", '"CA.walnut"', '"CA.wallnut"', "allergen.CA.wallnut: unknown key"),
        ("pt.toml", 'locale = "pt_PT"', "locale = 7", "locale"),
        ("en.toml", 'standing = "memory"', 'standing = "sure"', "standing"),
    ],
)
def test_a_malformed_file_stops_the_start(folder: Path, name: str, old: str, new: str, said: str) -> None:
    with pytest.raises(DataFault) as caught:
        changed(folder, name, old, new)
    assert name in str(caught.value) and said in str(caught.value)


def test_one_file_adds_a_language(folder: Path) -> None:
    text = (folder / "sv.toml").read_text("utf-8")
    (folder / "nb.toml").write_text(text.replace('code = "sv"', 'code = "nb"').replace("svenska", "norsk"), "utf-8")
    assert load_languages(folder, rules())["nb"].name == "norsk"


def test_a_language_may_lack_a_word(folder: Path) -> None:
    found = changed(folder, "fr.toml", 'milk = "lait"\n', "")
    word = found["fr"].text("allergen.milk")
    assert (word.text, word.lang, word.fallback) == ("milk", "en", True)


def test_there_is_no_start_without_english(folder: Path) -> None:
    (folder / "en.toml").unlink()
    with pytest.raises(DataFault):
        load_languages(folder, rules())

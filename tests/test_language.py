"""The words of each language: checked at the start, official where a law names them, visibly English where missing."""

import shutil
import tomllib
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from service.errors import DataFault
from service.language import ENGLISH, GROUPS, LANGUAGES, language, languages, load_languages
from service.renderers.menu import STAFF
from service.rulekinds import STANDINGS
from service.rules import rules

TODAY = date(2026, 11, 25)
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

# Food Labelling Standard: eight mandatory names, as reprinted in secondary texts.
JAPAN = {
    "shrimp": "えび", "crab": "かに", "walnut": "くるみ", "wheat": "小麦", "buckwheat": "そば", "eggs": "卵",
    "milk": "乳", "peanuts": "落花生",
}  # fmt: skip


@pytest.mark.parametrize("code", sorted(ANNEX_II))
def test_the_fourteen_are_named_as_the_version_of_the_law_names_them(code: str) -> None:
    named = [language(code).text(f"allergen.{key}") for key in FOURTEEN]
    assert ", ".join(word.text for word in named) == ANNEX_II[code]
    assert {word.lang for word in named} == {code}
    assert not any(word.fallback for word in named)
    standing = "memory" if code in ("nl", "sv") else "secondary"
    assert {word.standing for word in named} == {standing}


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
        ("fr.toml", 'contains = "Contient : {names}."', 'contains = "Contient."', "phrase.contains"),
        ("fr.toml", 'contains = "Contient : {names}."', 'contains = "Contient {name}."', "phrase.contains"),
        ("fr.toml", 'milk = "lait"', 'milk = " "', "allergen.milk: is empty"),
        ("fr.toml", 'group = "unit"', 'group = "units"', "units: no such group"),
        ("fr.toml", 'source = "own"', 'source = "nobody"', "source"),
        ("fr.toml", 'code = "fr"', 'code = "de"', "code: must be fr"),
        ("fr.toml", '"CA.strength"', '"CA.weight"', "label.CA.weight: unknown key"),
        ("de.toml", '"EU.high_caffeine"', '"EU.net_quantity"', "statement.EU.net_quantity: unknown key"),
        ("de.toml", 'milk = "Milch"', 'milk = "Milch {n}"', "allergen.milk"),
        ("de.toml", 'milk = "Milch"', 'milk = "Milch {"', "allergen.milk"),
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

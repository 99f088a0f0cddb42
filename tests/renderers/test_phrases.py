"""The fixed words by language: what is missing is in English and says so, figures have the language's own signs."""

import shutil
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from service.language import LANGUAGES, language, languages, load_languages
from service.renderers.label import label_of
from service.renderers.phrases import ENGLISH, Foreign, Phrases
from service.renderers.reading import shown
from service.renderers.sheet import sheet_of
from service.rules import rules
from tests.renderers.answers import demo_answer, packed_answer


@pytest.fixture
def partial(tmp_path: Path) -> Phrases:
    """French that lacks the words for ingredients of the glass and for what a panel says of lots."""
    target = tmp_path / "languages"
    shutil.copytree(LANGUAGES, target)
    text = (target / "fr.toml").read_text("utf-8")
    lines = text.splitlines(keepends=True)
    kept = [line for line in lines if not line.startswith(("build = ", "lot = "))]
    assert len(lines) - len(kept) == 2
    (target / "fr.toml").write_text("".join(kept), "utf-8")
    return Phrases(load_languages(target, rules())["fr"])


def test_a_missing_phrase_is_english_and_marked_on_page_and_panel(partial: Phrases) -> None:
    assert partial["build"] == "Build" and isinstance(partial["build"], Foreign)
    page = ET.fromstring(sheet_of(demo_answer("fog-signal"), phrases=partial, language="fr"))
    heads = [one for one in page.iter("{http://www.w3.org/1999/xhtml}h2") if "".join(one.itertext()) == "Build"]
    assert [one.find("{http://www.w3.org/1999/xhtml}span").get("lang") for one in heads] == ["en"]  # type: ignore[union-attr]
    assert 'aria-label="Build"' in sheet_of(demo_answer("fog-signal"), phrases=partial, language="fr")
    panel = ET.fromstring(label_of(packed_answer(), phrases=partial, language="fr"))
    lots = [one for one in panel.iter("{http://www.w3.org/2000/svg}text") if "".join(one.itertext()) == "Lot"]
    assert [one.get("{http://www.w3.org/XML/1998/namespace}lang") for one in lots] == ["en"]


def test_a_whole_language_marks_no_phrase() -> None:
    for code in languages():
        words = Phrases(language(code))
        assert set(words) == set(ENGLISH)
        assert not [key for key, text in words.items() if isinstance(text, Foreign)], code


@pytest.mark.parametrize(
    ("code", "figure", "written"),
    # Decimal signs of CLDR; what a float writes with an exponent is written out.
    [("fr", 12.5, "12,5"), ("de", "1250.00", "1.250,00"), ("ja", 12.5, "12.5"), ("en", "1250.00", "1250.00"),
     ("de", 1e-05, "0,00001"), ("de", "1 dash", "1 dash"), ("de", "2026-11-25", "2026-11-25")],
)  # fmt: skip
def test_figures_have_the_signs_of_the_language(code: str, figure: object, written: str) -> None:
    assert shown(figure, Phrases(language(code))) == written


def test_what_is_unknown_is_said_in_the_language_and_never_a_figure() -> None:
    for code in languages():
        said = shown(None, Phrases(language(code)), "ml")
        assert said == language(code).text("print.not_known").text and not any(sign.isdigit() for sign in said)


@pytest.mark.parametrize("figure", [1e-300, 5e-324, 9.9e-10])
def test_a_figure_next_to_nothing_is_not_written_out(figure: float) -> None:
    """IEEE 754 doubles reach down to 4.9e-324, which nobody reads digit by digit."""
    assert Phrases().number(figure) == "<0.000000001"
    assert Phrases(language("de")).number(figure) == "<0,000000001"

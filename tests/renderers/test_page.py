"""What every page shares: the policy fits the stylesheet, nothing is blank, the palette can be read."""

import base64
import hashlib
import re
import string
import xml.etree.ElementTree as ET
from pathlib import Path

import jinja2
import pytest

from service.renderers import page, phrases
from service.renderers.page import POLICY, STYLE, TEMPLATES, legible
from service.renderers.sheet import sheet_of
from service.solve.compared_words import FIGURES, MONEY, OTHERS, STATES
from tests.renderers.answers import demo_answer

FOLDER = TEMPLATES.parent
STYLE_IN_PAGE = re.compile(r"<style>(.*?)</style>", re.DOTALL)
COLOURS = dict(re.findall(r"--(\w+): (#[0-9a-f]{6})", STYLE.partition("}")[0]))


def test_the_policy_allows_the_style_that_stands_in_the_page_and_no_script() -> None:
    found = STYLE_IN_PAGE.search(sheet_of(demo_answer("fog-signal")))
    assert found is not None
    digest = base64.b64encode(hashlib.sha256(found[1].encode()).digest()).decode()
    assert f"style-src 'sha256-{digest}'" in POLICY
    assert POLICY.startswith("default-src 'none'; ")
    assert "script" not in POLICY and "unsafe" not in POLICY


def test_no_template_has_a_script_a_style_attribute_or_a_way_around_escaping() -> None:
    for path in TEMPLATES.iterdir():
        text = path.read_text(encoding="utf-8")
        assert not re.search(r"<script|\sstyle=|\son\w+=|\|\s*safe|autoescape|javascript:", text), path.name


@pytest.mark.parametrize("sign", ["\x00", "\x0b", "\x1f", "\ud800", "\ufffe", "\uffff"])
def test_what_xml_has_no_place_for_is_replaced(sign: str) -> None:
    """XML 1.0, section 2.2, lists the characters there are."""
    assert legible(f"a{sign}b") == "a\ufffdb"
    answer = demo_answer("fog-signal")
    answer["drink"]["name"] = f"a{sign}b"
    heading = ET.fromstring(sheet_of(answer)).find(".//{*}h1")
    assert heading is not None and heading.text == "a\ufffdb"


def test_a_value_that_a_template_lacks_is_an_error_and_null_is_not_known() -> None:
    with pytest.raises(jinja2.UndefinedError):
        page.rendered("base.html")
    text = page._environment().from_string("{{ value }}").render(value=None, words=phrases.ENGLISH)
    assert text == "not known"


def _luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.1 defines it."""
    channels = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [one / 12.92 if one <= 0.03928 else ((one + 0.055) / 1.055) ** 2.4 for one in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("name", ["ink", "quiet", "accent"])
@pytest.mark.parametrize("ground", ["paper", "white"])
def test_words_stand_out_from_their_ground(name: str, ground: str) -> None:
    """WCAG 2.1, criterion 1.4.3: at least 4.5 to 1. White on black is 21 by the same formula."""
    behind = COLOURS.get(ground, "#ffffff")
    light, dark = _luminance(behind), _luminance(COLOURS[name])
    assert (_luminance("#ffffff") + 0.05) / (_luminance("#000000") + 0.05) == pytest.approx(21)
    assert (light + 0.05) / (dark + 0.05) >= 4.5


def test_there_is_one_accent_and_all_other_colours_are_greys() -> None:
    """Whoever prints in black and white loses nothing: no other hue is there to tell things apart."""
    every = set(re.findall(r"#[0-9a-f]{6}\b", STYLE))
    hues = {colour for colour in every if max(_channels(colour)) - min(_channels(colour)) > 12}
    assert hues == {COLOURS["accent"]}
    printed = STYLE.partition("@media print")[2]
    assert {max(_channels(colour)) - min(_channels(colour)) for colour in re.findall(r"#[0-9a-f]{6}", printed)} == {0}


def _channels(colour: str) -> list[int]:
    return [int(colour[place : place + 2], 16) for place in (1, 3, 5)]


def _used() -> tuple[set[str], set[str]]:
    """Keys and beginnings of keys that renderers and templates take of the phrases."""
    text = "\n".join(path.read_text(encoding="utf-8") for path in _sources())
    named = set(re.findall(r"""\b(?:words|phrases)(?:\.|\[["'])(\w+)""", text)) - {
        "format",
        "foreign",
        "number",
        "day",
        "listed",
        "percent_vol",
        "code",
        "spoken",
        "get",
        "of",
    }
    told = (*(title for title, _ in FIGURES.values()), *MONEY.values(), *STATES.values(), *OTHERS.values())
    named |= {key.removeprefix("print.") for key in told if key.startswith("print.")}
    begun = set(re.findall(r"""\b(?:words|phrases)\[f?["'](\w+_)["'{ ]""", text))
    return named, begun


def _sources() -> list[Path]:
    return [path for path in [*FOLDER.glob("*.py"), *TEMPLATES.iterdir()] if path.suffix in (".py", ".html", ".svg")]


def test_every_phrase_is_used_and_every_one_that_is_used_is_there() -> None:
    named, begun = _used()
    in_loops = {"ingredients", "garnish", "allowances", "pour_cost", "consumables", "labour", "serve_cost"}
    in_loops |= {"suggested", "net", "tax", "gross_margin_percent", "pour_cost_percent", "per_serve", "per_100_ml"}
    keys = set(phrases.ENGLISH)
    assert {key for key in named if key not in begun} - keys == set()
    unused = {key for key in keys - named - in_loops if not any(key.startswith(head) for head in begun)}
    assert unused == set()


def test_every_phrase_is_words_with_named_gaps() -> None:
    for key, text in phrases.ENGLISH.items():
        fields = [name for _, name, _, _ in string.Formatter().parse(text) if name is not None]
        assert text.strip() and (text.strip() == text or key == "colon"), key
        assert all(name.isidentifier() for name in fields), key

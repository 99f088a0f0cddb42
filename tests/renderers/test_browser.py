"""The pages in a real browser: no text makes a script run, nothing is inaccessible or wider than its screen."""

import json
from collections.abc import Callable, Iterator, Mapping
from typing import Any

import pytest

from service.language import language
from service.renderers.bands import Band
from service.renderers.batches import Batch, BatchRow
from service.renderers.comparison import comparison_html, comparison_svg
from service.renderers.glass import glass_svg
from service.renderers.json_ld import item_json_ld
from service.renderers.label import label_of
from service.renderers.menu import MenuRow, menu_of
from service.renderers.page import POLICY
from service.renderers.phrases import Phrases
from service.renderers.regime import allergen_names, columns_of
from service.renderers.sheet import sheet_of
from service.settings import Settings
from tests.api.conftest import Client
from tests.asked import DAY
from tests.browsing import Browser
from tests.renderers.answers import DRINKS, Json, compared_answer, demo_answer, each_text, packed_answer, spec_of
from tests.renderers.showing import Shown, showing

pytestmark = [pytest.mark.browser, pytest.mark.filterwarnings("ignore::ResourceWarning")]

HTML, XHTML, SVG = "text/html; charset=utf-8", "application/xhtml+xml", "image/svg+xml"

CORPUS = (
    "<script>alert(1)</script>",
    "</script><script>alert(1)</script>",
    "</style><script>alert(1)</script>",
    "</title><script>alert(1)</script>",
    "</desc></title></svg><script>alert(1)</script>",
    "</text><script xmlns='http://www.w3.org/1999/xhtml'>alert(1)</script>",
    "<img src=x onerror=alert(1)>",
    "<svg onload=alert(1)>",
    "<svg><animate onbegin=alert(1) attributeName=x dur=1s>",
    "<details open ontoggle=alert(1)>",
    "<input autofocus onfocus=alert(1)>",
    "<iframe srcdoc='<script>parent.alert(1)</script>'></iframe>",
    "<a href=javascript:alert(1)>x</a>",
    "<math><mtext></table><img src onerror=alert(1)>",
    "<body onload=alert(1)>",
    "<meta http-equiv=refresh content='0;url=javascript:alert(1)'>",
    "<base href=javascript:/a/-alert(1)///////>",
    "<foreignObject><body xmlns='http://www.w3.org/1999/xhtml' onload='alert(1)'/></foreignObject>",
    '" onmouseover="alert(1)" autofocus onfocus="alert(1)" x="',
    "' onmouseover='alert(1)' autofocus onfocus='alert(1)' x='",
    '"><script>alert(1)</script>',
    "'><script>alert(1)</script>",
    "`><script>alert(1)</script>",
    "--><script>alert(1)</script><!--",
    "]]><script>alert(1)</script><![CDATA[",
    "<![CDATA[<script>alert(1)</script>]]>",
    "<!DOCTYPE x [<!ENTITY e '<script>alert(1)</script>'>]>&e;",
    "<?xml-stylesheet href='javascript:alert(1)'?>",
    "&lt;script&gt;alert(1)&lt;/script&gt;",
    "&#60;script&#62;alert(1)&#60;/script&#62;",
    "{{ cycler.__init__.__globals__.os.popen('x') }}{% raw %}<script>alert(1)</script>",
    "${alert(1)} {0} {name} %s %(x)s",
    "\u003cscript\u003ealert(1)\u003c/script\u003e",
    "＜script＞alert(1)＜/script＞",
    "javascript:alert(1)",
    "url(javascript:alert(1)) expression(alert(1)) } * { background: url(x) }",
    "\x00<script>alert(1)</script>\x0b",
)
"""Ways out of element text, attributes, comments, CDATA, style, title, script and templates, in HTML and in XML."""

SPARED = {
    "role", "jurisdiction", "level", "binding", "allergen", "state", "storage", "as_of", "standing", "basis", "status",
    "statement_lang",
}  # fmt: skip
"""Keys whose words the service itself chooses from a fixed few, so that no caller's text can stand there."""


PACKED = ("net_ml", "lot", "made_on", "use_by", "storage", "responsible")


@pytest.fixture(scope="module")
def window(one_browser: Browser) -> Iterator[Shown]:
    """The browser of the worker, with a server of pages for the tests of the module."""
    with showing(one_browser) as made:
        yield made


def _poisoned(answer: Json, text: str) -> Json:
    """The answer with ``text`` in place of everything that a caller or a supplier may have written."""

    def inner(value: Any, key: str = "") -> Any:
        if isinstance(value, dict):
            return {name: inner(one, name) for name, one in value.items()}
        if isinstance(value, list) and key not in {"contains", "may_contain", "unknown", "partly_unknown"}:
            return [inner(one, key) for one in value]
        return text if isinstance(value, str) and key not in SPARED else value

    made: Json = inner(answer)
    if "pack" in made:  # What a pack states is the caller's, its storage included; what it lacks is the service's.
        made["pack"] = answer["pack"] | dict.fromkeys(PACKED, text)
    return made


def _in_two_languages(packed: Json, text: str) -> Json:
    """A packed drink with ``text`` as its legal name and in a label of two languages."""
    code = packed["pack"]["panels"][0]["jurisdiction"]
    rows = [{"what": what, "text": text, "lang": "fr", "standing": "own"} for what in ("strength", "allergens")]
    both = [{"jurisdiction": code, "lang": lang, "texts": rows} for lang in ("en", "fr")]
    name = {"item": packed["drink"]["id"], "legal_name": text, "jurisdiction": code, "verdict": "meets_figures"}
    name |= {"text": text, "source": text, "standing": "memory", "lang": "en"}
    alcohol = packed["alcohol"] | {"legal_names": [name]}
    return packed | {"alcohol": alcohol, "pack": packed["pack"] | {"languages": both}}


def _outputs(text: str) -> dict[str, tuple[str, str]]:
    """Every page and drawing with ``text`` wherever text may come from outside."""
    answer, packed = _poisoned(demo_answer("breakwater-froth"), text), _poisoned(packed_answer(), text)
    spec = each_text(spec_of("wickwarden-sour"), lambda _: text)
    names = dict.fromkeys(("eggs", "nuts", "almond", "sulphites", "wheat"), text)
    sheet = sheet_of(
        answer, spec, band=Band(1.0, 2.0, text, text), batch=Batch(2, (BatchRow(text, text),)), allergen_names=names
    )
    compared = _poisoned(compared_answer(), text)
    for drink, held in zip(compared["drinks"], compared_answer()["drinks"], strict=True):
        drink["money"] |= {name: held["money"][name] for name in ("pour_cost", "suggested_price")}  # sums, never texts
    words = {row["jurisdiction"]: dict.fromkeys(row["contains"], text) for row in compared["drinks"][0]["allergens"]}
    menu = menu_of([answer, packed], [MenuRow(text, text, text, text)] * 2, title=text, allergen_names=names)
    label, both = label_of(packed), _in_two_languages(packed, text)
    return {
        "sheet": (sheet, HTML),
        "sheet as XML": (sheet, XHTML),
        "menu": (menu, HTML),
        "menu as XML": (menu, XHTML),
        "label": (label, SVG),
        "label in two languages": (label_of(both), SVG),
        "sheet of a packed drink": (sheet_of(both), HTML),
        "label in a page": (f"<!DOCTYPE html><title>t</title>{label.partition('?>')[2]}", HTML),
        "glass": (glass_svg(answer, spec), SVG),
        "comparison": (comparison_html(compared, regimes=words), HTML),
        "comparison drawn": (comparison_svg(compared), SVG),
        "linked data in a page": (
            f'<!DOCTYPE html><title>t</title><script type="application/ld+json">{item_json_ld(answer)}</script>', HTML
        ),
    }  # fmt: skip


INTRUDERS = """
const found = [];
const barred = ["img", "iframe", "object", "embed", "input", "details", "base", "math", "animate", "foreignObject",
  "form", "link", "a"];
for (const one of document.querySelectorAll("*")) {
  if (barred.includes(one.localName)) found.push(one.localName);
  if (one.localName === "script" && one.type !== "application/ld+json") found.push("script");
  if (one.localName === "meta" && one.httpEquiv) found.push("meta");
  for (const name of one.getAttributeNames()) {
    if (name === "data-label") continue;  // words that the style sheet alone reads, for small screens
    if (/^on/i.test(name) || /javascript:/i.test(one.getAttribute(name))) found.push(one.localName + " " + name);
  }
  if (one.localName !== "script") for (const name of ["mouseover", "focus", "click", "toggle", "begin"])
    one.dispatchEvent(new Event(name, {bubbles: false}));
}
return found;
"""


def test_the_hook_sees_a_script_and_the_policy_stops_it(window: Shown) -> None:
    page = "<!DOCTYPE html><title>t</title><p onclick='alert(2)'>x</p><script>alert(1)</script>"
    window.show(page, HTML)
    assert window.run(INTRUDERS) == ["p onclick", "script"]
    assert window.ran() == ["alert 1", "alert 2"]
    window.show(page, HTML, headers={"Content-Security-Policy": POLICY})
    window.run(INTRUDERS)
    assert window.ran() == []


@pytest.mark.parametrize("text", CORPUS, ids=range(len(CORPUS)))
def test_no_text_makes_a_script_run_even_without_the_policy(window: Shown, text: str) -> None:
    for name, (page, media_type) in _outputs(text).items():
        window.show(page, media_type)
        assert window.run("return document.getElementsByTagName('parsererror').length") == 0, name
        assert window.run(INTRUDERS) == [], name
        assert window.ran() == [], name


def test_all_texts_together_do_no_more_with_the_policy(window: Shown) -> None:
    for name, (page, media_type) in _outputs(" ".join(CORPUS)).items():
        window.show(page, media_type, headers={"Content-Security-Policy": POLICY})
        assert window.run(INTRUDERS) == [], name
        assert window.ran() == [], name


def test_a_text_arrives_as_it_is_written(window: Shown) -> None:
    name = "<b>&amp; \"Fog\" 'n' Signal</b> ]]> {{ 7 * 7 }}"
    answer = demo_answer("fog-signal")
    answer["drink"]["name"] = name
    window.show(sheet_of(answer), HTML)
    assert window.run("return document.querySelector('h1').textContent") == name
    window.show(label_of(answer), SVG)
    assert name in window.run("return document.querySelector('desc').textContent")
    page = f'<!DOCTYPE html><title>t</title><script type="application/ld+json">{item_json_ld(answer)}</script>'
    window.show(page, HTML)
    document = json.loads(window.run("return document.querySelector('script').textContent"))
    assert document["hasMenuItem"][0]["name"] == name


def _menu(phrase: Callable[[str], str] = str) -> str:
    answers = [each_text(demo_answer(drink_id), phrase) for drink_id in DRINKS]
    return menu_of(answers, jurisdiction="NL", columns=columns_of("NL", DAY), allergen_names=allergen_names("NL", DAY))


@pytest.mark.parametrize("width", [320, 768, 1280])
def test_the_menu_has_no_violation_and_fits_its_screen(window: Shown, width: int) -> None:
    window.show(_menu(), HTML, width, {"Content-Security-Policy": POLICY})
    assert window.violations() == []
    assert window.run("return document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("width", [320, 1280])
@pytest.mark.parametrize("drink_id", DRINKS)
def test_every_sheet_has_no_violation_and_fits_its_screen(window: Shown, drink_id: str, width: int) -> None:
    page = sheet_of(demo_answer(drink_id), spec_of(drink_id))
    window.show(page, HTML, width, {"Content-Security-Policy": POLICY})
    assert window.violations() == []
    assert window.run("return document.documentElement.scrollWidth") <= width
    # The style is the page's own and the policy lets it in.
    assert window.run("return getComputedStyle(document.querySelector('header')).borderBottomStyle") == "solid"


def test_axe_would_find_what_is_wrong(window: Shown) -> None:
    window.show("<!DOCTYPE html><html><body><img src='data:,'><p style='color:#aaa'>Pale words</p></body></html>", HTML)
    found = " ".join(window.violations())
    for rule in ("document-title", "html-has-lang", "image-alt", "color-contrast"):
        assert rule in found


@pytest.mark.parametrize("code", ["NL", "US"])
@pytest.mark.parametrize("drink_id", DRINKS)
def test_every_label_has_no_violation_and_keeps_within_its_panel(window: Shown, drink_id: str, code: str) -> None:
    panel = label_of(demo_answer(drink_id), jurisdiction=code)
    inner = panel.partition("?>")[2]
    window.show(f'<!DOCTYPE html><html lang="en"><title>t</title><main><h1>t</h1>{inner}</main></html>', HTML)
    assert window.violations() == []
    assert _outside(window) == []


@pytest.mark.parametrize("width", [320, 768, 1280])
def test_a_label_by_itself_is_as_wide_as_its_screen_lets_it_be(window: Shown, width: int) -> None:
    """CSS 2.2, 10.4 and CSS Images 3, 4.3: with its own ratio; under 10 px nobody reads (common practice)."""
    window.show(label_of(packed_answer()), SVG, width, {"Content-Security-Policy": POLICY})
    drawn = window.run("return document.documentElement.getBoundingClientRect().toJSON()")
    view = window.run("return document.documentElement.viewBox.baseVal")
    seen = window.run("return document.documentElement.clientWidth || innerWidth")
    assert drawn["width"] == pytest.approx(min(seen, 480), abs=1)
    assert drawn["height"] / drawn["width"] == pytest.approx(view["height"] / view["width"], abs=0.01)
    sizes = "[...document.querySelectorAll('text')].map(one => parseFloat(one.getAttribute('font-size')))"
    least = window.run(f"return Math.min(...{sizes})")
    assert least * drawn["width"] / view["width"] >= 10


def test_a_printed_label_is_80_mm_wide(window: Shown) -> None:
    """CSS Values 4, 6.2: an inch is 96 px and 25.4 mm, so that 80 mm are 302.4 px."""
    window.show(label_of(packed_answer()), SVG, 1280, {"Content-Security-Policy": POLICY})
    window.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    try:
        drawn = window.run("return document.documentElement.getBoundingClientRect().width")
    finally:
        window.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
    assert drawn == pytest.approx(302.4, abs=0.5)


def test_a_label_in_two_languages_keeps_within_its_panel(window: Shown) -> None:
    both = _in_two_languages(packed_answer(), "Contient : noix (amandes). Peut contenir : lait.")
    window.show(
        f'<!DOCTYPE html><html lang="en"><title>t</title><h1>t</h1>{label_of(both).partition("?>")[2]}</html>', HTML
    )
    assert _outside(window) == []


OUTSIDE = """
const panel = document.querySelector("svg").viewBox.baseVal;
return [...document.querySelectorAll("svg text")].filter(one => {
  const box = one.getBBox();
  return box.x < 0 || box.y < 0 || box.x + box.width > panel.width || box.y + box.height > panel.height;
}).map(one => one.textContent);
"""


def _outside(window: Shown) -> list[str]:
    found: list[str] = window.run(OUTSIDE)
    return found


@pytest.mark.parametrize("text", ["Wide Waterways With Mooring" * 4, "漢字の飲み物" * 12, "iiiiii " * 20], ids=range(3))
def test_long_words_keep_within_panel_and_screen(window: Shown, text: str) -> None:
    answer = packed_answer()
    answer["drink"]["name"] = text
    for line in answer["lines"]:
        line["name"] = text
    answer["pack"] |= dict.fromkeys(PACKED, text)
    window.show(label_of(answer), SVG)
    assert _outside(window) == []
    for page in (sheet_of(answer), menu_of([answer], [MenuRow(price="12.50", currency="EUR")])):
        window.show(page, HTML, 320)
        assert window.run("return document.documentElement.scrollWidth") <= 320


@pytest.mark.parametrize("drink_id", DRINKS)
def test_the_words_beside_every_glass_keep_within_the_drawing(window: Shown, drink_id: str) -> None:
    window.show(glass_svg(demo_answer(drink_id), spec_of(drink_id)), SVG)
    assert _outside(window) == []


@pytest.mark.parametrize("lang", ["fr", "ja"])
def test_a_comparison_has_no_violation_in_any_language_and_fits_its_screen(window: Shown, lang: str) -> None:
    words = Phrases(language(lang))
    page = comparison_html(compared_answer(), words, {"EU": allergen_names("EU", DAY, words)})
    for width in (320, 1280):
        window.show(page, HTML, width)
        assert window.run("return document.documentElement.lang") == lang
        assert window.run("return document.documentElement.scrollWidth") <= width
        assert _outside(window) == []
    assert window.violations() == []


@pytest.mark.parametrize("lang", ["fr", "ja"])
def test_a_stored_menu_has_no_violation_in_the_guests_language(window: Shown, lang: str) -> None:
    client = Client(Settings(demo=True))
    try:
        asked = {"as_of": DAY.isoformat(), "lang": lang}
        found = client.get("/v1/menus/winter-harbour/label", params=asked, headers={"Accept": "text/html"})
    finally:
        client.close()
    for width in (320, 1280):
        window.show(found.text, HTML, width, {"Content-Security-Policy": found.headers["content-security-policy"]})
        assert window.run("return document.documentElement.lang") == lang
        assert window.run("return document.documentElement.scrollWidth") <= width
    window.show(found.text, HTML)  # without the policy, which lets no script in to look either
    assert window.violations() == []


def test_print_is_black_on_white(window: Shown) -> None:
    window.show(_menu(), HTML)
    window.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    try:
        colours = window.run(
            "return [...document.querySelectorAll('*')].map(one => getComputedStyle(one).color)"
            ".filter((one, place, all) => all.indexOf(one) === place)"
        )
        assert set(colours) == {"rgb(0, 0, 0)", "rgb(51, 51, 51)"}
        assert window.run("return getComputedStyle(document.documentElement).backgroundColor") == "rgb(255, 255, 255)"
    finally:
        window.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})


def test_a_page_asks_for_nothing_else(window: Shown) -> None:
    pages: Mapping[str, str] = {sheet_of(demo_answer("fog-signal"), spec_of("fog-signal")): HTML, _menu(): HTML}
    for page, media_type in pages.items():
        window.show(page, media_type)
        asked = window.run("return performance.getEntriesByType('resource').map(one => one.name)")
        assert [name for name in asked if not name.endswith("/favicon.ico")] == []

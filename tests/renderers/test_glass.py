"""The drawn glass: places on it by geometry, what is known and what is not in words, nothing on top of another."""

import re
import xml.etree.ElementTree as ET
from typing import Any

import pytest

from service.renderers.glass import BRIM, FOOT, Cup, glass_svg
from tests.renderers.answers import DRINKS, demo_answer, spec_of

SVG = "{http://www.w3.org/2000/svg}"
CUP = Cup(BRIM, FOOT, 0.0, 100.0)


def _texts(drawing: str) -> list[str]:
    return [" ".join("".join(one.itertext()).split()) for one in ET.fromstring(drawing).iter(f"{SVG}text")]


def _drawn(answer: dict[str, Any], spec: dict[str, Any] | None = None) -> str:
    return " | ".join(_texts(glass_svg(answer, spec)))


@pytest.mark.parametrize("share", [0.1, 0.25, 0.5, 0.756, 0.99])
def test_a_level_stands_where_that_share_of_the_volume_ends(share: float) -> None:
    """Geometry: the volume below a height is the sum of thin slices of a cone that widens evenly."""
    height = CUP.bottom - CUP.y(share)
    slices = 20_000

    def volume(up_to: float) -> float:
        step = up_to / slices
        return sum((FOOT + (BRIM - FOOT) * (place + 0.5) * step / 100.0) ** 2 * step for place in range(slices))

    assert volume(height) / volume(100.0) == pytest.approx(share, abs=1e-6)


def test_the_glass_begins_at_the_foot_and_ends_at_the_brim() -> None:
    assert CUP.y(0.0) == pytest.approx(CUP.bottom)
    assert CUP.y(1.0) == pytest.approx(CUP.top)
    assert CUP.radius(1.0) == pytest.approx(BRIM)


@pytest.mark.parametrize("drink_id", DRINKS)
def test_every_demo_glass_is_well_formed_and_says_its_figures(drink_id: str) -> None:
    answer, spec = demo_answer(drink_id), spec_of(drink_id)
    serve = answer["serve"]
    drawing = glass_svg(answer, spec)
    root = ET.fromstring(drawing)
    assert root.get("role") == "img"
    title, text = (root.find(f"{SVG}{name}") for name in ("title", "desc"))
    assert title is not None and text is not None and text.text is not None
    assert root.get("aria-labelledby") == f"{title.get('id')} {text.get('id')}"
    said = _drawn(answer, spec)
    assert f"wash line {serve['washline_percent']}\u00a0% of the glass" in text.text
    assert f"brim {spec['serve']['glass_ml']} ml" in said.replace("\u00a0", " ")
    for figure in (serve["washline_percent"], serve["liquid_ml"]):
        assert str(figure) in said
    assert ("hatched" in said) == bool(serve["water_added_ml"])
    assert ("url(#glass-hatch)" in drawing) == bool(serve["water_added_ml"])
    assert ("foam" in said) == bool(serve["foam_ml"])
    assert ("held up by ice" in said) == bool(serve["ice_displaced_ml"])


@pytest.mark.parametrize("drink_id", DRINKS)
def test_no_label_lies_on_another_or_outside_the_drawing(drink_id: str) -> None:
    root = ET.fromstring(glass_svg(demo_answer(drink_id), spec_of(drink_id)))
    height = float(str(root.get("viewBox")).split()[3])
    last = 0.0
    for label in root.iter(f"{SVG}text"):
        lines = len(label.findall(f"{SVG}tspan"))
        top = float(str(label.get("y"))) - 12.0
        assert top >= last - 0.1
        last = top + lines * 17.0
        assert last <= height


def test_an_unknown_wash_line_is_drawn_as_no_level_and_said() -> None:
    answer = demo_answer("wickwarden-sour")
    answer["serve"] |= {"washline_percent": None, "liquid_ml": None, "water_added_ml": None, "foam_ml": None}
    drawing = glass_svg(answer, None)
    said = _drawn(answer)
    for words in ("wash line not known", "water from ice not known", "size not known", "in the glass not known"):
        assert words in said.replace("\u00a0ml", "").replace("\u00a0", " ")
    assert "foam not known" in said.replace("\u00a0", " ")
    assert "pattern" not in drawing and 'stroke-width="2.2"' not in drawing
    assert not re.search(r"\b0(\.0)? ?ml", said)


def test_a_small_glass_is_drawn_smaller_and_never_too_small_for_its_words() -> None:
    answer = demo_answer("wickwarden-sour")

    def brim(glass_ml: float) -> float:
        drawing = glass_svg(answer, {"serve": {"glass_ml": glass_ml}})
        widths = [float(one) for one in re.findall(r'd="M([0-9.]+) [0-9.]+L[0-9.]+ [0-9.]+H', drawing)]
        return min(widths)

    assert brim(500) < brim(240) < brim(130)
    assert brim(1) == brim(40)
    assert ET.fromstring(glass_svg(answer, {"serve": {"glass_ml": 1}})) is not None


def test_a_drawing_has_one_ink_and_no_fill_but_white_and_hatching() -> None:
    drawing = glass_svg(demo_answer("breakwater-froth"), spec_of("breakwater-froth"))
    assert set(re.findall(r'stroke="(#\w+)"', drawing)) == {"#1b1d1f"}
    assert set(re.findall(r'fill="([^"]+)"', drawing)) <= {
        "none",
        "#ffffff",
        "#1b1d1f",
        "url(#glass-hatch)",
        "url(#glass-foam)",
    }


def test_a_glass_overfilled_by_the_spec_is_drawn_to_the_brim() -> None:
    answer = demo_answer("wickwarden-sour")
    answer["serve"]["washline_percent"] = 140.0
    assert "wash line 140.0" in _drawn(answer).replace("\u00a0", " ")
    ET.fromstring(glass_svg(answer))

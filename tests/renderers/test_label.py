"""The label panel: one jurisdiction's rows and words, and a packed drink that names what it lacks."""

import itertools
import json
import re
import xml.etree.ElementTree as ET
from typing import Any

import pytest

from service.language import language
from service.renderers.label import label_of
from service.renderers.panel import WIDTH, width_of, wrapped
from service.renderers.phrases import Phrases
from service.renderers.sheet import sheet_of
from tests.one_drink import poured, thing
from tests.renderers.answers import DRINKS, GUEST_SECTIONS, answer_to, body_of, demo_answer, emptied, packed_answer
from tests.report.test_wording import answered

SVG = "{http://www.w3.org/2000/svg}"
WHOLE = {
    "net_ml": "100", "lot": "L26-11", "made_on": "2026-11-25", "storage": "Keep chilled",
    "responsible": "The Slack Tide, Skerrowmouth",
}  # fmt: skip


def words(panel: str) -> str:
    """All words of a panel, without its title and description."""
    lines = ["".join(one.itertext()) for one in ET.fromstring(panel.encode()).iter(f"{SVG}text")]
    return " ".join(" ".join(lines).split())


def ready(**more: Any) -> dict[str, Any]:
    """The demo's bottled drink, of which everything is known; what ``more`` names of it stands instead."""
    body = body_of("lantern-flask")
    drink = {key: one for key, one in {**body["drink"], **WHOLE, **more}.items() if one is not None}
    return answer_to(body | {"drink": drink})


@pytest.mark.parametrize("code", ["NL", "GB", "US"])
@pytest.mark.parametrize("drink_id", DRINKS)
def test_every_demo_drink_has_a_well_formed_panel_in_its_own_words(drink_id: str, code: str) -> None:
    answer = demo_answer(drink_id)
    panel = label_of(answer, jurisdiction=code)
    root = ET.fromstring(panel.encode())
    assert root.find(f"{SVG}title") is not None and root.find(f"{SVG}desc") is not None
    text = words(panel)
    declaration = next(row for row in answer["allergens"]["declarations"] if row["jurisdiction"] == code)
    assert " ".join(declaration["statement"].split()) in text
    for row in answer["nutrition"]["declared"]:
        if row["jurisdiction"] == code:
            name = row["label"] if row["unrounded"] is not None else f"{row['label']} ({row['unit']})"
            assert f"{name} {row['text']}" in text
    assert "NOT READY" not in text
    assert "None" not in text


@pytest.mark.parametrize("drink_id", DRINKS)
def test_no_panel_holds_a_cost(drink_id: str) -> None:
    assert label_of(demo_answer(drink_id)) == label_of(answer_to(body_of(drink_id, include=GUEST_SECTIONS)))


def test_a_packed_drink_with_everything_is_ready() -> None:
    panel = label_of(ready())
    text = words(panel)
    assert "NOT READY" not in text and "stroke-dasharray" not in panel
    for said in ("Net quantity 100 ml", "Lot L26-11", "Made on 25 November 2026", "Storage Keep chilled", "28.4 % vol"):
        assert said in text
    # Bottled on 25 November 2026, good for 365 days: the same day of 2027 by the calendar, with no 29 February between.
    assert "Use by 25 November 2027" in text
    assert "Check local codes" in text


@pytest.mark.parametrize(
    ("field", "named"),
    [
        ("net_ml", "Net quantity"), ("lot", "Lot"), ("made_on", "Made on"), ("storage", "Storage"),
        ("responsible", "Responsible"),
    ],
)  # fmt: skip
def test_what_a_packed_drink_lacks_is_named_and_it_is_not_ready(field: str, named: str) -> None:
    answer = ready(**{field: None})
    text = words(label_of(answer))
    assert "NOT READY" in text and f"Missing: {named}." in text
    assert f"{named} not known" in text
    assert [(row["ready"], row["missing"]) for row in answer["pack"]["panels"]] == [(False, [field])] * 3


def test_without_a_pack_all_of_it_is_missing() -> None:
    text = words(label_of(packed_answer()))
    assert "Missing: Net quantity, Lot, Made on, Storage, Responsible" in text


def test_no_net_quantity_is_zero() -> None:
    answer = ready(net_ml="0")
    assert answer["pack"]["net_ml"] is None
    assert "Net quantity not known" in words(label_of(answer))


def _without_life() -> dict[str, Any]:
    body = body_of("lantern-flask")
    lines = [{"item": "skerrowmouth-rum-43", "amount": "100 ml"}]
    return answer_to(body | {"drink": {**body["drink"], **WHOLE, "lines": lines}})


def test_an_unknown_life_allergen_or_figure_keeps_it_from_being_ready() -> None:
    """Rum keeps, nobody says how long; the blanched almond's syrup and the bitters leave allergens and sugars open."""
    assert "Missing: use-by date." in words(label_of(_without_life()))
    body = body_of("fog-signal")
    open_to = answer_to(body | {"drink": {**body["drink"], **WHOLE, "sold_as": "prepacked"}})
    assert open_to["pack"]["panels"][0]["missing"] == ["allergens", "nutrition"]
    text = words(label_of(open_to))
    assert "every allergen known" in text and "every declared nutrition figure" in text


def test_a_section_that_was_not_asked_for_keeps_it_from_being_ready() -> None:
    body = body_of("lantern-flask", include=["allergens"])
    assert answer_to(body)["pack"]["panels"][0]["missing"] == ["strength", "nutrition"]


@pytest.mark.parametrize(
    ("made_on", "days", "use_by", "missing"),
    [
        # Calendar: 365 days from each day of making; 20 October 2025 and 365 days are 20 October 2026.
        ("2026-11-25", 365, "2027-11-25", []),
        ("2026-11-20", 360, "2027-11-20", []),
        ("2025-11-25", 0, "2026-11-25", []),
        ("2025-10-20", -36, "2026-10-20", ["use_by_passed"]),
    ],
)
def test_a_pack_keeps_from_the_day_it_was_made(made_on: str, days: int, use_by: str, missing: list[str]) -> None:
    answer = ready(made_on=made_on)
    assert (answer["use_by"]["days"], answer["pack"]["use_by"]) == (days, use_by)
    assert answer["pack"]["panels"][0]["missing"] == missing
    assert ("a use-by date that has not passed" in words(label_of(answer))) == bool(missing)
    assert ("past_use_by" in {row["code"] for row in answer["advisories"]}) == bool(missing)


def test_a_pack_of_a_later_day_is_doubted() -> None:
    answer = ready(made_on="2026-12-01")
    assert "made_on_in_future" in {row["code"] for row in answer["warnings"]}
    assert answer["pack"]["use_by"] == "2027-12-01"


def test_a_drink_says_itself_how_it_is_sold() -> None:
    """At a bar that pours, and poured at a shop that packs."""
    body = body_of("lantern-flask")
    assert body["house"]["sold_as"] == "poured"
    assert ready()["alcohol"]["menu_text"] == [] and ready()["alcohol"]["label"]
    shop = body["house"] | {"sold_as": "prepacked"}
    poured = body_of("fog-signal")["drink"] | {"sold_as": "poured"}
    answer = answer_to(body_of("fog-signal", drink=poured, house=shop))
    assert "pack" not in answer and answer["alcohol"]["label"] == [] and answer["alcohol"]["menu_text"]


def test_no_duty_misses_a_net_quantity_that_the_drink_states() -> None:
    """Duties that need it: EU 1169/2011 Article 9(1)(e), AU 2.7.1, CA, US 27 CFR 5.70 and IE section 12."""
    body = body_of("lantern-flask", jurisdictions=["EU", "GB", "IE", "US", "CA", "AU"])
    missing: dict[str | None, int] = {}
    for net_ml in ("100", None):
        drink = {key: one for key, one in {**body["drink"], "net_ml": net_ml, "sold_as": "prepacked"}.items() if one}
        rows = answer_to(body | {"drink": drink})["duties"]
        missing[net_ml] = sum("net_quantity_ml" in row["missing"] for row in rows)
    assert missing["100"] == 0
    assert missing[None] >= 6


def test_another_jurisdictions_gaps_are_not_this_ones() -> None:
    answer = ready()
    answer["pack"]["panels"][2] |= {"ready": False, "missing": ["allergens"]}
    assert "NOT READY" not in words(label_of(answer, jurisdiction="NL"))
    assert "NOT READY" in words(label_of(answer, jurisdiction="US"))


def test_a_jurisdiction_that_was_not_asked_for_is_not_known() -> None:
    text = words(label_of(ready(), jurisdiction="JP"))
    assert "Strength not known" in text and "Nothing here says that the drink is free of any." in text
    assert "NOT READY" in text


def test_the_head_of_the_us_warning_is_heavy_and_the_rest_is_not() -> None:
    """27 CFR 16.22(a)(2), from memory: the two words in capitals and heavy, the remainder not."""
    root = ET.fromstring(label_of(ready(), jurisdiction="US").encode())
    heavy = [one.text for one in root.iter(f"{SVG}tspan")]
    assert "GOVERNMENT WARNING" in heavy
    assert not any("Surgeon" in str(one) for one in heavy)


def test_an_answer_of_nothing_but_its_serve_is_no_blank_panel() -> None:
    answer = answer_to(body_of("fog-signal", include=["balance"]))
    text = words(label_of(answer))
    assert "Strength not known" in text and "Allergens were not asked for." in text


def test_unknown_figures_are_words() -> None:
    answer = demo_answer("wickwarden-sour")
    answer["alcohol"]["menu_text"] = []
    answer["nutrition"]["declared"] = [row | {"text": "not known"} for row in emptied(answer["nutrition"]["declared"])]
    text = words(label_of(answer))
    assert "Strength not known" in text and not re.search(r"(?<![\d.])0 (g|kJ|kcal)", text)


@pytest.mark.parametrize("text", ["a" * 500, "word " * 100, "漢字" * 80, "W" * 200, "x", "‑" * 90])
def test_no_line_is_wider_than_its_room_and_nothing_is_lost(text: str) -> None:
    lines = wrapped(text, 100.0, 11.0)
    assert all(width_of(line, 11.0) <= 100.0 or len(line) == 1 for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")


def test_a_long_name_makes_a_higher_panel_and_no_wider_one() -> None:
    answer = demo_answer("fog-signal")
    plain = ET.fromstring(label_of(answer).encode())
    answer["drink"]["name"] = "Interminable " * 15
    long = ET.fromstring(label_of(answer).encode())
    heights = [float(str(panel.get("height")).removesuffix("mm")) for panel in (plain, long)]
    assert heights[1] > heights[0]
    assert long.get("width") == plain.get("width") == "80.0mm"
    for panel in (plain, long):
        # The size in print has the shape of the drawing: 80 mm are 320 units, four to the millimetre.
        _, _, width, height = (float(one) for one in str(panel.get("viewBox")).split())
        assert width == WIDTH == 320 and float(str(panel.get("height")).removesuffix("mm")) == pytest.approx(
            height / 4, abs=0.06
        )


@pytest.mark.parametrize("width", range(80, 300, 10))
def test_no_line_begins_with_a_sign_that_belongs_to_the_word_before(width: int) -> None:
    """French sets a space before colon, semicolon and percent sign and does not break there (from memory)."""
    text = "Exempt de déclaration : lait ; rhum à 40 % du volume. Le lait (40 %), le rhum 46 %"
    lines = wrapped(text, float(width), 11.0)
    assert not [line for line in lines if line[0] in ":;%"]
    assert " ".join(lines) == text


def _canadian(page: str) -> dict[str, Any]:
    body = body_of("lantern-flask", jurisdictions=["CA"])
    rum = thing("rum", kind="spirit", abv_percent=40, allergens={"almond": "contains"}, open_life_days=365)
    drink = {**body["drink"], **WHOLE, "sold_as": "prepacked", "lines": [poured("rum", "100 ml")]}
    found: dict[str, Any] = json.loads(json.dumps(answered({**body, "drink": drink, "ingredients": [rum]}, page)))
    return found


@pytest.mark.parametrize("page", ["en", "fr", "ja"])
def test_a_label_for_canada_is_in_both_languages_whichever_is_asked_for(page: str) -> None:
    """Food and Drug Regulations B.01.012, from memory; B.02.003 has X % alc./vol. in both (French from memory), and
    B.01.010.1 has noix and amandes for tree nuts and almonds (from memory)."""
    answer = _canadian(page)
    rows = answer["pack"]["languages"]
    assert [(row["jurisdiction"], row["lang"], row["standing"]) for row in rows] == [
        ("CA", "en", "memory"), ("CA", "fr", "memory")
    ]  # fmt: skip
    english, french = ({one["what"]: one for one in row["texts"]} for row in rows)
    assert (english["strength"]["text"], french["strength"]["text"]) == ("40.0 % alc./vol.", "40,0 % alc./vol.")
    assert (english["strength"]["standing"], french["strength"]["standing"]) == ("confirmed", "memory")
    assert english["allergens"]["text"].startswith("Contains tree nuts (almond).")
    assert french["allergens"]["text"].startswith("Contient\u00a0: noix (amandes).")
    assert english["allergens"]["standing"] == french["allergens"]["standing"] == "own"
    words_of_page = Phrases(language(page))
    panel = label_of(answer, phrases=words_of_page, language=page)
    text = words(panel)
    for said in ("40.0 % alc./vol.", "40,0 % alc./vol.", "Contains tree nuts (almond).", "Contient : noix (amandes)."):
        assert said in text
    assert "Allergens" in text and "Allergènes" in text and "Net quantity / Quantité nette 100 ml" in text
    assert "Made on" in text and "Fabriqué le" in text
    # Each line says its language where that is not the page's (XML 1.0, 2.12).
    lang = "{http://www.w3.org/XML/1998/namespace}lang"
    spoken = {
        str(one.text): one.get(lang, page) for one in ET.fromstring(panel.encode()).iter(f"{SVG}text") if one.text
    }
    assert (spoken["40.0 % alc./vol."], spoken["40,0 % alc./vol."]) == ("en", "fr")
    sheet = sheet_of(answer, phrases=words_of_page, language=page)
    for code, said in (("en", "Contains tree nuts (almond)."), ("fr", "Contient\u00a0: noix (amandes).")):
        assert said in sheet and (code == page or f'<span lang="{code}">{said}' in sheet)
    assert str(words_of_page["standing_own"]) in sheet


def test_no_other_label_is_in_two_languages() -> None:
    assert ready()["pack"]["languages"] == []


def test_an_allergen_that_canada_does_not_name_otherwise_has_the_french_of_the_union() -> None:
    answer = _canadian("fr")
    held = {row["key"]: row["text"] for row in answer["labels"]["terms"] if row["key"].startswith("allergen.")}
    assert held["allergen.CA.nuts"] == "noix" and held["allergen.almond"] == "amandes"


def test_words_of_a_panel_are_as_high_as_labels_ask_for() -> None:
    """Regulation (EU) 1169/2011, Article 13(2), from memory: an x at least 1.2 mm high. 27 CFR 16.22(b), from memory:
    capitals of 2 mm up to 3 litres. Common sans serifs have an x of 0.52 and capitals of 0.71 of their size (from
    memory)."""
    for code in ("NL", "US", "GB"):
        root = ET.fromstring(label_of(ready(), jurisdiction=code).encode())
        mm = float(str(root.get("width")).removesuffix("mm")) / float(str(root.get("viewBox")).split()[2])
        for line in root.iter(f"{SVG}text"):
            assert float(str(line.get("font-size"))) * mm * 0.52 >= 1.2
        warning = [one for one in root.iter(f"{SVG}text") if "GOVERNMENT" in "".join(one.itertext())]
        assert all(float(str(one.get("font-size"))) * mm * 0.71 >= 2.0 for one in warning)
        assert bool(warning) is (code == "US")


@pytest.mark.parametrize("width", range(60, 300, 8))
def test_no_line_of_japanese_begins_or_ends_with_a_sign_that_may_not(width: int) -> None:
    """JIS X 4051, from memory: no stop, closing bracket or long sign begins a line, no opening one ends it."""
    text = "氷からの水：49.4\u00a0ml（斜線部）、アルコールを含みます。アレルギー（卵・乳）はスタッフにお尋ねください。"
    lines = wrapped(text, float(width), 11.0)
    assert "".join(lines) == text
    for before, after in itertools.pairwise(lines):
        assert after[0] not in "、。）：ー" and before[-1] != "（"
        assert not (before[-1].isascii() and after[0].isascii())
    assert any("49.4\u00a0ml" in line for line in lines)


@pytest.mark.parametrize(
    ("code", "saturates", "sugars"),
    # Regulation (EU) 1169/2011, Annex XV, in these versions, from memory: both rows say that they are part of another.
    [("fr", "dont acides gras saturés", "dont sucres"), ("de", "davon gesättigte Fettsäuren", "davon Zucker"),
     ("es", "de las cuales ácidos grasos saturados", "de los cuales azúcares"),
     ("it", "di cui acidi grassi saturi", "di cui zuccheri"), ("nl", "waarvan verzadigde vetzuren", "waarvan suikers"),
     ("pt", "dos quais ácidos gordos saturados", "dos quais açúcares"),
     ("pl", "w tym kwasy tłuszczowe nasycone", "w tym cukry"), ("sv", "varav mättat fett", "varav sockerarter")],
)  # fmt: skip
def test_what_is_part_of_another_nutrient_says_so_in_every_language(code: str, saturates: str, sugars: str) -> None:
    text = words(label_of(demo_answer("wickwarden-sour"), phrases=Phrases(language(code)), language=code))
    assert f"{saturates} " in text and f"{sugars} " in text


def _packed_of(item: str, **facts: Any) -> dict[str, Any]:
    drink = {"id": "can", "name": "Can", "lines": [{"item": item, "amount": "250 ml"}]}
    things = [thing(item, **facts)] if facts else []
    asked = {"drink": drink, "ingredients": things, "jurisdictions": ["EU", "US"], "as_of": "2026-11-25"}
    return answer_to(asked | {"house": {"sold_as": "prepacked"}})


def test_official_texts_that_rest_on_what_is_in_it_are_printed_where_they_are_due() -> None:
    """Regulation (EU) 1169/2011, Annex III (seen in a copy): 4.1 over 150 mg/l of caffeine; 2.1 and 2.3 of a drink with
    aspartame; of a drink that has neither, and of a content that is not known, nothing is printed."""
    strong, mild = (words(label_of(_packed_of("hot", per_100={"caffeine_mg": mg}))) for mg in (15.01, 15))
    # 15.01 mg in 100 ml, to one decimal; the law says no place. The figure stands in brackets behind the text.
    assert "pregnant or breast-feeding women (15 mg/100 ml)" in strong and "High caffeine" not in mild
    hot = words(label_of(_packed_of("hot", per_100={"caffeine_mg": 32.06})))
    assert "Not recommended for children or pregnant or breast-feeding women (32.1 mg/100 ml)" in hot
    sweet = words(label_of(_packed_of("cola-aspartame")))
    assert "with sweetener(s)" in sweet and "contains a source of phenylalanine" in sweet
    assert "sweetener" not in mild and "phenylalanine" not in mild and "laxative" not in mild
    assert "PHENYLKETONURICS" in words(label_of(_packed_of("cola-aspartame"), jurisdiction="US"))
    silent = _packed_of("unsaid", per_100={"caffeine_mg": None})
    assert [row["applies"] for row in silent["duties"] if row["code"] == "high_caffeine"] == ["not known"]
    assert "High caffeine" not in words(label_of(silent))


def test_a_pack_of_unknown_volume_has_its_declaration_as_not_known() -> None:
    """Article 32(2), from memory: the declaration is of 100 ml; where nobody knows the volume it stood on no panel, and
    no panel said that it lacked."""
    body = body_of("lantern-flask")
    drink = body["drink"] | {"method": {"kind": "swizzled"}}
    answer = answer_to(body | {"drink": drink, "jurisdictions": ["EU"]})
    assert "Energy (kJ) not known" in words(label_of(answer, jurisdiction="EU"))
    assert {"strength", "nutrition"} <= set(answer["pack"]["panels"][0]["missing"])

"""Amounts as bars write them: every published measure, every form, every refusal."""

from decimal import ROUND_HALF_UP, Context, Decimal

import pytest

from service.amounts import Amount, Measures, read_amount, read_pair
from service.errors import InputFault
from service.units import TABLE

US = Measures()
IMPERIAL = Measures(ounce="imperial")
METRIC = Measures(ounce="metric")
PIECES = frozenset({"leaf", "cherry", "wheel", "wedge", "twist", "sprig", "knife_cut", "half", "radish", "pinch"})


def read(text: str, measures: Measures = US, *, by_mass: bool = False) -> Amount:
    return read_amount(text, measures, by_mass=by_mass, pieces=PIECES)


def fault(text: str, measures: Measures = US, *, by_mass: bool = False) -> InputFault:
    with pytest.raises(InputFault) as caught:
        read(text, measures, by_mass=by_mass)
    return caught.value


PUBLISHED = [
    # The US and avoirdupois rows: NIST Handbook 44, Appendix C.
    ("us fl oz", "29.5735295625", "volume"),
    ("us oz", "29.5735295625", "volume"),
    ("us tsp", "4.92892159375", "volume"),
    ("us tbsp", "14.78676478125", "volume"),
    ("us cup", "236.5882365", "volume"),
    ("us gill", "118.29411825", "volume"),
    ("us pint", "473.176473", "volume"),
    ("us minim", "0.06161152", "volume"),
    ("oz av", "28.349523125", "mass"),
    ("lb", "453.59237", "mass"),
    # Nutrition labels: 21 CFR 101.9(b)(5)(viii).
    ("labelling fl oz", "30", "volume"),
    ("labelling tsp", "5", "volume"),
    ("labelling tbsp", "15", "volume"),
    ("labelling cup", "240", "volume"),
    # Imperial rows: Weights and Measures Act 1985 (United Kingdom), Schedule 1.
    ("imperial fl oz", "28.4130625", "volume"),
    ("imperial gill", "142.0653125", "volume"),
    ("imperial pint", "568.26125", "volume"),
    ("quarter imperial gill", "35.51632813", "volume"),
    ("ie measure", "35.51632813", "volume"),
    ("fifth imperial gill", "28.4130625", "volume"),
    ("sixth imperial gill", "23.67755208", "volume"),
    # Weights and Measures (Intoxicating Liquor) Order 1988 (United Kingdom).
    ("uk spirit measure", "25", "volume"),
    ("uk spirit measure 35", "35", "volume"),
    ("uk wine measure", "125", "volume"),
    ("uk wine measure 175", "175", "volume"),
    ("uk fortified measure", "50", "volume"),
    ("uk fortified measure 70", "70", "volume"),
    # Utah Code 32B-5-304 names 1.5 oz.
    ("us shot", "44.36029434", "volume"),
    ("us jigger", "44.36029434", "volume"),
    # Common practice, no source.
    ("metric oz", "30", "volume"),
    ("bar short oz", "30", "volume"),
    ("metric tsp", "5", "volume"),
    ("metric tbsp", "15", "volume"),
    ("au tbsp", "20", "volume"),
    ("metric cup", "250", "volume"),
    ("au nip", "30", "volume"),
    ("pony", "29.5735295625", "volume"),
    ("dash 1/32 fl oz", "0.9241728", "volume"),
    ("dash 1/8 tsp", "0.6161152", "volume"),
    ("dash 1/6 tsp", "0.82148693", "volume"),
    ("metric drop", "0.05", "volume"),
    ("barspoon 5 ml", "5", "volume"),
    # From memory: serving line marks; Liquid Intelligence (2014).
    ("de shot 2 cl", "20", "volume"),
    ("de shot 4 cl", "40", "volume"),
    ("dash 0.8 ml", "0.8", "volume"),
    ("barspoon 4 ml", "4", "volume"),
]
"""Words that name their measure, with the figure as published, which is met to its last digit."""


@pytest.mark.parametrize("measures", [US, IMPERIAL, METRIC], ids=lambda measures: measures.ounce)
@pytest.mark.parametrize(("word", "published", "dimension"), PUBLISHED, ids=[row[0] for row in PUBLISHED])
def test_published_measure_is_read_whatever_the_house_pours(
    word: str, published: str, dimension: str, measures: Measures
) -> None:
    amount = read(f"1 {word}", measures)
    assert amount.dimension == dimension
    assert amount.quantity.quantize(Decimal(published), rounding=ROUND_HALF_UP) == Decimal(published)
    assert amount.disagreement is None


@pytest.mark.parametrize("word", sorted(TABLE.explicit))
def test_every_explicit_word_reads_its_unit(word: str) -> None:
    unit = TABLE.explicit[word]
    for text in (f"1 {word}", f"1 {word.upper()}" if word != "mg" else f"1{word}"):
        assert read(text).quantity == unit.factor
    assert read_pair(1, word, US, by_mass=False, pieces=()).quantity == unit.factor


BARE = [
    # US: NIST Handbook 44, Appendix C. Imperial: Weights and Measures Act 1985. Metric: common practice.
    ("oz", "29.5735295625", "28.4130625", "30"),
    ("fl oz", "29.5735295625", "28.4130625", "30"),
    ("tsp", "4.92892159375", "5", "5"),
    ("tbsp", "14.78676478125", "15", "15"),
    ("cup", "236.5882365", None, "250"),
    ("gill", "118.29411825", "142.0653125", None),
    ("pint", "473.176473", "568.26125", None),
]


@pytest.mark.parametrize(("word", "us", "imperial", "metric"), BARE, ids=[row[0] for row in BARE])
def test_bare_word_follows_the_ounce_of_the_house(
    word: str, us: str | None, imperial: str | None, metric: str | None
) -> None:
    for measures, expected in ((US, us), (IMPERIAL, imperial), (METRIC, metric)):
        if expected is None:
            refusal = fault(f"1 {word}", measures)
            assert refusal.code == "unit_ambiguous"
            assert "us " + word in refusal.detail
        else:
            assert read(f"1 {word}", measures).quantity == Decimal(expected)


def test_house_measures() -> None:
    # The defaults are common practice, no source; 0.8 ml a dash is Liquid Intelligence (2014), from memory.
    assert read("2 dashes").quantity == Decimal("1.6")
    assert read("6 drops").quantity == Decimal("0.3")
    assert read("1 barspoon").quantity == read("1 bsp").quantity == read("1 bar spoon").quantity == 5
    own = Measures(dash_ml=Decimal("0.92"), drop_ml=Decimal("0.03"), barspoon_ml=Decimal("2.5"))
    assert read("2 dash", own).quantity == Decimal("1.84")
    assert read("10 drops", own).quantity == Decimal("0.3")
    assert read("1 bar-spoon", own).quantity == Decimal("2.5")


@pytest.mark.parametrize("word", ["oz", "ounce", "ounces", "OZ", "Oz."])
def test_bare_ounce_of_an_item_kept_by_mass_is_avoirdupois(word: str) -> None:
    amount = read(f"1 {word}", IMPERIAL, by_mass=True)
    assert (amount.dimension, amount.quantity) == ("mass", Decimal("28.349523125"))


@pytest.mark.parametrize("word", ["fl oz", "fl. oz.", "fl.oz.", "floz", "fluid ounces", "us oz", "imperial oz"])
def test_fluid_ounce_stays_fluid_for_an_item_kept_by_mass(word: str) -> None:
    assert read(f"1 {word}", by_mass=True).dimension == "volume"


@pytest.mark.parametrize("word", ["oz wt", "oz av", "ounce avoirdupois"])
def test_ounce_by_weight_is_a_mass_for_every_item(word: str) -> None:
    assert (read(f"2 {word}").dimension, read(f"2 {word}").quantity) == ("mass", Decimal("56.69904625"))


FORMS = [
    ("50 ml", "50", "50 ml"),
    ("50ml", "50", "50 ml"),
    ("50 mL", "50", "50 ml"),
    ("50 ML", "50", "50 ml"),
    ("50 Ml", "50", "50 ml"),
    (" 50 ml ", "50", "50 ml"),
    ("50.125 millilitres", "50.125", "50.125 ml"),
    ("5 cl", "50", "5 cl = 50 ml"),
    ("2dl", "200", "2 dl = 200 ml"),
    ("1 L", "1000", "1 l = 1000 ml"),
    ("3/4 us oz", "22.180147171875", "0.75 us fl oz = 22.18 ml"),
    ("3/4 oz", "22.180147171875", "0.75 us fl oz = 22.18 ml"),
    ("0.75 oz", "22.180147171875", "0.75 us fl oz = 22.18 ml"),
    (".75 oz", "22.180147171875", "0.75 us fl oz = 22.18 ml"),
    ("¾ oz", "22.180147171875", "0.75 us fl oz = 22.18 ml"),
    ("¾oz", "22.180147171875", "0.75 us fl oz = 22.18 ml"),
    ("1 1/2 oz", "44.36029434375", "1.5 us fl oz = 44.36 ml"),
    ("1½ oz", "44.36029434375", "1.5 us fl oz = 44.36 ml"),
    ("1 ½ oz", "44.36029434375", "1.5 us fl oz = 44.36 ml"),
    ("2 dashes", "1.6", "2 dashes = 1.6 ml"),
    ("1/4 imperial gill", "35.516328125", "0.25 imperial gill = 35.52 ml"),
    ("2 dashes 1/32 fl oz", "1.84834559765625", "2 dashes 1/32 fl oz = 1.848 ml"),
    ("1 dash", "0.8", "1 dash = 0.8 ml"),
    ("4 drops", "0.2", "4 drops = 0.2 ml"),
    ("1/2 barspoon", "2.5", "0.5 barspoon = 2.5 ml"),
    ("6 sixth imperial gills", "142.0653125", "6 sixth imperial gills = 142.1 ml"),
]


@pytest.mark.parametrize(("text", "quantity_ml", "read_as"), FORMS, ids=[row[0] for row in FORMS])
def test_form(text: str, quantity_ml: str, read_as: str) -> None:
    # Products of the exact factors above, worked by hand.
    assert read(text) == Amount("volume", Decimal(quantity_ml), None, read_as)


@pytest.mark.parametrize(("text", "quantity_g"), [("0.4 g", "0.4"), ("250 mg", "0.25"), ("1.5 kg", "1500")])
def test_mass(text: str, quantity_g: str) -> None:
    assert (read(text).dimension, read(text).quantity) == ("mass", Decimal(quantity_g))


GLYPHS = {
    "¼": "0.25", "½": "0.5", "¾": "0.75", "⅛": "0.125", "⅜": "0.375", "⅝": "0.625", "⅞": "0.875",
    "⅓": "0.3333333333333333333333333333", "⅔": "0.6666666666666666666666666667",
}  # fmt: skip


@pytest.mark.parametrize(("glyph", "share"), GLYPHS.items())
def test_fraction_glyph(glyph: str, share: str) -> None:
    assert read(f"{glyph} ml").quantity == Decimal(share)
    assert read(f"2{glyph} ml").quantity == Context(prec=28).add(Decimal(2), Decimal(share))


def test_a_third_is_exact_until_the_end() -> None:
    # Three thirds of 30 ml are 10 ml each: a third cut to a decimal first would leave 9.99...
    assert read("⅓ metric oz").quantity == 10
    assert read("2/3 metric cup").quantity == Decimal("166.6666666666666666666666667")


@pytest.mark.parametrize("text", ["fill", "Fill", " FILL "])
def test_fill(text: str) -> None:
    assert read(text) == Amount("fill", Decimal(0), None, "fill")


def test_parts() -> None:
    assert read("2 parts") == Amount("part", Decimal(2), None, "2 parts")
    assert read("1 part") == Amount("part", Decimal(1), None, "1 part")
    assert read("1 1/2 parts").quantity == Decimal("1.5")

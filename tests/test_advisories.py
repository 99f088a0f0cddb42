"""Cautions of whole drinks: each trigger goes off at its limit and not before; each carries source and deferral."""

from pathlib import Path
from typing import Any

import pytest

from service.rules import rules
from tests.one_drink import asked, cautions, poured, thing

ALL = ("EU", "GB", "US", "CA", "AU", "NZ", "JP")


def told(things: Any = (), codes: tuple[str, ...] = ("EU",), amount: str = "100 ml", **more: Any) -> set[str]:
    made = list(things) or [thing()]
    return cautions(asked([poured(made[0]["id"], amount)], made, codes, **more))


def test_every_caution_has_source_standing_and_whom_to_ask() -> None:
    things = [
        thing("egg", kind="egg"),
        thing("tonic"),
        thing("gin", kind="spirit", abv_percent=60),
        thing("activated-charcoal"),
    ]
    found = asked([poured(made["id"], "20 g") for made in things], things, ALL, house={"max_standard_drinks": 0.1})
    assert len(found["advisories"]) >= 8
    for row in found["advisories"]:
        assert row["source"] and row["deferral"] and row["text"]
        assert row["level"] in ("info", "caution", "serious")
        assert row["standing"] in ("confirmed", "secondary", "memory", "house")


def test_a_plain_drink_calls_for_none() -> None:
    assert told(codes=ALL) == set()


@pytest.mark.parametrize(
    ("item_id", "codes", "key"),
    [
        ("tonic-water", ("EU",), "quinine"), ("cinchona-bark", ("EU",), "quinine"),
        ("house-bee-pollen", ("EU",), "bee_products"), ("liquid-nitrogen", ("EU",), "liquid_nitrogen"),
        ("dry-ice", ("US",), "dry_ice"), ("nitrous-oxide-charger", ("EU",), "nitrous_oxide"),
        ("nitrous-oxide-charger", ("GB-ENG",), "nitrous_oxide_gb"), ("tonka-bean", ("US",), "tonka_us"),
        ("tonka-bean", ("US-UT",), "tonka_us"), ("tonka-bean", ("EU",), "coumarin"), ("wormwood", ("EU",), "thujone"),
        ("absinthe-65", ("FR",), "thujone"), ("apricot-kernel", ("EU",), "hydrocyanic_acid"),
        ("calamus", ("EU",), "bitter_principles"),
        ("calamus", ("US",), "calamus_us"), ("liquorice-root", ("EU",), "liquorice"),
        ("activated-charcoal", ("US",), "activated_charcoal"),
        ("methylcellulose", ("EU",), "methylcellulose"), ("sucralose-drops", ("IE",), "sweeteners"),
        ("aspartame", ("US",), "aspartame"),
        ("aspartame", ("US",), "aspartame_us"), ("grapefruit-juice", ("EU",), "grapefruit"),
        ("carmine", ("US",), "carmine_us"),
        ("tobacco-leaf", ("EU",), "poisonous_plants"), ("guarana-syrup", ("NZ",), "guarana"),
        ("wine-chinato-17", ("EU",), "quinine"), ("white-quinquina", ("EU",), "quinine"),
        ("red-kina", ("EU",), "quinine"),
        ("elixir-of-china", ("EU",), "quinine"), ("bitter-aperitif-red-24", ("EU",), "quinine_possible"),
        ("cola-aspartame", ("EU",), "sweeteners"), ("cola-aspartame", ("EU",), "aspartame"),
        ("cola-aspartame", ("US",), "aspartame_us"), ("yellow-5", ("US",), "yellow_5_us"),
        ("tartrazine-drops", ("US",), "yellow_5_us"), ("pastis-45", ("EU",), "liquorice"),
        ("cassia-bark", ("EU",), "coumarin"),
    ],
)  # fmt: skip
def test_a_word_in_the_id_calls_for_its_caution(item_id: str, codes: tuple[str, ...], key: str) -> None:
    assert key in told([thing(item_id)], codes)


@pytest.mark.parametrize(
    ("item_id", "codes", "key"),
    [
        ("tonka-bean", ("EU", "GB"), "tonka_us"), ("calamus", ("EU",), "calamus_us"),
        ("grapefruit-bitters", ("EU",), "grapefruit"),
        ("tonico", ("EU",), "quinine"), ("carmine", ("EU",), "carmine_us"),
        ("nitrous-oxide-charger", ("US",), "nitrous_oxide_gb"),
        ("chinatown-syrup", ("EU",), "quinine"), ("black-china-tea", ("EU",), "quinine"),
        ("tartrazine", ("EU",), "yellow_5_us"), ("maize-kernel", ("EU",), "hydrocyanic_acid"),
        ("pine-kernels", ("EU",), "hydrocyanic_acid"), ("stone-fruit-syrup", ("EU",), "hydrocyanic_acid"),
        ("spit-roast-pineapple", ("EU",), "hydrocyanic_acid"), ("rhubarb", ("EU",), "poisonous_plants"),
        ("elderflower", ("EU",), "poisonous_plants"),
    ],
)  # fmt: skip
def test_a_caution_stays_where_it_belongs(item_id: str, codes: tuple[str, ...], key: str) -> None:
    assert key not in told([thing(item_id)], codes)


def test_the_name_of_a_callers_item_counts_as_well() -> None:
    assert "quinine" in told([thing("sku-17", name="Dry Tonic Water")])
    assert "activated_charcoal" in told([thing("sku-18", name="Charcoal, activated")])
    assert "raw_egg" not in told([thing("sku-19", name="Egg white, pasteurised", kind="egg")], amount="30 g")
    assert "raw_egg" in told([thing("sku-20", name="Egg white", kind="egg")], amount="30 g")


@pytest.mark.parametrize(
    ("name", "key"),
    [
        ("Apricot kernels", "hydrocyanic_acid"), ("Bitter almonds", "hydrocyanic_acid"),
        ("Cherry pits", "hydrocyanic_acid"), ("Peach stones", "hydrocyanic_acid"), ("Noyaux", "hydrocyanic_acid"),
        ("Cherry-laurel leaves", "hydrocyanic_acid"), ("Mahlab", "hydrocyanic_acid"),
        ("Cassava, raw", "hydrocyanic_acid"), ("Tonka beans", "coumarin"), ("Yews", "poisonous_plants"),
        ("Tobacco leaves", "poisonous_plants"), ("Cigar, infused", "poisonous_plants"),
        ("Rhubarb leaves", "poisonous_plants"), ("Elder leaves", "poisonous_plants"),
        ("Aconite root", "poisonous_plants"), ("Wolfsbane", "poisonous_plants"), ("Jimsonweed", "poisonous_plants"),
        ("Hydrangea flowers", "poisonous_plants"), ("Hellebores", "poisonous_plants"),
        ("Pennyroyal", "poisonous_plants"), ("Tansies", "poisonous_plants"), ("Nicotine drops", "poisonous_plants"),
    ],
)  # fmt: skip
def test_the_plural_of_a_word_counts_as_well(name: str, key: str) -> None:
    # Regulation (EC) 1334/2008, Annex III; 21 CFR 189; poisonous plants by common knowledge, no source.
    assert key in told([thing("sku-21", name=name)])


@pytest.mark.parametrize("role", ["garnish", "rinse", "top"])
def test_a_caution_looks_at_every_line(role: str) -> None:
    found = asked(
        [poured("water"), poured("tonka-bean", "1 g", role=role)], [thing("tonka-bean", kind="spice")], ["US"]
    )
    assert "tonka_us" in cautions(found)


def test_a_caution_looks_into_house_made_parts() -> None:
    made = {
        "id": "syrup",
        "name": "Syrup",
        "lines": [poured("water", "1 l"), poured("tonka-bean", "5 g", strained_out=True)],
    }
    found = asked([poured("syrup", "20 ml")], [thing("tonka-bean", kind="spice")], ["US"], preparations=[made])
    assert next(row for row in found["advisories"] if row["code"] == "tonka_us")["items"] == ["tonka-bean"]


# Raw egg: FDA Food Code 3-302.13; Food Standards Agency, 11 October 2017.


@pytest.mark.parametrize(
    ("item_id", "raw"),
    [
        ("egg-white", True),
        ("egg-yolk", True),
        ("pasteurised-egg-white", False),
        ("aquafaba-egg-replacer", False),
        ("egg-white-powder", False),
    ],
)
def test_raw_egg(item_id: str, raw: bool) -> None:
    found = told([thing(item_id, kind="egg")], ("US", "GB"), amount="30 g")
    assert ("raw_egg" in found) is raw
    assert ("raw_egg_gb" in found) is raw


@pytest.mark.parametrize(
    ("name", "kind", "raw"),
    [
        ("Egg white", "other", True),
        ("Whole egg", "dairy", True),
        ("Flip mix", "mixer", True),
        ("Egg liqueur", "liqueur", False),
        ("White wine, fined", "wine", False),
        ("Egg white, pasteurised", "other", False),
        ("Biscuits", "other", False),
    ],
)
def test_raw_egg_is_known_by_the_allergen_whatever_the_kind(name: str, kind: str, raw: bool) -> None:
    odd = thing("sku-22", name=name, kind=kind, allergens={"eggs": "contains"})
    assert ("raw_egg" in told([odd], ("US",), amount="30 ml")) is raw
    assert "raw_egg" not in told([thing("sku-22", name="Foam", kind=kind, allergens={"eggs": "may_contain"})], ("US",))


def test_each_country_has_its_own_advice_on_raw_egg() -> None:
    # The Food Standards Agency lets assured raw egg be served; the sentence of the Food Code would deny it.
    egg = thing("egg-white", kind="egg")
    for code in ("GB", "GB-SCT"):
        assert {"raw_egg", "raw_egg_gb"} & told([egg], (code,), amount="30 g") == {"raw_egg_gb"}
    assert {"raw_egg", "raw_egg_gb"} & told([egg], ("US",), amount="30 g") == {"raw_egg"}
    both = asked([poured("egg-white", "30 g")], [egg], ["US", "GB"])["advisories"]
    held = {row["code"]: row["jurisdictions"] for row in both}
    assert (held["raw_egg"], held["raw_egg_gb"]) == (["US"], ["GB"])


def test_raw_egg_is_serious() -> None:
    found = asked([poured("egg-white", "1 each")])
    assert next(row for row in found["advisories"] if row["code"] == "raw_egg")["level"] == "serious"


# Strength, method, licence.


@pytest.mark.parametrize(("abv", "goes_off"), [(56.9, False), (57, True), (63, True)])
def test_a_strong_spirit_burns(abv: float, goes_off: bool) -> None:
    assert ("strong_spirit" in told([thing(abv_percent=abv)])) is goes_off


def test_heated_alcohol() -> None:
    heated = {"method": {"kind": "heated", "water": {"ml": 100}}}
    assert "heated_alcohol" in told([thing(abv_percent=40)], drink=heated)
    assert "heated_alcohol" not in told(drink=heated)


def test_pregnancy_wherever_there_is_alcohol() -> None:
    assert "pregnancy" in told([thing(abv_percent=0.1)])
    assert "pregnancy" not in told()


def test_pregnancy_where_an_alternative_has_alcohol() -> None:
    found = asked([poured("none", alternatives=["wine"])], [thing("none"), thing("wine", abv_percent=12)])
    assert "pregnancy" in cautions(found)


@pytest.mark.parametrize(("kind", "key"), [("distilling", "licence_distilling"), ("redistilling", "licence_distilling"),
                                           ("freezing_out", "licence_distilling"),
                                           ("fermenting", "licence_fermenting")])  # fmt: skip
def test_a_licence_may_be_needed(kind: str, key: str) -> None:
    made = {"id": "part", "name": "Part", "lines": [poured(amount="1 l")], "steps": [{"kind": kind}]}
    found = asked([poured("part", "20 ml")], [thing(abv_percent=10)], preparations=[made])
    row = next(row for row in found["advisories"] if row["code"] == key)
    assert row["items"] == ["part"]
    assert "licence" in row["text"]


def test_washing_needs_no_licence() -> None:
    made = {"id": "part", "name": "Part", "lines": [poured(amount="1 l")], "steps": [{"kind": "fat_washing"}]}
    assert not {"licence_distilling", "licence_fermenting"} & cautions(
        asked([poured("part", "20 ml")], [thing()], preparations=[made])
    )


def test_a_caution_for_several_jurisdictions_names_them_once() -> None:
    found = asked([poured("aspartame")], [thing("aspartame")], ["EU", "GB", "US"])
    row = [row for row in found["advisories"] if row["code"] == "sweeteners"]
    assert [one["jurisdictions"] for one in row] == [["EU", "GB"]]


def test_every_advisory_of_the_data_can_go_off() -> None:
    """Each key of the data stands in a test of cautions; a new one needs its own."""
    files = Path(__file__).parent.glob("test_advisories*.py")
    text = "\n".join(path.read_text(encoding="utf-8") for path in files)
    for advisory in rules().advisories:
        assert f'"{advisory.key}"' in text, advisory.key

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


# Amounts per litre of the finished drink: at the limit and just beyond.


@pytest.mark.parametrize(
    ("per_100", "codes", "key", "goes_off"),
    [
        # 21 CFR 172.575: 83 parts per million of quinine.
        ({"quinine_mg": 8.3}, ("US",), "quinine_limit", False), ({"quinine_mg": 8.31}, ("US",), "quinine_limit", True),
        ({"quinine_mg": 20}, ("EU",), "quinine_limit", False),
        ({"quinine_mg": 0.001}, ("AU",), "quinine_present", True),
        ({"quinine_mg": 0.001}, ("NZ",), "quinine_present", True),
        ({"quinine_mg": 0}, ("AU",), "quinine_present", False),
        # Regulation (EU) 1169/2011 Annex III 4.1: over 150 mg/l of caffeine.
        ({"caffeine_mg": 15}, ("EU",), "caffeine_high", False),
        ({"caffeine_mg": 15.01}, ("EU",), "caffeine_high", True),
        # Annex III 3.1 and 3.2: 10 and 50 mg/l of glycyrrhizinic acid.
        ({"glycyrrhizin_mg": 0.99}, ("EU",), "liquorice_amount", False),
        ({"glycyrrhizin_mg": 1}, ("EU",), "liquorice_amount", True),
        ({"glycyrrhizin_mg": 4.99}, ("GB",), "liquorice_hypertension", False),
        ({"glycyrrhizin_mg": 5}, ("GB",), "liquorice_hypertension", True),
        # Annex III 2.4: over 10 % polyols.
        ({"polyols_g": {"sorbitol": 10}, "carbohydrate_g": 10}, ("EU",), "polyols", False),
        ({"polyols_g": {"sorbitol": 10.1}, "carbohydrate_g": 10.1}, ("EU",), "polyols", True),
    ],
)  # fmt: skip
def test_an_amount_calls_at_its_limit(
    per_100: dict[str, Any], codes: tuple[str, ...], key: str, goes_off: bool
) -> None:
    assert (key in told([thing(per_100=per_100)], codes)) is goes_off


@pytest.mark.parametrize(
    ("mg", "abv", "weak", "strong"),
    [
        (5, 1.2, True, False),
        (5, 1.21, False, False),
        (29.9, 20, False, False),
        (30, 20, False, True),
        (30, 1.2, True, False),
    ],
)
def test_liquorice_by_strength(mg: float, abv: float, weak: bool, strong: bool) -> None:
    # Annex III 3.3: from 300 mg/l in a drink over 1.2 % vol.
    found = told([thing(per_100={"glycyrrhizin_mg": mg}, abv_percent=abv)])
    assert ("liquorice_hypertension" in found, "liquorice_hypertension_alcohol" in found) == (weak, strong)


@pytest.mark.parametrize(("mg", "abv", "goes_off"), [(100, 20, False), (100.1, 20, True), (100.1, 0, False)])
def test_liquorice_in_the_united_states(mg: float, abv: float, goes_off: bool) -> None:
    # 21 CFR 184.1408: 0.1 % of an alcoholic drink as served, taken as 1000 mg/l.
    assert ("liquorice_us" in told([thing(per_100={"glycyrrhizin_mg": mg}, abv_percent=abv)], ("US",))) is goes_off


@pytest.mark.parametrize(("mg", "abv", "goes_off"), [(150, 0, False), (150.1, 0, True), (150.1, 20, False)])
def test_liquorice_without_alcohol_in_the_united_states(mg: float, abv: float, goes_off: bool) -> None:
    # 21 CFR 184.1408: 0.15 % of a drink without alcohol as served, taken as 1500 mg/l.
    found = told([thing(per_100={"glycyrrhizin_mg": mg}, abv_percent=abv)], ("US",))
    assert ("liquorice_us_soft" in found) is goes_off


def test_an_unknown_strength_takes_no_caution_off() -> None:
    odd = thing(per_100={"glycyrrhizin_mg": 40}, kind="liqueur")
    del odd["abv_percent"]
    assert {"liquorice_hypertension", "liquorice_hypertension_alcohol", "pregnancy"} <= told([odd])


def test_water_thins_an_amount_below_its_limit() -> None:
    made = [thing(per_100={"caffeine_mg": 20})]
    assert "caffeine_high" in told(made)
    assert "caffeine_high" not in told(made, drink={"method": {"kind": "shaken", "water": {"ml": 100}}})


def test_caffeine_with_alcohol() -> None:
    weak, strong = thing("coffee", per_100={"caffeine_mg": 40}), thing("rum", abv_percent=40)
    with_it = cautions(asked([poured("coffee", "50 ml"), poured("rum", "50 ml")], [weak, strong]))
    assert {"caffeine_with_alcohol", "caffeine_high"} <= with_it
    # Its amount is known, so that it is not called a source of unknown strength as well.
    assert "caffeine_source_with_alcohol" not in with_it
    assert not {"caffeine_with_alcohol", "caffeine_source_with_alcohol"} & told([weak])


def test_a_source_of_unknown_caffeine_with_alcohol() -> None:
    odd = thing("cold-brew-concentrate")
    del odd["per_100"]["caffeine_mg"]
    found = cautions(
        asked([poured("cold-brew-concentrate", "50 ml"), poured("rum", "50 ml")], [odd, thing("rum", abv_percent=40)])
    )
    assert "caffeine_source_with_alcohol" in found
    assert "caffeine_with_alcohol" not in found


def with_vodka(name: str, strained: bool = False, **facts: Any) -> set[str]:
    odd = thing("sku-23", name=name, kind="spice", **facts)
    if facts.get("per_100") is None:
        del odd["per_100"]["caffeine_mg"]
    made = {
        "id": "part",
        "name": "Part",
        "lines": [poured("vodka-40", "700 ml"), poured("sku-23", "20 g", strained_out=strained)],
    }
    return cautions(asked([poured("part", "50 ml")], [odd], preparations=[made]))


@pytest.mark.parametrize(
    ("name", "goes_off"),
    [
        ("Black tea", True), ("Masala chai", True), ("Cocoa", True), ("Tea syrup", True), ("Teas, mixed", True),
        ("Yerba mate", True), ("Chamomile tea", False), ("Hibiscus tea", False), ("Rooibos tea", False),
        ("Mint tea", False), ("Herbal tea", False), ("Coffee, decaffeinated", False), ("Steak", False),
    ],
)  # fmt: skip
def test_sources_of_caffeine_by_name(name: str, goes_off: bool) -> None:
    assert ("caffeine_source_with_alcohol" in with_vodka(name)) is goes_off


def test_a_leaf_that_is_strained_out_gives_caffeine_though_its_composition_stays_behind() -> None:
    leaf = {"per_100": {"caffeine_mg": 3000, "basis": "g"}}
    assert "caffeine_source_with_alcohol" in with_vodka("Smoky leaf", strained=True, **leaf)
    assert "caffeine_source_with_alcohol" not in with_vodka("Leaf", strained=True, per_100={"basis": "g"})


def test_a_house_made_part_called_after_tea_is_a_source_of_caffeine() -> None:
    made = {"id": "tea-cordial", "name": "Cordial", "lines": [poured("simple-syrup-1-1", "500 ml")]}
    lines = [poured("tea-cordial", "20 ml"), poured("vodka-40", "50 ml")]
    assert "caffeine_source_with_alcohol" in cautions(asked(lines, preparations=[made]))


def test_the_caution_on_caffeine_says_how_much() -> None:
    # Regulation (EU) 1169/2011 Annex III 4.1: the statement is followed by the mg in 100 ml.
    def text(*things: Any) -> str:
        found = asked([poured(made["id"], "50 ml") for made in things], things)["advisories"]
        return str(next(row["text"] for row in found if row["code"] == "caffeine_high"))

    coffee, odd = thing("coffee", per_100={"caffeine_mg": 40}), thing("odd")
    del odd["per_100"]["caffeine_mg"]
    assert "(40.0 mg in 100 ml)" in text(coffee)
    assert "(20.0 mg in 100 ml)" in text(coffee, thing("none"))
    assert "(at least 20.0 mg in 100 ml)" in text(coffee, odd)


COFFEE = thing("coffee", per_100={"caffeine_mg": 40, "glycyrrhizin_mg": 20, "polyols_g": {"sorbitol": 30},
                                  "carbohydrate_g": 30})  # fmt: skip
MEASURED = {"caffeine_high", "liquorice_amount", "liquorice_hypertension", "polyols"}


def beside_plain(*lines: Any, parts: Any = ()) -> Any:
    return asked([*lines, poured("plain", "50 ml")], [thing("plain"), COFFEE], preparations=list(parts))


def part_of(*lines: Any, **more: Any) -> Any:
    return {"id": "part", "name": "Part", "lines": list(lines), **more}


def test_what_an_alternative_holds_calls_for_its_caution() -> None:
    # 20 mg of caffeine in 100 ml where the coffee is poured, none of it as poured.
    found = beside_plain(poured("plain", "50 ml", alternatives=["coffee"]))
    assert cautions(found) >= MEASURED
    text = next(row["text"] for row in found["advisories"] if row["code"] == "caffeine_high")
    assert "(up to 20.0 mg in 100 ml)" in text
    assert not cautions(beside_plain(poured("plain", "50 ml"))) & MEASURED


@pytest.mark.parametrize(
    "line", [{"role": "top"}, {"role": "garnish", "eaten": True}, {"role": "rinse", "residue_ml": 50}]
)
def test_an_alternative_counts_by_what_is_drunk_of_it(line: dict[str, Any]) -> None:
    assert cautions(beside_plain(poured("plain", "50 ml", alternatives=["coffee"], **line))) >= MEASURED
    few = {**line, "residue_ml": 0} if line["role"] == "rinse" else {"role": "garnish"}
    assert not cautions(beside_plain(poured("plain", "50 ml", alternatives=["coffee"], **few))) & MEASURED


def test_what_a_part_may_hold_instead_calls_for_its_caution() -> None:
    part = part_of(poured("plain", "100 ml", alternatives=["coffee"]))
    outer = {"id": "outer", "name": "Outer", "lines": [poured("part", "100 ml")]}
    assert cautions(beside_plain(poured("part", "50 ml"), parts=[part])) >= MEASURED
    assert cautions(beside_plain(poured("plain", "50 ml", alternatives=["outer"]), parts=[part, outer])) >= MEASURED
    # Reduced to half its volume it holds twice as much in a ml: 40 mg in 100 ml of half of it.
    half = part_of(*part["lines"], **{"yield": {"amount": "50 ml", "reduced": True}})
    found = beside_plain(poured("part", "50 ml"), parts=[half])
    assert "(up to 40.0 mg in 100 ml)" in str(found["advisories"])
    gone = part_of(*part["lines"], steps=[{"kind": "distilling"}])
    assert not cautions(beside_plain(poured("part", "50 ml"), parts=[gone])) & MEASURED


def test_a_caution_for_weak_drinks_looks_at_the_weakest() -> None:
    # 50 mg/l in a drink of 0 or of 5 % vol: it may be one of up to 1.2 % vol.
    things = [
        thing("soft", per_100={"glycyrrhizin_mg": 5}),
        thing("hard", per_100={"glycyrrhizin_mg": 5}, abv_percent=5),
    ]
    assert "liquorice_hypertension" in cautions(asked([poured("soft", alternatives=["hard"])], things))
    assert "liquorice_hypertension" in cautions(asked([poured("hard", alternatives=["soft"])], things))


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


# House-made parts that spoil: common practice, no source.


def kept(*lines: Any, things: Any = (), name: str = "part") -> set[str]:
    made = {"id": name, "name": "Part", "lines": list(lines)}
    return cautions(asked([poured(name, "20 ml")], things, preparations=[made]))


def test_a_low_acid_low_strength_part_with_dairy_is_cautioned() -> None:
    milk = thing("milk", kind="dairy")
    assert "time_and_temperature" in kept(poured("milk", "1 l"), things=[milk])
    assert "time_and_temperature" in kept(poured("water", "1 l"), poured("mint", "20 g", strained_out=True))
    assert "time_and_temperature" not in kept(poured("water", "1 l"))


@pytest.mark.parametrize(("per_100", "abv", "goes_off"), [({}, 19.9, True), ({}, 20.1, False),
({"acids_g": {"citric": 4.1}}, 0, False),
                                                          ({"acids_g": {"citric": 3.9}}, 0, True)])  # fmt: skip
def test_strength_or_acid_keeps_a_part(per_100: dict[str, Any], abv: float, goes_off: bool) -> None:
    milk = thing("milk", kind="dairy", abv_percent=abv, per_100=per_100)
    assert ("time_and_temperature" in kept(poured("milk", "1 l"), things=[milk])) is goes_off


# The house's own limit and legal measures.


def test_more_standard_drinks_than_the_house_has_set() -> None:
    # 50 ml of 40 % are exactly 2 British units.
    rum = [thing(abv_percent=40)]
    assert "over_house_limit" not in told(rum, ("GB",), "50 ml", house={"max_standard_drinks": 2})
    found = asked([poured(amount="50.1 ml")], rum, ["GB"], house={"max_standard_drinks": 2})
    row = next(row for row in found["advisories"] if row["code"] == "over_house_limit")
    assert row["text"] == "2.0 units in one serve; the house has set 2 at most."
    assert row["jurisdictions"] == ["GB"]


def test_the_house_limit_looks_at_the_strongest_alternative() -> None:
    things = [thing("low", abv_percent=10), thing("high", abv_percent=60)]
    found = asked([poured("low", "50 ml", alternatives=["high"])], things, ["GB"], house={"max_standard_drinks": 2})
    assert "over_house_limit" in cautions(found)


def test_the_house_limit_looks_at_the_higher_count_of_a_range() -> None:
    # 25 ml of 50 %: 9.86 g, 0.82 of 12 g and 0.99 of 10 g.
    made = [thing(abv_percent=50)]
    assert "over_house_limit" in told(made, ("DE",), "25 ml", house={"max_standard_drinks": 0.9})
    assert "over_house_limit" not in told(made, ("DE",), "25 ml", house={"max_standard_drinks": 1})


def test_an_unknown_strength_is_over_the_house_limit_for_all_one_knows() -> None:
    odd = thing(kind="liqueur")
    del odd["abv_percent"]
    assert "over_house_limit" in told([odd], ("US",), house={"max_standard_drinks": 5})


def test_a_house_limit_that_nothing_can_judge_is_said() -> None:
    assert "house_limit_not_checked" in told(codes=("EU",), house={"max_standard_drinks": 2})
    assert "house_limit_not_checked" not in told(codes=("EU", "GB"), house={"max_standard_drinks": 2})


@pytest.mark.parametrize(
    ("item_id", "kind", "amount", "codes", "key"),
    [
        # Weights and Measures (Intoxicating Liquor) Order 1988, in a secondary copy.
        ("gin", "spirit", "40 ml", ("GB",), "pour_measure_spirits"), ("gin", "spirit", "25 ml", ("GB",), None),
        ("gin", "spirit", "70 ml", ("GB-SCT",), None), ("brandy", "spirit", "40 ml", ("GB",), None),
        ("white", "wine", "150 ml", ("GB",), "pour_measure_wine"), ("white", "wine", "175 ml", ("GB",), None),
        ("white", "wine", "74.9 ml", ("GB",), None), ("white", "wine", "75 ml", ("GB",), "pour_measure_wine"),
        ("port", "fortified", "60 ml", ("GB",), "pour_measure_fortified"),
        ("scotch", "spirit", "40 ml", ("GB",), "pour_measure_spirits"),
        ("bourbon", "spirit", "40 ml", ("GB",), "pour_measure_spirits"),
        ("sparkling-white", "wine", "150 ml", ("GB",), None), ("sake", "wine", "90 ml", ("GB",), None),
        ("champagne", "wine", "150 ml", ("GB",), None), ("mead", "wine", "150 ml", ("GB",), None),
        # Quarter gill of Ireland and 1.5 US fl oz of Utah, from memory.
        ("gin", "spirit", "40 ml", ("IE",), "pour_measure_spirits"), ("gin", "spirit", "35.5 ml", ("IE",), None),
        ("gin", "spirit", "1.5 us fl oz", ("US-UT",), None),
        ("gin", "spirit", "45 ml", ("US-UT",), "pour_measure_primary_liquor"),
        ("gin", "spirit", "45 ml", ("US", "EU"), None),
    ],
)  # fmt: skip
def test_legal_measures(item_id: str, kind: str, amount: str, codes: tuple[str, ...], key: str | None) -> None:
    found = {
        code
        for code in told([thing(item_id, kind=kind, abv_percent=30)], codes, amount)
        if code.startswith("pour_measure")
    }
    assert found == ({key} if key else set())


def test_the_name_of_a_callers_spirit_binds_it_to_a_measure() -> None:
    things = [thing("sku-24", name="Dry Gin of the House", kind="spirit", abv_percent=40)]
    assert "pour_measure_spirits" in told(things, ("GB",), "40 ml")
    wine = [thing("sku-25", name="Sparkling wine", kind="wine", abv_percent=12)]
    assert "pour_measure_wine" not in told(wine, ("GB",), "150 ml")


def test_spirits_of_one_drink_are_counted_together_in_utah() -> None:
    # Utah Code title 32B, from memory: 2.5 US fl oz of spirits in all.
    things = [thing("gin", kind="spirit", abv_percent=40), thing("rum", kind="spirit", abv_percent=40)]

    def told_of(gin: str, rum: str) -> Any:
        found = asked([poured("gin", gin), poured("rum", rum)], things, ["US-UT"])["advisories"]
        return {row["code"]: row["items"] for row in found if row["code"].startswith("pour_measure")}

    assert told_of("1.5 us fl oz", "1 us fl oz") == {}
    assert told_of("1.5 us fl oz", "1.1 us fl oz") == {"pour_measure_primary_liquor_total": ["gin", "rum"]}
    assert told_of("1.6 us fl oz", "0.5 us fl oz") == {"pour_measure_primary_liquor": ["gin"]}


def test_a_mixture_of_three_liquids_is_free_of_british_measures() -> None:
    things = [thing("gin", kind="spirit", abv_percent=40), thing("juice"), thing("syrup")]
    two = asked([poured("gin", "40 ml"), poured("juice", "40 ml")], things, ["GB"])
    three = asked([poured("gin", "40 ml"), poured("juice", "40 ml"), poured("syrup", "10 ml")], things, ["GB"])
    assert "pour_measure_spirits" in cautions(two)
    assert "pour_measure_spirits" not in cautions(three)


def test_the_measure_is_that_of_one_serve() -> None:
    found = asked([poured("gin", "100 ml")], [thing("gin", kind="spirit", abv_percent=40)], ["GB"], drink={"serves": 4})
    assert "pour_measure_spirits" not in cautions(found)


def test_a_caution_for_several_jurisdictions_names_them_once() -> None:
    found = asked([poured("aspartame")], [thing("aspartame")], ["EU", "GB", "US"])
    row = [row for row in found["advisories"] if row["code"] == "sweeteners"]
    assert [one["jurisdictions"] for one in row] == [["EU", "GB"]]


def test_every_advisory_of_the_data_can_go_off() -> None:
    """Each key of the data stands in a test above; a new one needs its own."""
    text = Path(__file__).read_text(encoding="utf-8")
    for advisory in rules().advisories:
        assert f'"{advisory.key}"' in text, advisory.key

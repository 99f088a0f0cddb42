"""A drink and a preparation of the contract as the build and the batch want them."""

from decimal import Decimal
from typing import Any

import pytest
from msgspec.structs import replace

from schemas.drink import Drink
from schemas.preparation import Preparation
from service.amounts import Amount, Measures
from service.errors import InputFault
from service.glass import Glass
from service.icewater import Method, Water
from service.lookup import Place
from service.mixture import Part
from service.recipe import PreparationSpec
from service.specification import glass_of, method_of, spec_of
from service.steps import Step
from service.stepwords import kind_of
from tests.poured import line_of, liquid

WEAK, STRONG = liquid("weak", 20.0), liquid("strong", 60.0)
PLAIN = line_of(liquid("plain", 40.0), Part(liquid("plain", 40.0), 100.0))


def drink(**more: Any) -> Drink:
    lines = [{"item": "water", "amount": "10 ml"}]
    return Drink.model_validate({"id": "drink", "name": "Drink", "lines": lines, **more})


def spec(*lines: Any, **more: Any) -> PreparationSpec:
    written = {"id": "part", "name": "Part", "lines": [{"item": "water", "amount": "10 ml"}], **more}
    made = Preparation.model_validate(written)
    return spec_of(made, lines or (PLAIN,), Place(made, "/preparations/0", "request"), Measures())


@pytest.mark.parametrize(
    ("written", "kind"),
    [
        ("reducing", "reducing"),
        ("boiling down", "reducing"),
        ("evaporating", "reducing"),
        ("simmering", "heating"),
        ("freeze-concentrating", "freezing_out"),
        ("dehydrating", "drying"),
        # Whatever begins so is that: a strength is never read off a word half known.
        ("distilled twice", "distilling"),
        ("redistillation", "redistilling"),
        ("fermentation", "fermenting"),
        # A word that physics does not know keeps its name.
        ("milk washing", "milk_washing"),
        ("clarifying", "clarifying"),
    ],
)
def test_a_houses_word_for_a_step(written: str, kind: str) -> None:
    assert kind_of(written) == kind
    assert spec(steps=[{"kind": written}]).steps[0].kind == kind


def test_only_shares_that_are_stated_are_passed_on() -> None:
    # A share of 1 that is stated is not one that is left out: a still keeps back what nobody mentions.
    steps = [{"kind": "washing", "keeps": {"ethanol": 1, "fat": 0}}, {"kind": "washing", "measured": {"brix": 40}}]
    assert spec(steps=steps).steps == (
        Step("washing", {"ethanol": 1.0, "fat": 0.0}, {}),
        Step("washing", {}, {"brix": 40.0}),
    )


def test_a_measured_yield_is_a_volume_or_a_mass() -> None:
    by_mass = spec(**{"yield": {"amount": "1 1/2 kg", "reduced": True}}).measured
    assert by_mass is not None
    assert (by_mass.dimension, by_mass.quantity, by_mass.reduced) == ("mass", Decimal(1500), True)
    assert spec(**{"yield": {"loss_percent": 4}}).measured is None
    assert spec(**{"yield": {"loss_percent": 4}}).loss_percent == 4.0
    assert spec().loss_percent is None


@pytest.mark.parametrize(
    ("amount", "code"), [("3 each", "yield_unreadable"), ("fill", "yield_unreadable"), ("much", None)]
)
def test_any_other_yield_is_a_fault_at_its_place(amount: str, code: str | None) -> None:
    with pytest.raises(InputFault) as fault:
        spec(**{"yield": {"amount": amount}})
    assert fault.value.pointer == "/yield/amount"
    assert code is None or fault.value.code == code


def test_what_keeps_and_when_it_was_made_goes_along() -> None:
    made = spec(shelf_life_days=14, storage="chilled", made_on="2026-11-20", minutes=12, overrun_percent=80)
    assert (made.shelf_life_days, made.storage, str(made.made_on)) == (14, "chilled", "2026-11-20")
    assert (made.minutes, made.overrun_percent, made.origin, made.products) == (12.0, 80.0, "request", ())


@pytest.mark.parametrize("where", ["yield", "outputs"])
def test_products_are_named_wherever_they_are_stated(where: str) -> None:
    outputs = [{"id": name, "amount": "1 ml", "cost_share_percent": "50"} for name in ("one", "two")]
    assert spec(**{where: {"outputs": outputs} if where == "yield" else outputs}).products == ("one", "two")


def test_a_line_without_alternatives_has_no_variants() -> None:
    made = spec().lines[0]
    assert (made.variants, made.alternatives) == ((), ())


def test_variants_are_the_same_amount_of_what_may_stand_there() -> None:
    amount = float(PLAIN.amount.quantity)
    made = spec(replace(PLAIN, alternatives=(WEAK, STRONG))).lines[0]
    assert (made.variants, made.weaker) == ((Part(WEAK, amount), Part(STRONG, amount)), ())
    held = replace(PLAIN.substance, weaker=WEAK, stronger=STRONG)
    own = spec(replace(PLAIN, substance=held, part=Part(held, amount))).lines[0]
    assert (own.variants, own.weaker) == ((Part(STRONG, amount),), (Part(WEAK, amount),))


def test_what_is_strained_out_opens_no_range() -> None:
    made = spec(replace(PLAIN, alternatives=(WEAK, STRONG), strained_out=True)).lines[0]
    assert made.variants == made.weaker == ()
    # Its allergens stay all the same.
    assert made.alternatives == (WEAK, STRONG)


def test_an_alternative_that_cannot_stand_in_that_amount_is_a_fault() -> None:
    odd = replace(liquid("odd"), density_g_per_ml=None)
    by_mass = Amount("mass", Decimal(100), None, "100 g")
    with pytest.raises(InputFault) as fault:
        spec(replace(PLAIN, amount=by_mass, alternatives=(odd,)))
    assert (fault.value.code, fault.value.pointer) == ("density_unknown", "/lines/0/alternatives")


def test_the_method_of_a_spec() -> None:
    assert method_of(drink()) == Method("none", None)
    stated = drink(method={"kind": "shaken", "water": {"ice_g": 120, "ice_c": -2}})
    assert method_of(stated) == Method("shaken", Water(None, None, 120.0, -2.0))


def test_the_glass_of_a_spec() -> None:
    assert glass_of(drink()) == Glass(None, None, "none", None)
    stated = drink(serve={"glass_ml": 350, "line_ml": 300, "ice": {"kind": "cubes", "ice_g": 120}})
    assert glass_of(stated) == Glass(350.0, 300.0, "cubes", 120.0)

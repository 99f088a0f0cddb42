"""Properties of the physical half, by number: H1-H5, H8, H10, H15-H17; and legal requests that no bar would write.

Each property counts the examples in which the calculation was reached, and fails where that was less than half of them.
"""

import json
import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from schemas.evaluation import EvaluationRequest
from service.amounts import Amount
from service.errors import InputFault, InputFaults
from service.evaluate import evaluate
from service.line import quantities_of
from service.mixture import ACID, Mixture, grams
from service.reference import reference
from service.report import answer
from service.substance import substance
from tests.asked import DAY, Body, answered, body_of, evaluation, preparation
from tests.campaign import DERANDOMIZED
from tests.campaign import EXAMPLES as TRIED
from tests.odd_requests import requests

GATE = settings(
    max_examples=TRIED,
    derandomize=DERANDOMIZED,
    deadline=None,
    database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)


def close(figure: float | None) -> Any:
    """Equal but for what floating point leaves behind."""
    return pytest.approx(figure, rel=1e-9, abs=1e-12)


@dataclass
class Reached:
    """How many examples there were and in how many the calculation was reached."""

    tried: int = 0
    reached: int = 0


@pytest.fixture
def guard() -> Iterator[Reached]:
    """Fails a property that was vacuous in more than half of its examples."""
    count = Reached()
    yield count
    assert count.tried >= 100
    assert count.reached >= count.tried / 2


LIQUIDS = (
    "gin-london-dry-40",
    "rum-navy-54-5",
    "rum-overproof-75-5",
    "vodka-37-5",
    "simple-syrup-1-1",
    "rich-syrup-2-1",
    "lime-juice",
    "lemon-juice",
    "water",
    "sparkling-wine-dry",
    "whole-milk",
    "aromatic-bitters",
    "honey-syrup-1-1",
)
SOLIDS = ("white-sugar", "citric-acid", "salt", "egg-white")

tenths = st.integers(1, 1200).map(lambda number: number / 10)
liquid_lines = st.builds(lambda item, ml: {"item": item, "amount": f"{ml} ml"}, st.sampled_from(LIQUIDS), tenths)
solid_lines = st.builds(lambda item, g: {"item": item, "amount": f"{g / 10:.3f} g"}, st.sampled_from(SOLIDS), tenths)
recipes = st.builds(
    lambda wet, dry: [*wet, *dry], st.lists(liquid_lines, min_size=1, max_size=5), st.lists(solid_lines, max_size=2)
)
water_ml = st.one_of(st.none(), st.integers(0, 600).map(lambda number: number / 10))
methods = st.sampled_from(("none", "stirred", "shaken"))


def drink(lines: Sequence[Body], kind: str = "none", ml: float | None = None, **more: Any) -> Body:
    method: Body = {"kind": kind} if ml is None else {"kind": kind, "water": {"ml": ml}}
    return body_of(list(lines), method=method, **more)


def liquid(body: Body) -> Mixture:
    found = evaluation(body).build.liquid
    assert found is not None
    return found


def scaled_text(text: str, factor: float) -> str:
    """An amount in ml or g times a factor, exactly to the 12 decimals that may be written."""
    figure, unit = text.split()
    return f"{float(figure) * factor:.12f} {unit}"


def times(lines: Sequence[Body], factor: float) -> list[Body]:
    return [{**line, "amount": scaled_text(line["amount"], factor)} for line in lines]


def same(first: Mixture, second: Mixture, factor: float = 1.0, rel: float = 1e-9) -> None:
    for name in first.contents.keys() | second.contents.keys():
        assert second.content(name) == pytest.approx(first.content(name) * factor, rel=rel, abs=1e-9), name
    assert second.volume_ml == pytest.approx(first.volume_ml * factor, rel=rel)
    assert first.mass_g is not None and second.mass_g is not None
    assert second.mass_g == pytest.approx(first.mass_g * factor, rel=rel)
    assert first.unknown == second.unknown


def run(guard: Reached, check: Callable[..., None], **strategies: st.SearchStrategy[Any]) -> None:
    """Checks a property over its strategies; an example that gets through has reached the calculation."""

    @GATE
    @given(**strategies)
    def counted(**example: Any) -> None:
        guard.tried += 1
        check(**example)
        guard.reached += 1

    counted()


def test_h1_mass_in_is_mass_out(guard: Reached) -> None:
    def check(lines: list[Body], kind: str, ml: float | None) -> None:
        found = evaluation(drink(lines, kind, ml))
        poured = math.fsum(line.part.mass_g or 0.0 for line in found.lines if line.part is not None)
        assert found.build.liquid is not None and found.build.dilution.water_g is not None
        assert found.build.liquid.mass_g == close(poured + found.build.dilution.water_g)
        assert grams(found.build.liquid.contents) == pytest.approx(found.build.liquid.mass_g, rel=0.01)

    run(guard, check, lines=recipes, kind=methods, ml=water_ml)


def test_h1_a_preparation_loses_what_is_stated_and_nothing_else(guard: Reached) -> None:
    def check(lines: list[Body], absorbed: int, loss: int) -> None:
        tea = {"item": "smoked-tea", "amount": "5 g", "strained_out": True, "absorbs_ml": absorbed / 10}
        whole = liquid(drink(lines))
        if absorbed / 10 >= whole.volume_ml or whole.mass_g is None:
            return
        part = preparation([*lines, tea], **{"yield": {"loss_percent": loss}})
        made = evaluation(drink([{"item": "part", "amount": "1 ml"}], preparations=[part])).resolved.preparations[
            "part"
        ]
        kept = (1 - absorbed / 10 / whole.volume_ml) * (1 - loss / 100)
        assert made.batch.mass_g == close(whole.mass_g * kept)
        assert made.yield_ml == close(whole.volume_ml * kept)

    run(guard, check, lines=recipes, absorbed=st.integers(0, 30), loss=st.integers(0, 99))


def test_h2_ethanol_is_conserved_through_dilution_nesting_and_batching(guard: Reached) -> None:
    def check(lines: list[Body], kind: str, serves: int) -> None:
        poured = math.fsum(
            line.part.content("ethanol") for line in evaluation(drink(lines)).lines if line.part is not None
        )
        assert liquid(drink(lines, kind)).ethanol_g == close(poured)
        assert liquid(drink(lines, kind, serves=serves)).ethanol_g * serves == close(poured)
        part = preparation(lines)
        made = evaluation(drink([{"item": "part", "amount": "1 ml"}], preparations=[part])).resolved.preparations[
            "part"
        ]
        nested = drink([{"item": "part", "amount": f"{made.yield_ml:.12f} ml"}], kind, preparations=[part])
        assert liquid(nested).ethanol_g == close(poured)

    run(guard, check, lines=recipes, kind=methods, serves=st.integers(1, 40))


def test_h3_strength_lies_between_that_of_the_parts(guard: Reached) -> None:
    """Contraction may lift it above the strongest part: by at most 4 % of it, as 50 + 50 ml of ethanol and water do."""

    def check(lines: list[Body]) -> None:
        found = evaluation(drink(lines))
        strengths = [
            100 * line.part.content("ethanol") / 0.789239 / line.part.base
            for line in found.lines
            if line.part is not None
        ]
        abv = found.alcohol.strength.abv_percent
        assert abv is not None
        assert min(strengths) * 0.999999 <= abv <= max(strengths) * 1.04 + 1e-9

    run(guard, check, lines=st.lists(liquid_lines, min_size=1, max_size=6))


def test_h4_more_spirit_never_weakens_and_more_water_never_strengthens(guard: Reached) -> None:
    def check(lines: list[Body], swap: int, water: float) -> None:
        strong, weak = 400 + swap, 600 - swap
        rest = [{"item": "simple-syrup-1-1", "amount": "20 ml"}]

        def abv(spirit: float, weaker: float, ml: float) -> float:
            pair = [
                {"item": "rum-navy-54-5", "amount": f"{spirit / 10} ml"},
                {"item": "vodka-37-5", "amount": f"{weaker / 10} ml"},
            ]
            found = liquid(drink([*pair, *rest, *lines], "stirred", ml)).abv_percent
            assert found is not None
            return found

        assert abv(strong, weak, water) >= abv(400, 600, water) * (1 - 1e-12)
        assert abv(strong, weak, water + 1) <= abv(strong, weak, water) * (1 + 1e-12)

    run(
        guard,
        check,
        lines=st.lists(liquid_lines, max_size=2),
        swap=st.integers(1, 599),
        water=st.integers(0, 500).map(float),
    )


def test_h5_a_recipe_times_k_is_the_same_drink_k_times(guard: Reached) -> None:
    def check(lines: list[Body], kind: str, ml: float | None, factor: int) -> None:
        first = liquid(drink(lines, kind, ml))
        second = liquid(drink(times(lines, factor), kind, None if ml is None else ml * factor))
        same(first, second, factor)
        assert second.abv_percent == close(first.abv_percent)

    run(guard, check, lines=recipes, kind=methods, ml=water_ml, factor=st.integers(2, 40))


def test_h8_a_nested_preparation_is_its_lines_inlined(guard: Reached) -> None:
    def check(lines: list[Body], others: list[Body], loss: int, ml: float, levels: int) -> None:
        part = preparation(lines, **{"yield": {"loss_percent": loss}})
        chain = [part]
        for level in range(levels):
            below = chain[-1]["id"]
            chain.append(preparation([{"item": below, "amount": "100 ml"}]) | {"id": f"above-{level}"})
        body = drink([{"item": chain[-1]["id"], "amount": f"{ml} ml"}, *others], "shaken", preparations=chain)
        nested = evaluation(body)
        made = nested.resolved.preparations["part"]
        inlined = times(lines, ml / made.computed_ml)
        assert nested.build.liquid is not None
        same(nested.build.liquid, liquid(drink([*inlined, *others], "shaken")), rel=1e-8)

    run(
        guard,
        check,
        lines=st.lists(liquid_lines, min_size=1, max_size=4),
        others=st.lists(liquid_lines, max_size=2),
        loss=st.integers(0, 90),
        ml=tenths,
        levels=st.integers(0, 3),
    )


COMPLETE = {
    "id": "thing",
    "name": "Thing",
    "kind": "other",
    "abv_percent": 12,
    "per_100": {
        "basis": "ml",
        "sugars_g": 5,
        "carbohydrate_g": 6,
        "acids_g": {"citric": 1},
        "protein_g": 1,
        "fat_g": 1,
        "saturates_g": 0.5,
        "fibre_g": 1,
        "polyols_g": 0,
        "salt_g": 0.1,
    },
}
ENERGY = ("carbohydrate_g", "acids_g", "protein_g", "fat_g", "fibre_g", "polyols_g")


def without(field: str) -> Body:
    if field in COMPLETE:
        return {key: value for key, value in COMPLETE.items() if key != field}
    per_100 = COMPLETE["per_100"]
    assert isinstance(per_100, dict)
    return {**COMPLETE, "per_100": {key: value for key, value in per_100.items() if key != field}}


def test_h10_any_datum_taken_away_leaves_its_figure_incomplete_and_named(guard: Reached) -> None:
    def check(lines: list[Body], field: str, levels: int) -> None:
        part = preparation([{"item": "thing", "amount": "100 ml"}])
        line = {"item": "thing", "amount": "30 ml"} if not levels else {"item": "part", "amount": "30 ml"}
        more: Body = {"preparations": [part] if levels else []}
        whole = answered(drink([*lines, line], ingredients=[COMPLETE], **more))
        lacking = answered(drink([*lines, line], ingredients=[without(field)], **more))
        assert {"item": "thing", "field": field} not in whole["nutrition"]["missing"]
        assert whole["alcohol"]["abv_percent"] is not None
        if field == "abv_percent":
            assert lacking["alcohol"]["complete"] is False
            assert lacking["alcohol"]["abv_percent"] is lacking["alcohol"]["ethanol_g"] is None
            assert {"item": "thing", "field": field} in lacking["alcohol"]["missing"]
        if field in (*ENERGY, "abv_percent"):
            assert lacking["nutrition"]["per_serve"]["energy_kcal"] is None
        assert lacking["nutrition"]["complete"] is False
        assert {"item": "thing", "field": field} in lacking["nutrition"]["missing"]
        if field in ("sugars_g", "acids_g"):
            assert lacking["balance"]["complete"] is False
            assert lacking["balance"]["sugar_to_acid"] is None

    fields = ("abv_percent", "sugars_g", "saturates_g", "salt_g", *ENERGY)
    spirits = st.builds(lambda ml: [{"item": "vodka-40", "amount": f"{ml} ml"}], tenths)
    run(guard, check, lines=spirits, field=st.sampled_from(fields), levels=st.integers(0, 1))


def test_h15_mass_and_volume_turn_into_each_other_and_back(guard: Reached) -> None:
    def check(item: str, ml: Decimal) -> None:
        made = substance(reference().items[item])
        there = quantities_of(Amount("volume", ml, None, ""), made)
        back = quantities_of(Amount("mass", there["g"], None, ""), made)
        assert abs(back["ml"] / ml - 1) < Decimal("1e-12")
        assert float(there["g"]) == pytest.approx(float(ml) * (made.density_g_per_ml or 0), rel=1e-12)

    numbers = st.decimals("0.001", "99999", allow_nan=False, allow_infinity=False, places=3)
    run(guard, check, item=st.sampled_from(LIQUIDS), ml=numbers)


def test_h15_a_gram_never_turns_into_a_millilitre_without_a_density(guard: Reached) -> None:
    def check(kind: str, amount: str) -> None:
        thing = {"id": "thing", "name": "Thing", "kind": kind}
        body = drink([{"item": "thing", "amount": amount}], ingredients=[thing])
        if amount.endswith("ml"):
            # Contract, arithmetic 2: an amount by volume mixes at its volume, mass and energy are null.
            found = answered(body)
            assert found["serve"]["mass_g"] is None
            assert found["nutrition"]["per_serve"]["energy_kcal"] is None
            return
        with pytest.raises(InputFault) as caught:
            evaluation(body)
        assert caught.value.code == "density_unknown"

    by_volume = st.tuples(
        st.sampled_from(("other", "wine", "juice", "syrup", "dairy", "beer")), tenths.map(lambda g: f"{g} g")
    )
    by_mass = st.tuples(
        st.sampled_from(("fruit", "nut", "spice", "additive", "egg")), tenths.map(lambda ml: f"{ml} ml")
    )
    run(guard, lambda pair: check(*pair), pair=st.one_of(by_volume, by_mass))


def totals(body: Body) -> str:
    """The sections of the answer that are sums over the lines, as bytes."""
    whole = answered(body)
    return json.dumps({name: whole[name] for name in ("serve", "alcohol", "nutrition", "balance", "use_by", "price")})


def test_h16_the_order_of_the_lines_changes_no_byte_of_the_totals(guard: Reached) -> None:
    def check(lines: list[Body], order: Any, kind: str, role: str) -> None:
        mixed = [*lines, {"item": "sparkling-wine-dry", "amount": "33.3 ml", "role": role}]
        shuffled = list(mixed)
        order.shuffle(shuffled)
        assert totals(drink(mixed, kind)) == totals(drink(shuffled, kind))

    run(
        guard,
        check,
        lines=recipes,
        order=st.randoms(use_true_random=False),
        kind=methods,
        role=st.sampled_from(("pour", "top")),
    )


def test_h17_one_line_split_in_two_is_the_same_drink(guard: Reached) -> None:
    def check(lines: list[Body], cut: float, kind: str) -> None:
        first, *rest = lines
        halves = [{**first, "amount": scaled_text(first["amount"], share)} for share in (cut, 1 - cut)]
        same(liquid(drink(lines, kind)), liquid(drink([*halves, *rest], kind)), rel=1e-8)

    run(guard, check, lines=recipes, cut=st.floats(0.01, 0.99), kind=methods)


# Any legal request.


def resolves(body: object, pointer: str) -> bool:
    """Whether an RFC 6901 pointer leads to something that the caller sent."""
    for step in pointer.split("/")[1:]:
        if isinstance(body, list) and step.isdigit() and int(step) < len(body):
            body = body[int(step)]
        elif isinstance(body, Mapping) and step in body:
            body = body[step]
        else:
            return False
    return True


def figures(shown: object) -> Iterator[float]:
    """Every number in an answer."""
    if isinstance(shown, Mapping):
        for value in shown.values():
            yield from figures(value)
    elif isinstance(shown, list):
        for value in shown:
            yield from figures(value)
    elif isinstance(shown, float):
        yield shown


def sane(found: Any, shown: Body) -> None:
    """What holds for every answer, however odd the drink."""
    assert all(math.isfinite(figure) for figure in figures(shown))
    mix = found.build.liquid
    if mix is not None:
        assert mix.volume_ml >= 0.0
        assert all(amount >= 0.0 for amount in mix.contents.values())
        assert mix.content("sugars") <= mix.content("carbohydrate") * (1 + 1e-9) + 1e-9
        assert mix.acids_g == pytest.approx(
            math.fsum(amount for name, amount in mix.contents.items() if name.startswith(ACID))
        )
    abv = shown["alcohol"]["abv_percent"]
    assert abv is None or 0.0 <= abv <= 100.01


FROM_THE_CALCULATION = {
    "composition_exceeds_mass",
    "measured_impossible",
    "absorbs_exceeds",
    "preparation_empty",
    "yield_exceeds_inputs",
    "yield_below_solids",
    "fill_no_room",
    "density_unknown",
    "residue_exceeds_amount",
    "yield_nothing",
    "piece_mass_unknown",
}
"""Refusals that the physics makes, and not the reading of a word."""


def test_every_legal_request_is_answered_or_refused_at_a_place_in_it(guard: Reached) -> None:
    @GATE
    @given(body=requests())
    def check(body: Body) -> None:
        guard.tried += 1
        request = EvaluationRequest.model_validate_json(json.dumps(body))
        try:
            found = evaluate(request, DAY, ["EU"], reference())
        except (InputFault, InputFaults) as refused:
            faults = refused.faults if isinstance(refused, InputFaults) else (refused,)
            assert all(resolves(body, fault.pointer) for fault in faults)
            guard.reached += any(fault.code in FROM_THE_CALCULATION for fault in faults)
        else:
            sane(found, json.loads(json.dumps(answer(found, "s"), allow_nan=False)))
            guard.reached += 1

    check()

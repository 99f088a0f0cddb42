"""The bands against random draws (JCGM 101:2008): every input drawn from its distribution, the drink made each time.

20,000 draws of three drinks that differ in kind; a campaign (WASHLINE_EXAMPLES) draws every demo drink. What the linear
rule may miss is stated: its standard uncertainty lies within 3 % of the draws', its ends within 0.4 of a standard
uncertainty of the central 95 % of them (where one rectangular input rules, two standard uncertainties are more than its
95 %, which is 1.645), and never fewer than 94.5 % of the draws lie within.
"""

import random
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from functools import cache
from math import sqrt
from typing import Any

import pytest

from schemas.evaluation import EvaluationRequest
from service.api.app import demo_catalogue
from service.bands import Bands, Input
from service.costband import CostedLines
from service.costing import Allowances
from service.demo import demo
from service.evaluate import Evaluation, evaluate
from service.mixture import mixture
from service.nutrition import basis_on
from service.perturbation import Key, Varied
from service.reference import reference
from service.specification import glass_of, method_of
from tests.campaign import DERANDOMIZED

DRAWS = 20_000
DAY = date(2026, 11, 25)
SHORT = ("fog-signal", "cooperage-lane", "long-jetty")
"""Shaken with a house-made part and bitters; stirred and strong; filled to the line of the glass."""


@cache
def evaluated(name: str) -> Evaluation:
    body: dict[str, Any] = {**demo().drinks[name], "bands": True, "jurisdictions": ["EU"]}
    return evaluate(EvaluationRequest.model_validate(body), DAY, ["EU"], reference(), demo_catalogue())


def drawn(one: Input, chance: random.Random) -> float:
    """One value of an input's error: rectangular within its half-width, or normal."""
    if one.tolerance.distribution == "normal":
        return chance.gauss(0.0, one.standard)
    return chance.uniform(-1.0, 1.0) * one.standard * sqrt(3.0)


def varied(found: Evaluation) -> Varied:
    drink = found.request.drink
    fractions = found.request.measures.fractions()
    eaten = mixture(
        line.part for line in found.lines if line.role == "garnish" and line.eaten and line.part is not None
    )
    return Varied(found.resolved, found.build, method_of(drink), glass_of(drink), fractions, eaten, basis_on(DAY))


def costed(found: Evaluation) -> CostedLines:
    assert found.cost is not None and found.request.pricing is not None
    given = found.request.pricing.allowances
    rows = {row.line.number: row.cost for row in found.cost.lines}
    return CostedLines(rows, Allowances(given.over_pour_percent, given.spillage_percent), found.request.drink.serves)


def draws(found: Evaluation, bands: Bands) -> Mapping[str, list[float]]:
    """Every figure of every draw; the cost as a float, for statistics alone."""
    chance = random.Random(20261125)
    made, lines = varied(found), costed(found)
    columns: dict[str, list[float]] = {name: [] for name in (*bands.figures, "cost")}
    for _ in range(DRAWS):
        moved: dict[Key, float] = {one.key: drawn(one, chance) for one in bands.inputs}
        figures = made.figures(moved)
        for name in bands.figures:
            figure = getattr(figures, name)
            if figure is not None:
                columns[name].append(figure)
        cost = lines.pour_cost({line: Decimal(repr(times)) for line, times in figures.poured.items()})
        if cost is not None:
            columns["cost"].append(float(cost))
    return columns


def agree(column: list[float], figure: float, low: float, high: float, standard: float) -> None:
    """The stated agreement of a band with its draws."""
    mean = sum(column) / DRAWS
    deviation = sqrt(sum((one - mean) ** 2 for one in column) / (DRAWS - 1))
    assert standard == pytest.approx(deviation, rel=0.03)
    assert mean == pytest.approx(figure, abs=0.1 * standard)
    ordered = sorted(column)
    ends = ordered[int(0.025 * DRAWS)], ordered[int(0.975 * DRAWS) - 1]
    assert low == pytest.approx(ends[0], abs=0.4 * standard)
    assert high == pytest.approx(ends[1], abs=0.4 * standard)
    assert sum(low <= one <= high for one in column) >= 0.945 * DRAWS


@pytest.mark.parametrize("name", SHORT if DERANDOMIZED else sorted(demo().drinks))
def test_bands_agree_with_random_draws(name: str) -> None:
    found = evaluated(name)
    bands = found.bands
    assert bands is not None
    columns = draws(found, bands)
    checked = 0
    for figure, band in bands.figures.items():
        if band is not None and band.standard:
            agree(columns[figure], band.figure, band.low, band.high, band.standard)
            checked += 1
    assert checked >= (2 if name != "sober-tide" else 1)
    assert bands.cost is not None and found.cost is not None and found.cost.serve.pour_cost is not None
    cost = bands.cost.band
    agree(columns["cost"], float(found.cost.serve.pour_cost), float(cost.low), float(cost.high), float(cost.standard))

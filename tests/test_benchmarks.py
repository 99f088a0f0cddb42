"""Every bench runs in its smallest form, so that none of them rots; what they measure is asserted nowhere."""

import json
from math import isfinite

import pytest

from schemas.evaluation import EvaluationRequest
from tests.benchmarks import growth
from tests.benchmarks.__main__ import BENCHES
from tests.benchmarks.drink import VARIANTS, bench_drinks
from tests.benchmarks.in_process import answered
from tests.benchmarks.measuring import SMALLEST, Figure, Side, in_turns
from tests.benchmarks.printing import lines_of


def test_the_drink_is_the_one_that_the_goals_are_stated_for() -> None:
    raws = bench_drinks()
    assert len(set(raws)) == len(raws) == VARIANTS
    raw = raws[-1]
    request = EvaluationRequest.model_validate_json(raw)
    assert 3300 <= len(raw) <= 3500
    assert len(request.drink.lines) == 8
    assert [len(part.lines) for part in request.preparations] == [5, 5]
    assert request.jurisdictions is not None
    assert len(request.jurisdictions) == 2
    assert not request.trace


@pytest.mark.parametrize("raw", [*bench_drinks(), growth.long_drink(60, 15), growth.diamonds(16, 2)])
def test_the_drinks_are_costed_and_priced(raw: bytes) -> None:
    answer = json.loads(answered(raw))
    assert answer["cost"]["complete"]
    assert answer["price"]["suggested"] is not None
    assert answer["alcohol"]["abv_percent"] is not None
    assert {row["jurisdiction"] for row in answer["allergens"]["declarations"]} == {"EU", "US"}


@pytest.mark.parametrize(
    "goal", [pytest.param(goal, marks=pytest.mark.browser) if goal == "PAGE" else goal for goal in BENCHES]
)
def test_a_bench_gives_a_plausible_result(goal: str) -> None:
    result = BENCHES[goal](SMALLEST)
    assert result.goal == goal
    assert result.figures
    for figure in result.figures:
        for side in (figure.over, figure.under):
            assert len(side.figures) == SMALLEST.rounds
            assert all(isfinite(one) and one > 0 for one in side.figures)
        assert figure.ratio.low <= figure.ratio.median <= figure.ratio.high
        assert 0.001 < figure.ratio.median < 1000
    text = "\n".join(lines_of(result))
    assert result.command in text
    assert all(figure.name in text for figure in result.figures)


def test_a_verdict_follows_its_direction() -> None:
    over, under = Side("over", (3.0, 5.0, 4.0), "s"), Side("under", (1.0, 1.0, 1.0), "s")
    assert (over.spread.median, over.spread.low, over.spread.high) == (4.0, 3.0, 5.0)
    assert Figure("less", over, under, accept=6, aim=3).verdict == "accepted"
    assert Figure("less", over, under, accept=3.5, aim=3).verdict == "MISSED"
    assert Figure("more", over, under, accept=3, aim=4, more_is_better=True).verdict == "reaches the aim"
    assert Figure("more", over, under, accept=5, aim=6, more_is_better=True).verdict == "MISSED"


def test_sides_are_taken_in_turns() -> None:
    seen: list[str] = []

    def one(name: str) -> float:
        seen.append(name)
        return 1.0

    found = in_turns({"a": lambda: one("a"), "b": lambda: one("b")}, 3)
    assert seen == ["a", "b", "b", "a", "a", "b"]
    assert found == {"a": (1.0, 1.0, 1.0), "b": (1.0, 1.0, 1.0)}

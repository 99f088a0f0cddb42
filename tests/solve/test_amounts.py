"""The solver of amounts: linear systems against numpy, volumes against a handbook."""

import random

import numpy as np
import pytest

from service.mixture import Part
from service.reference import reference
from service.solve.amounts import Equation, linear_solution, solved
from service.solve.nearest import nearest
from service.substance import substance


def test_linear_systems_agree_with_another_library() -> None:
    chance = random.Random(7)
    for size in range(1, 8):
        rows = [[chance.uniform(-5, 5) for _ in range(size)] for _ in range(size)]
        right = [chance.uniform(-5, 5) for _ in range(size)]
        found = linear_solution(rows, right)
        assert found == pytest.approx(np.linalg.solve(np.array(rows), np.array(right)), rel=1e-9, abs=1e-9)


def test_a_singular_system_has_no_solution() -> None:
    assert linear_solution([[1.0, 2.0], [2.0, 4.0]], [1.0, 2.0]) is None


WATER = substance(reference().items["water"])
SYRUP = substance(reference().items["simple-syrup-1-1"])


def test_a_volume_is_filled_and_what_would_be_negative_is_not() -> None:
    volume = Equation("volume", lambda mix: mix.volume_ml - 100.0, 100.0)
    assert solved([Part(SYRUP, 40.0)], [WATER], [volume], [1.0]) == pytest.approx(
        [60.0], abs=0.3
    )  # by hand, less what shrinks in mixing
    assert solved([Part(SYRUP, 140.0)], [WATER], [volume], [1.0]) is None


def test_the_nearest_amounts_are_not_negative() -> None:
    volume = Equation("volume", lambda mix: mix.volume_ml - 100.0, 100.0)
    assert nearest([Part(SYRUP, 140.0)], [WATER], [volume], [1.0]) == [0.0]

"""No float on any path to money: the syntax of the money modules holds none, and a float that strays in raises."""

import ast
from datetime import date
from decimal import Decimal, FloatOperation
from pathlib import Path

import pytest

from service import choosing, costband, costing, money, pricing
from service.margins import (
    bought,
    calendar,
    classes,
    counting,
    effects,
    ladder,
    moves,
    perishing,
    sales,
    statement,
    usage,
    valuation,
)

MODULES = (
    money, choosing, costband, costing, pricing, bought, calendar, classes, counting, effects, ladder, moves,
    perishing, sales, statement, usage, valuation,
)  # fmt: skip
BANNED_CALLS = {"float", "round"}
BANNED_IMPORTS = {"math", "cmath", "statistics", "numpy"}


def offences(source: str) -> list[str]:
    """Every float literal, float name, round() call and import of a float library in Python source."""
    found = []
    for node in ast.walk(ast.parse(source)):
        line = getattr(node, "lineno", 0)
        if isinstance(node, ast.Constant) and isinstance(node.value, float | complex):
            found.append(f"float literal in line {line}")
        elif isinstance(node, ast.Name) and node.id in BANNED_CALLS:
            found.append(f"{node.id} in line {line}")
        elif isinstance(node, ast.Attribute) and node.attr in BANNED_CALLS | {"from_float", "__round__"}:
            found.append(f".{node.attr} in line {line}")
        elif isinstance(node, ast.Import):
            found += [f"import {alias.name}" for alias in node.names if alias.name.split(".")[0] in BANNED_IMPORTS]
        elif isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] in BANNED_IMPORTS:
            found.append(f"import from {node.module}")
    return found


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__)
def test_money_modules_hold_no_float(module: object) -> None:
    path = Path(str(getattr(module, "__file__", "")))
    assert offences(path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize(
    "planted",
    ["x = 1.5", "x = float('1')", "x = round(y, 2)", "x = builtins.round(y)", "import math", "from math import ceil",
     "x: float = y", "x = Decimal.from_float(y)", "x = 2j"],
)  # fmt: skip
def test_the_ban_finds_what_is_planted(planted: str) -> None:
    assert offences(planted)


def test_a_float_that_strays_into_the_context_of_money_raises() -> None:
    with pytest.raises(FloatOperation):
        money.EXACT.create_decimal(0.1)
    stray = choosing.Offer("a", "x", "S", Decimal(1), 700.5, "ml", Decimal(10), "EUR")  # type: ignore[arg-type]
    with pytest.raises((FloatOperation, TypeError)):
        choosing.unit_cost(stray, "EUR", (), date(2026, 11, 25))

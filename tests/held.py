"""Rules as held on one day and the worked cases of tests/cases, for tests of what rules make of figures."""

import tomllib
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from service.rules import Rules, jurisdiction

CASES = Path(__file__).parent / "cases"
TODAY = date(2026, 11, 25)
ETHANOL_G_PER_ML = 0.789239
"""OIML R 22 at 20 C."""

US_FLUID_OUNCE_ML = 29.5735295625


def held(code: str, day: date = TODAY) -> Rules:
    """The rules of a jurisdiction on a day."""
    return jurisdiction(code).on(day)


def cases(name: str) -> list[Any]:
    """The cases of one file as parameters, by their ids."""
    listed = tomllib.loads((CASES / f"{name}.toml").read_text(), parse_float=Decimal)["case"]
    return [pytest.param(case, id=case["id"]) for case in listed]

"""The floors that lint-imports holds have every module in them, so that none can stand beside the stairs."""

import re
import textwrap
import tomllib
from fnmatch import fnmatch
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[1]
CONTRACTS: list[dict[str, Any]] = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"][
    "importlinter"
]["contracts"]
LAYERS = [[name.strip() for name in layer.split("|")] for layer in CONTRACTS[0]["layers"]]
LISTED = [name for layer in LAYERS for name in layer]


def _modules() -> set[str]:
    """Every module and package that lies right in service/."""
    folder = ROOT / "service"
    files = {path.stem for path in folder.glob("*.py")} - {"__init__"}
    packages = {path.parent.name for path in folder.glob("*/__init__.py")}
    return {f"service.{name}" for name in files | packages}


def test_every_module_of_the_service_stands_in_one_layer() -> None:
    assert len(LISTED) == len(set(LISTED))
    assert set(LISTED) - {"schemas"} == _modules()


def test_everything_below_the_contract_is_kept_from_web_and_schemas() -> None:
    below = {name for layer in LAYERS[LAYERS.index(["schemas"]) + 1 :] for name in layer}
    kept = set(CONTRACTS[1]["source_modules"])
    # Settings are read from the environment by the schema library; nothing but the roof imports them.
    assert kept == below - {"service.settings"}


def test_errors_and_settings_stand_where_every_floor_can_reach_them() -> None:
    assert LAYERS[-1] == ["service.errors", "service.settings"]


def test_the_floor_plan_names_every_module() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    plan = text.partition("\nservice/\n")[2].partition("\ntests/")[0]
    named = re.findall(r"(?<![\w/<>-])([a-z_-]+\*?)(?:\.py\b|/)", plan)
    files = {name.removeprefix("service.") for name in _modules()}
    for name in files:
        assert any(fnmatch(name, pattern) for pattern in named), name
    folders = {"data", "tables", "ingredients", "jurisdictions", "page"}
    for pattern in set(named) - folders:
        assert any(fnmatch(name, pattern) for name in files), f"{pattern} is gone"


def test_every_decision_is_short() -> None:
    decisions = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").partition("## Decisions\n")[2].strip()
    for decision in decisions.split("\n\n"):
        assert decision.startswith("**")
        assert len(textwrap.wrap(decision, 110)) <= 12

"""Each formula of the physics floor explains itself, and its example is true."""

import doctest
import importlib
import inspect
import pkgutil
from collections.abc import Callable
from types import ModuleType

import pytest

import service.physics
from service.physics.mixing import Liquid

MODULES = [
    importlib.import_module(f"service.physics.{found.name}") for found in pkgutil.iter_modules(service.physics.__path__)
]


def formulas(module: ModuleType) -> list[Callable[..., object]]:
    """The public functions of a module that answer a number, a yes or no, or a composition."""
    return [
        function
        for name, function in inspect.getmembers(module, inspect.isfunction)
        if not name.startswith("_")
        and function.__module__ == module.__name__
        and inspect.signature(function).return_annotation in (float, bool, Liquid)
    ]


FORMULAS = [formula for module in MODULES for formula in formulas(module)]


def test_the_modules_are_found() -> None:
    names = {module.__name__.rpartition(".")[2] for module in MODULES}
    assert names >= {
        "dilution",
        "energy",
        "ethanol",
        "freezing",
        "mixing",
        "proof",
        "solutes",
        "sugar",
        "tables",
    }
    assert len(FORMULAS) > 30


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__)
def test_examples_are_true(module: ModuleType) -> None:
    failed, tried = doctest.testmod(module)
    assert failed == 0
    assert tried >= len(formulas(module))


@pytest.mark.parametrize("formula", FORMULAS, ids=lambda formula: f"{formula.__module__}.{formula.__name__}")
def test_formula_says_equation_units_range_and_source(formula: Callable[..., object]) -> None:
    text = inspect.getdoc(formula) or ""
    summary, _, rest = text.partition("\n\n")
    equation, _, rest = rest.partition("\n\n")
    assert summary.endswith(".") and "\n" not in summary
    assert "=" in equation, "the second paragraph holds the equation"
    for name in inspect.signature(formula).parameters:
        assert name in rest, f"the unit of {name} is missing"
    assert "Result" in rest or "result" in rest
    positions = [rest.find(word) for word in ("Range:", ">>> ", "Source:")]
    assert -1 not in positions and positions == sorted(positions)


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__)
def test_modules_stand_on_the_standard_library_and_the_errors_alone(module: ModuleType) -> None:
    for line in inspect.getsource(module).splitlines():
        if line.startswith(("import service", "from service")):
            assert line.startswith(("from service.errors", "from service.physics")), line

"""Every field of the contract says what it is, and everything that may be sent has a bound."""

import importlib
import pkgutil
from collections.abc import Iterator, Mapping
from datetime import date
from decimal import Decimal
from inspect import isclass
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

import annotated_types as at
import pytest
from pydantic import BaseModel, StringConstraints, ValidationError
from pydantic.fields import FieldInfo

import schemas
from schemas._base import Input, Output, Query
from schemas.described import described
from schemas.drink import AmountPair
from schemas.ingredient import Pieces
from schemas.pricing import Pricing
from service.amounts import Measures
from service.api.app import create_app
from service.api.documentation import document
from service.errors import InputFault
from service.line import amount_of
from service.settings import Settings

BOUNDED_ELSEWHERE = {"AmountPair.value": "what a figure may be depends on its unit; the reader of amounts bounds it"}
"""Fields whose numbers are bounded where they are read, with the reason; the tests below hold each to it."""


def models() -> list[type[BaseModel]]:
    """Every model that a module of schemas/ defines."""
    found = []
    for module in pkgutil.iter_modules(schemas.__path__):
        held = vars(importlib.import_module(f"schemas.{module.name}"))
        found += [
            one
            for one in held.values()
            if isclass(one) and issubclass(one, BaseModel) and one.__module__ == f"schemas.{module.name}"
        ]
    return [one for one in found if one not in (Input, Output, Query)]


def fields(base: type[BaseModel]) -> Iterator[tuple[str, FieldInfo]]:
    for model in models():
        if issubclass(model, base):
            for name, field in model.model_fields.items():
                yield f"{model.__name__}.{name}", field


def test_there_are_models_of_both_directions() -> None:
    assert len([model for model in models() if issubclass(model, Input)]) >= 30
    assert len([model for model in models() if issubclass(model, Output)]) >= 50


@pytest.mark.parametrize("model", models(), ids=lambda model: f"{model.__module__}.{model.__name__}")
def test_every_model_and_field_says_what_it_is(model: type[BaseModel]) -> None:
    assert model.__doc__ or model.__name__.startswith("_")
    for name, field in model.model_fields.items():
        words = field.description or described(model)[name]
        assert words, f"{model.__name__}.{name}"
        assert words[-1] in ".:", f"{model.__name__}.{name}"
        # A description that says the name in words says nothing.
        assert words.rstrip(".").lower() not in (name.replace("_", " "), f"the {name.replace('_', ' ')}") or (
            model.__module__.startswith("schemas.answer")
        ), f"{model.__name__}.{name}"


def test_no_cell_of_the_documentation_is_blank() -> None:
    found = document(create_app(Settings(demo=True)))
    for name, schema in found["components"]["schemas"].items():
        for key, field in schema.get("properties", {}).items():
            # A field of one model alone shows that model's own words where it has none.
            assert field.get("description") or "$ref" in field, f"{name}.{key}"
    for path, operations in found["paths"].items():
        for operation in operations.values():
            for parameter in operation.get("parameters", ()):
                assert parameter.get("description"), f"{path} {parameter['name']}"


# Bounds of what comes in.


def unbounded(kind: Any, stated: tuple[Any, ...] = ()) -> list[str]:  # noqa: PLR0911  # one return for each shape of type
    """What has no bound in a type with the constraints that were stated around it."""
    origin = get_origin(kind)
    if origin is Annotated:
        inner, *metadata = get_args(kind)
        return unbounded(inner, (*stated, *metadata))
    if origin in (Union, UnionType):
        # A bound around a choice holds for each of its members.
        return [gap for one in get_args(kind) for gap in unbounded(one, stated)]
    if origin in (tuple, list):
        entry = get_args(kind)[0]
        return ([] if bounds(stated) & {"max_length"} else ["list"]) + unbounded(entry)
    if origin in (dict, Mapping):
        key, value = get_args(kind)
        listed = get_origin(key) is Literal
        return ([] if listed or bounds(stated) & {"max_length"} else ["object"]) + unbounded(key) + unbounded(value)
    if origin is Literal or kind in (type(None), bool, date) or (isclass(kind) and issubclass(kind, BaseModel)):
        return []
    if kind is str:
        return [] if bounds(stated) & {"max_length", "pattern"} else ["text"]
    if kind in (int, float, Decimal):
        found = bounds(stated)
        return [end for end, names in ENDS.items() if not found & names]
    return [f"a type without a rule here: {kind}"]


ENDS = {"lower end": {"ge", "gt"}, "upper end": {"le", "lt"}}


def bounds(stated: tuple[Any, ...]) -> set[str]:
    """Names of the constraints among metadata."""
    names: set[str] = set()
    for one in stated:
        if isinstance(one, FieldInfo):
            names |= bounds(tuple(one.metadata))
            continue
        if isinstance(one, StringConstraints):
            names |= {name for name in ("max_length", "pattern") if getattr(one, name) is not None}
        for name, constraint in CONSTRAINTS.items():
            if isinstance(one, constraint):
                names.add(name)
        if getattr(one, "pattern", None):
            names.add("pattern")
    return names


CONSTRAINTS: dict[str, Any] = {"ge": at.Ge, "gt": at.Gt, "le": at.Le, "lt": at.Lt, "max_length": at.MaxLen}


def gaps(base: type[BaseModel]) -> dict[str, list[str]]:
    found = {}
    for name, field in fields(base):
        missing = unbounded(field.annotation, tuple(field.metadata))
        if missing:
            found[name] = missing
    return found


def test_everything_that_may_be_sent_has_a_bound() -> None:
    assert gaps(Input).keys() == BOUNDED_ELSEWHERE.keys()


@pytest.mark.parametrize(
    ("kind", "missing"),
    [
        (str, ["text"]),
        (float, ["lower end", "upper end"]),
        (Annotated[float, at.Ge(0)], ["upper end"]),
        (Annotated[float, at.Ge(0), at.Le(1)], []),
        (tuple[int, ...], ["list", "lower end", "upper end"]),
        (Annotated[tuple[bool, ...], at.MaxLen(3)], []),
        (dict[str, bool], ["object", "text"]),
        (dict[Literal["a"], bool], []),
        (Annotated[str, StringConstraints(pattern="^a$")] | None, []),
        (Annotated[str | None, at.MaxLen(3)], []),
        (Any, ["a type without a rule here: typing.Any"]),
    ],
)
def test_the_search_for_gaps_finds_them(kind: Any, missing: list[str]) -> None:
    assert unbounded(kind) == missing


@pytest.mark.parametrize("value", [1e300, 100_001.0, -1e300, 1e-300, float("nan"), float("inf")])
def test_the_figure_of_an_amount_is_bounded_by_its_reader(value: float) -> None:
    with pytest.raises((InputFault, ValidationError)):
        amount_of(AmountPair(value=value, unit="ml"), Measures(), by_mass=False, pieces=())


def test_named_pieces_are_bounded_in_number_and_name() -> None:
    def pieces(*names: str) -> Pieces:
        return Pieces.model_validate({name: {"g": 1} for name in names})

    assert pieces(*(f"p{number}" for number in range(30)))
    with pytest.raises(ValidationError):
        pieces(*(f"p{number}" for number in range(31)))
    for name in ("Wheel", "a" * 41, "", "two words"):
        with pytest.raises(ValidationError):
            pieces(name)


def test_named_offers_are_bounded_in_number() -> None:
    def pricing(count: int) -> Pricing:
        return Pricing.model_validate({"currency": "EUR", "choose": {f"i{number}": "q" for number in range(count)}})

    assert pricing(2000)
    with pytest.raises(ValidationError):
        pricing(2001)

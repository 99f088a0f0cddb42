"""What the fields of the contract mean: the texts that stand below them in the source of their models."""

import ast
import inspect
import sys
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path

from pydantic import BaseModel

from schemas._base import Input, Output


def models() -> Iterator[type[BaseModel]]:
    """Every model of the contract that is loaded."""
    waiting: list[type[BaseModel]] = [Input, Output]
    while waiting:
        known = waiting.pop()
        waiting += known.__subclasses__()
        if known.__module__.startswith("schemas."):
            yield known


@cache
def described(model: type[BaseModel]) -> Mapping[str, str]:
    """The texts of a model's fields by their names; a field that a model states anew has its own or none."""
    found: dict[str, str] = {}
    for base in reversed(model.__mro__):
        if not issubclass(base, BaseModel) or base is BaseModel:
            continue
        texts = _texts(base.__module__).get(base.__qualname__, {})
        for name in base.__annotations__:
            found.pop(name, None)
            if name in texts:
                found[name] = texts[name]
    return found


@cache
def _texts(module: str) -> Mapping[str, Mapping[str, str]]:
    """The texts of one module by class and field. Its file is parsed once, not once for each class."""
    source = Path(str(sys.modules[module].__file__)).read_text("utf-8")
    classes = (part for part in ast.parse(source).body if isinstance(part, ast.ClassDef))
    return {part.name: dict(_texts_of(part)) for part in classes}


def _texts_of(part: ast.ClassDef) -> Iterator[tuple[str, str]]:
    for field, below in zip(part.body, part.body[1:], strict=False):
        if not (isinstance(field, ast.AnnAssign) and isinstance(field.target, ast.Name)):
            continue
        if isinstance(below, ast.Expr) and isinstance(below.value, ast.Constant) and isinstance(below.value.value, str):
            yield field.target.id, inspect.cleandoc(below.value.value)

"""A null in any field of any body or question is taken or refused; it never ends in a fault of ours."""

import importlib
import pkgutil
from collections.abc import Iterator

from pydantic import BaseModel, ValidationError

import schemas


def _models() -> Iterator[type[BaseModel]]:
    for module in pkgutil.iter_modules(schemas.__path__):
        for value in vars(importlib.import_module(f"schemas.{module.name}")).values():
            if (
                isinstance(value, type)
                and issubclass(value, BaseModel)
                and value.__module__ == f"schemas.{module.name}"
            ):
                yield value


MODELS = tuple(_models())


def test_a_null_in_any_field_is_taken_or_refused() -> None:
    tried, faults = 0, []
    for model in MODELS:
        for name, field in model.model_fields.items():
            try:
                model.model_validate({field.alias or name: None})
            except ValidationError:
                pass
            except Exception as fault:  # noqa: BLE001  # named, so that the field can be found
                faults.append(f"{model.__name__}.{name}: {fault!r}")
            tried += 1
    assert not faults
    assert tried > 1000

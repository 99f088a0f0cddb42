"""From a parsed document to the request of the contract, in bounded time however much is wrong in it.

A schema reports every fault it finds, and a megabyte can hold half a million. A small document is validated whole;
a large one entry by entry, each of them bounded first, until enough faults are found to answer.
"""

from collections.abc import Iterator, Mapping
from typing import Any, Final, TypeVar, cast

from pydantic import BaseModel, ValidationError

from schemas.evaluation import EvaluationRequest
from schemas.ingredient import Ingredient
from schemas.offer import Offer
from schemas.preparation import Preparation
from service.api.body import DEEPEST, refuse_depth, too_deep
from service.api.pointer import faults_of, safe_key
from service.api.problems import MOST_ERRORS, Fault, Problem, of_faults

Model = TypeVar("Model", bound=BaseModel)

LARGE_BYTES: Final = 16 * 1024
"""From this size on a body is validated entry by entry."""

MOST_VALUES: Final = 6000
"""How many values one entry may hold. The largest that the contract allows, a house with 60 tools, holds some 5,000."""

MOST_VALUES_OF: Final[Mapping[str, int]] = {"drink": 28_000}
"""As ``MOST_VALUES`` where one entry may hold more: 60 modifiers that each add 10 lines with 20 alternatives."""

ENTRIES: Final[Mapping[str, type[BaseModel]]] = {
    "ingredients": Ingredient,
    "preparations": Preparation,
    "offers": Offer,
}
"""Fields of the request that are lists of entries."""


def asked(document: Any, size_bytes: int) -> EvaluationRequest:
    """The request that a document states. Raises :class:`Problem`: 422 with its faults, 400 where it nests too deep."""
    return asked_as(EvaluationRequest, document, size_bytes)


def asked_as(model: type[Model], document: Any, size_bytes: int) -> Model:
    """As :func:`asked` for another request that has the same lists of entries."""
    if size_bytes > LARGE_BYTES and isinstance(document, dict):
        faults = _first_faults(document, model)
        if faults:
            raise _refusal(document, faults)
    try:
        return model.model_validate(document)
    except ValidationError as error:
        raise _refusal(document, _faults(error, document)) from None


def taken(model: type[Model], document: Any, most: int = MOST_VALUES) -> Model:
    """A document as its model, of ``most`` values. Raises :class:`Problem`: 422 with its faults, 400 where it nests
    too deep."""
    faults = _overlong(document, "", most)
    if not faults:
        made, faults = _faults_of_entry(model, document, "")
        if not faults:
            return cast(Model, made)
    raise _refusal(document, faults)


def _refusal(document: Any, faults: list[Fault]) -> Problem:
    if faults[0].code != "too_many":  # A document that is too much has been walked to where it was.
        refuse_depth(document)
    return of_faults(faults[:MOST_ERRORS])


def _first_faults(document: dict[str, Any], whole: type[BaseModel]) -> list[Fault]:
    """The first faults of a large document; an entry that is right takes the place of what it was read from."""
    faults: list[Fault] = []
    rest = {name: value for name, value in document.items() if name not in ENTRIES}
    known = {field.alias or name for name, field in whole.model_fields.items()}
    for name, value in rest.items():
        faults += _overlong(value, f"/{name}" if name in known else "", MOST_VALUES_OF.get(name, MOST_VALUES))
    if not faults:
        faults += _faults_of_entry(whole, rest, "")[1]
    for name, model in ENTRIES.items():
        entries = document.get(name)
        if isinstance(entries, list) and len(entries) <= _limit(name):
            faults += _faults_of_entries(name, model, entries, MOST_ERRORS - len(faults))
        elif isinstance(entries, list):
            faults.append(_too_many(f"/{name}", _limit(name)))
        if len(faults) >= MOST_ERRORS:
            break
    return faults


def _faults_of_entries(name: str, model: type[BaseModel], entries: list[Any], most: int) -> list[Fault]:
    faults: list[Fault] = []
    for index, entry in enumerate(entries):
        pointer = f"/{name}/{index}"
        found = _overlong(entry, pointer)
        if not found:
            entries[index], found = _faults_of_entry(model, entry, pointer)
        faults += found
        if len(faults) >= most:
            break
    return faults


def _faults_of_entry(model: type[BaseModel], entry: Any, pointer: str) -> tuple[Any, list[Fault]]:
    """The entry validated, or as it was with its faults."""
    try:
        return model.model_validate(entry), []
    except ValidationError as error:
        found = _faults(error, entry)
        return entry, [Fault(pointer + fault.pointer, fault.code, fault.detail) for fault in found]


def _faults(error: ValidationError, document: Any) -> list[Fault]:
    return faults_of(error.errors(include_url=False, include_input=False), document)


def _limit(name: str) -> int:
    for bound in EvaluationRequest.model_fields[name].metadata:
        limit = getattr(bound, "max_length", None)
        if limit is not None:
            return cast(int, limit)
    raise AssertionError(name)


def _too_many(pointer: str, limit: int) -> Fault:
    return Fault(pointer, "too_many", f"There are more than {limit:,} entries.")


def _overlong(entry: Any, pointer: str, most: int = MOST_VALUES) -> list[Fault]:
    """A fault where one entry holds more values than any of the contract; the walk stops as soon as it is known."""
    start = max(2, pointer.count("/") + 1)
    count = 0
    waiting = [(entry, start)]
    while waiting:  # Most entries are sound, so that places are written down only where one is not.
        node, depth = waiting.pop()
        if not isinstance(node, dict | list):
            continue
        if depth > DEEPEST:
            raise too_deep()
        count += len(node)
        if count > most:
            return [Fault(_place_of(entry, pointer, most), "too_many", f"There are more than {most:,} values here.")]
        inner = node.values() if isinstance(node, dict) else node
        waiting += [(child, depth + 1) for child in inner if isinstance(child, dict | list)]
    return []


def _place_of(entry: Any, pointer: str, most: int) -> str:
    """The pointer to the first node with which there are more values than ``most``."""
    count = 0
    waiting = [(entry, pointer)]
    while waiting:
        node, place = waiting.pop()
        count += len(node)
        if count > most:
            return place
        waiting += _children(node, place)
    return pointer


def _children(node: dict[str, Any] | list[Any], pointer: str) -> Iterator[tuple[Any, str]]:
    """What a node holds that holds more, with the pointer of it, or of the node where its key is a strange one."""
    if isinstance(node, list):
        yield from ((child, f"{pointer}/{index}") for index, child in enumerate(node) if isinstance(child, dict | list))
    else:
        for key, child in node.items():
            if isinstance(child, dict | list):
                yield child, f"{pointer}/{key}" if safe_key(key) else pointer

"""openapi-examples/: each replayed exactly, one good and one refused for every operation, the document as committed."""

import json
from pathlib import Path

import pytest

from tests.examples import FOLDER, answered, document, dumped, example_files


@pytest.mark.parametrize("path", list(example_files()), ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_an_example_is_answered_exactly_as_committed(path: Path) -> None:
    example = json.loads(path.read_text(encoding="utf-8"))
    assert answered(example) == example["response"]


def test_the_committed_document_is_the_one_that_is_served() -> None:
    assert (FOLDER / "openapi.json").read_text(encoding="utf-8") == dumped(document())


def test_every_operation_has_a_good_and_a_refused_example() -> None:
    operations = {operation["operationId"] for rows in document()["paths"].values() for operation in rows.values()}
    statuses: dict[str, set[bool]] = {operation: set() for operation in operations}
    for path in example_files():
        status = json.loads(path.read_text(encoding="utf-8"))["response"]["status"]
        statuses[path.parent.name].add(status < 400)
    assert {operation for operation, kinds in statuses.items() if kinds != {True, False}} == set()

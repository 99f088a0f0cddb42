"""What tests of several modules ask for by name."""

import decimal
from collections.abc import Iterator

import pytest


@pytest.fixture(scope="module")
def floats_are_refused() -> Iterator[None]:
    """A module runs with the trap on: a float that meets a decimal raises."""
    with decimal.localcontext() as context:
        context.traps[decimal.FloatOperation] = True
        yield

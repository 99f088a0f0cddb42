"""Answers of /livez and /readyz."""

from typing import Literal

from schemas._base import Output


class Health(Output):
    """The process lives."""

    status: Literal["ok"]


class Readiness(Output):
    """The service can answer, and from which versions it does."""

    status: Literal["ok"]
    rules_version: str
    reference_version: str
    reference_items: int
    jurisdictions: int

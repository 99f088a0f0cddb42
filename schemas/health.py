"""Answers of /livez and /readyz."""

from typing import Literal

from schemas._base import Output


class Health(Output):
    """The process lives."""

    status: Literal["ok"]
    """There is no other word: a process that is not well does not answer."""


class Readiness(Output):
    """The service can answer, and from which versions it does."""

    status: Literal["ok"]
    """There is no other word: a service that is not ready does not answer yet."""
    database: Literal["sqlite", "postgresql"]
    """Which database answers: it is at this program's schema, and flushes what it acknowledges."""
    disk: Literal["ok", "not_known"]
    """Whether the disk of the database has room. That of a PostgreSQL server is its own: watch it there."""
    rules_version: str
    """Changes with every change of a dated rule."""
    reference_version: str
    """Changes with every change of an embedded item."""
    reference_items: int
    """How many generic items are embedded."""
    jurisdictions: int
    """How many codes a request may name."""

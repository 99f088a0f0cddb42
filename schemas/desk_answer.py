"""What every answer of the developer's desk has: its cautions, and by what it was made."""

from typing import Literal

from schemas._base import Output


class Caution(Output):
    """A caution, as in POST /v1/evaluate."""

    code: str
    """Stable word."""
    level: Literal["info", "caution", "serious"]
    """How grave."""
    text: str
    """The caution."""
    deferral: str
    """Whom to ask."""


class DeskMeta(Output):
    """By what the answer was made."""

    as_of: str
    """The day whose prices and rules apply, YYYY-MM-DD."""
    rules_version: str
    """Version of the dated rules."""
    reference_version: str
    """Version of the embedded items."""
    note: str
    """How far to rely on it."""

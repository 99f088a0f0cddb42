"""What every dated rule has: its provenance, how far it was checked, and the lines of a rounding table."""

import math
from datetime import date
from decimal import Decimal
from typing import ClassVar

from msgspec import Struct
from msgspec.structs import force_setattr

STANDINGS = ("confirmed", "secondary", "memory")
"""How far a value was checked: against a copy of its source, in a secondary text, or not at all."""

STATUSES = ("law", "guidance", "convention", "proposal")
"""What binds a value. A proposal is shown and never applied."""

COMPARATORS = ("<", "<=", ">", ">=")
"""How a figure is held against a limit."""


class Dated(Struct, frozen=True, kw_only=True):
    """Provenance of one rule, which applies from ``since`` to ``until``, both inclusive."""

    source: str
    standing: str
    since: date
    checked: date
    detail: str = ""
    until: date | None = None
    status: str = "law"
    key: str = ""

    def applies_on(self, day: date) -> bool:
        """Whether the rule is in force on that day."""
        return self.status != "proposal" and self.since <= day and (self.until is None or day <= self.until)


class Band(Struct, frozen=True, kw_only=True):
    """One line of a rounding table, up to ``lt`` (exclusive) or ``le`` (inclusive), or without an upper end.

    Exactly one of: ``step`` (nearest multiple, half up), ``figures`` (significant figures), ``zero`` (shown
    as 0) and ``less_than`` (shown as less than that number; a figure of exactly 0 is shown as 0).
    """

    lt: Decimal | None = None
    le: Decimal | None = None
    step: Decimal | None = None
    figures: int | None = None
    zero: bool = False
    less_than: Decimal | None = None
    COMPUTED: ClassVar[frozenset[str]] = frozenset(("quantum", "step_float", "end"))
    """Fields that follow from the others, so that no file states them."""
    quantum: Decimal | None = None
    """The step where it is a power of ten to 1, by which a figure is rounded without dividing it."""
    step_float: float = 0.0
    end: float = math.inf
    """The step and the upper end as floats, for figures that are far from every doubt."""

    def __post_init__(self) -> None:
        ends = [float(bound) for bound in (self.lt, self.le) if bound is not None]
        force_setattr(self, "end", min(ends, default=math.inf))
        force_setattr(self, "step_float", 0.0 if self.step is None else float(self.step))
        if self.step is not None and self.step <= 1 and self.step.normalize().as_tuple().digits == (1,):
            force_setattr(self, "quantum", self.step.normalize())

    def holds(self, figure: Decimal) -> bool:
        """Whether the figure lies under the upper end of this band."""
        return (self.lt is None or figure < self.lt) and (self.le is None or figure <= self.le)


def stated_fields(shape: type[Struct]) -> tuple[str, ...]:
    """The fields that a file may state, in their order: all but those that follow from others."""
    computed: frozenset[str] = getattr(shape, "COMPUTED", frozenset())
    return tuple(name for name in shape.__struct_fields__ if name not in computed)

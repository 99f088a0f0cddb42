"""What every dated rule has: its provenance, how far it was checked, and the lines of a rounding table."""

import math
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

STANDINGS = ("confirmed", "secondary", "memory")
"""How far a value was checked: against a copy of its source, in a secondary text, or not at all."""

STATUSES = ("law", "guidance", "convention", "proposal")
"""What binds a value. A proposal is shown and never applied."""

COMPARATORS = ("<", "<=", ">", ">=")
"""How a figure is held against a limit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Dated:
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
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
    quantum: Decimal | None = field(init=False, default=None)
    """The step where it is a power of ten to 1, by which a figure is rounded without dividing it."""
    step_float: float = field(init=False, default=0.0)
    end: float = field(init=False, default=math.inf)
    """The step and the upper end as floats, for figures that are far from every doubt."""

    def __post_init__(self) -> None:
        ends = [float(bound) for bound in (self.lt, self.le) if bound is not None]
        object.__setattr__(self, "end", min(ends, default=math.inf))
        object.__setattr__(self, "step_float", 0.0 if self.step is None else float(self.step))
        if self.step is not None and self.step <= 1 and self.step.normalize().as_tuple().digits == (1,):
            object.__setattr__(self, "quantum", self.step.normalize())

    def holds(self, figure: Decimal) -> bool:
        """Whether the figure lies under the upper end of this band."""
        return (self.lt is None or figure < self.lt) and (self.le is None or figure <= self.le)

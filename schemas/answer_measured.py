"""What the bar measured beside the model, as answered."""

from schemas._base import Output


class MeasuredRow(Output):
    """One figure of one serve."""

    quantity: str
    """Name, with its unit last."""
    measured: float
    """What was measured, or follows from it."""
    model: float | None
    """The model's figure; null where the two are not reconciled."""
    difference: float | None
    """Measured less model."""
    unit: str
    """Unit."""
    note: str
    """What was taken out of it, or why it is not reconciled; may be empty."""
    source: str
    """By what it was worked out."""


class MeasuredAnswer(Output):
    """What was measured, and whether it took the place of the model's water."""

    used: bool
    """True where every figure of the answer rests on it."""
    rows: tuple[MeasuredRow, ...]
    """Each figure measured, beside the model's own."""

"""A preparation with its amounts read: what goes in, what is done to it, what of it is left."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import NamedTuple

from service.mixture import Part, Substance
from service.steps import Step


class PreparationLine(NamedTuple):
    """One resolved line: ``part`` is ``None`` where a piece of unknown mass is strained out.

    ``variants`` are the same amount of all that may stand there instead: the alternatives and the weaker and stronger
    variants of each and of the substance itself. Of a strained-out line the ``alternatives`` alone count, as far as
    allergens go.
    """

    substance: Substance
    part: Part | None
    strained_out: bool = False
    absorbs_ml: float = 0.0
    variants: tuple[Part, ...] = ()
    alternatives: tuple[Substance, ...] = ()


@dataclass(frozen=True, slots=True)
class MeasuredYield:
    """``quantity`` in ml or g (``dimension`` volume or mass)."""

    dimension: str
    quantity: Decimal
    reduced: bool = False


@dataclass(frozen=True, slots=True)
class PreparationSpec:
    """A preparation with its amounts read. Shelf life in days; ``made_on`` starts it; ``products`` are ids of
    its outputs."""

    id: str
    name: str
    lines: tuple[PreparationLine, ...]
    steps: tuple[Step, ...] = ()
    loss_percent: float | None = None
    measured: MeasuredYield | None = None
    overrun_percent: float | None = None
    made_on: date | None = None
    shelf_life_days: int | None = None
    storage: str | None = None
    minutes: float | None = None
    origin: str = "request"
    products: tuple[str, ...] = ()

"""A preparation with its amounts read: what goes in, what is done to it, what of it is left."""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from msgspec import Struct

from service.mixture import Assumption, Mixture, Part, Substance
from service.steps import Step


class PreparationLine(Struct, frozen=True):
    """One resolved line: ``part`` is ``None`` where a piece of unknown mass is strained out.

    ``variants`` are the same amount of what may stand there instead: the alternatives, and the other choices inside
    each and inside the substance itself; ``weaker`` are the weaker variants of each. Of a strained-out line the
    ``alternatives`` alone count, as far as allergens go.
    """

    substance: Substance
    part: Part | None
    strained_out: bool = False
    absorbs_ml: float = 0.0
    variants: tuple[Part, ...] = ()
    weaker: tuple[Part, ...] = ()
    alternatives: tuple[Substance, ...] = ()


class Batch(Struct, frozen=True):
    """What is left of one batch, the liquid volume that carries its cost, and how it came about: the volume before
    the yield, volume with gas over volume of liquid, and what the steps had to assume."""

    mixture: Mixture
    yield_ml: float
    computed_ml: float
    gas_factor: float
    assumptions: Sequence[Assumption]


class MeasuredYield(Struct, frozen=True):
    """``quantity`` in ml or g (``dimension`` volume or mass)."""

    dimension: str
    quantity: Decimal
    reduced: bool = False


class PreparationSpec(Struct, frozen=True):
    """A preparation with its amounts read. Shelf life in days; ``made_on`` starts it; ``products`` are ids of
    its outputs; ``egg_yolk_g_per_l`` is stated for its ``legal_name``."""

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
    legal_name: str | None = None
    egg_yolk_g_per_l: float | None = None
    origin: str = "request"
    products: tuple[str, ...] = ()

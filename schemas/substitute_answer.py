"""What POST /v1/substitute answers. ``null`` is unknown."""

from typing import Any, Literal

from schemas._base import Output
from schemas.answer_money import Missing
from schemas.compare_answer import ComparedDrink
from schemas.desk_answer import DeskMeta
from schemas.solve import Held


class SolvedAmount(Output):
    """An item whose amount was solved."""

    item: str
    """Id of the item."""
    role: Literal["by", "helper", "adjust"]
    """What it is in the swap."""
    unit: Literal["ml", "g"]
    """Of both figures."""
    before: float
    """For the whole spec."""
    after: float
    """For the whole spec; 0 where it is not needed."""


class FigureBeside(Output):
    """A figure of one serve before the water of ice that was not asked to stay."""

    figure: Held
    """Which one."""
    unit: Literal["g", "mmol", "ml"]
    """Of both figures."""
    before: float | None
    """With the old item."""
    after: float | None
    """With the new one."""


class HeldFigure(FigureBeside):
    """A figure of one serve before the water of ice that was asked to stay."""

    held: bool
    """Whether it stays within a billionth."""


class UnmetFigure(Output):
    """What could not be held."""

    figure: Held
    """Which one."""
    wanted: float
    """What it was."""
    nearest: float
    """What amounts of 0 or more come to."""
    detail: str
    """What would help."""


class LostWith(Output):
    """What the replaced item had, of one serve."""

    volume_ml: float
    """Alone, at 20 C."""
    water_g: float
    """Grams of water."""
    sugars_g: float | None
    """Grams of sugars."""
    acid_g: float | None
    """Grams of all acids."""
    acid_mmol: float | None
    """Titratable acidity in mmol H+."""
    ethanol_g: float | None
    """Grams of ethanol."""
    missing: tuple[Missing, ...]
    """What a null figure lacks."""


class JuiceSpread(Output):
    """How far fruit of one kind spreads."""

    item: str
    """The juice."""
    citric_g_per_l: float
    """Mean of citric acid alone by assay."""
    sd_g_per_l: float
    """Standard deviation of it."""
    source: str
    """Who measured it."""
    standing: str
    """How far that was checked."""
    note: str
    """What it is not."""


class SubstituteAnswer(Output):
    """A swap."""

    item: str
    """What is replaced."""
    by: str
    """By what."""
    solved: bool
    """Whether all that was to be held is."""
    amounts: tuple[SolvedAmount, ...]
    """What was solved for."""
    held: tuple[HeldFigure, ...]
    """What was asked to stay."""
    unmet: tuple[UnmetFigure, ...]
    """What of it could not."""
    beside: tuple[FigureBeside, ...]
    """What changed with it."""
    lost: LostWith
    """What went with the old item."""
    acidity: tuple[JuiceSpread, ...]
    """Of the juices in the swap that an assay is held of."""
    drink: dict[str, Any]
    """The new drink, as POST /v1/evaluate takes it."""
    compared: tuple[ComparedDrink, ...]
    """The old and the new drink side by side."""
    notes: tuple[str, ...]
    """How far to rely on it."""
    meta: DeskMeta
    """By what the answer was made."""

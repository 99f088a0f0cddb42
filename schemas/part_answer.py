"""What POST /v1/make-part answers. ``null`` is unknown."""

from typing import Any, Literal

from schemas._base import Output
from schemas.answer import Note
from schemas.answer_money import Missing
from schemas.desk_answer import Caution, DeskMeta


class PartAmount(Output):
    """One ingredient for the batch."""

    item: str
    """Id of the item."""
    unit: Literal["ml", "g"]
    """What it is kept in."""
    quantity: float
    """In that unit."""
    mass_g: float | None
    """The same by mass."""
    volume_ml: float | None
    """The same by volume at 20 C, alone; null for what is weighed."""
    strained_out: bool
    """Whether it leaves the part again."""


class PartFigures(Output):
    """What the part measures at 20 C."""

    abv_percent: float | None
    """Strength in % vol."""
    brix: float | None
    """Sugars in g per 100 g; a refractometer also sees acids, salt and alcohol."""
    sugars_g_per_100_ml: float | None
    """Of the liquid."""
    acid_g_per_100_ml: float | None
    """All acids."""
    acid_mmol_per_100_ml: float | None
    """Titratable acidity in mmol H+."""
    salt_g_per_100_ml: float | None
    """Of the liquid."""
    density_g_per_ml: float | None
    """Without the gas of a foam."""
    missing: tuple[Missing, ...]
    """What a null figure lacks."""


class KeepingAnswer(Output):
    """How long it keeps."""

    days: int | None
    """Null: as long as its spirit."""
    storage: Literal["ambient", "chilled", "frozen"]
    """How it is kept."""
    text: str
    """In words."""
    cautions: tuple[str, ...]
    """What to beware of in making and keeping it."""
    source: str
    """What the life rests on."""
    deferral: str
    """Who decides."""


class PartCost(Output):
    """What the part costs."""

    currency: str | None
    """Null where nothing is offered."""
    batch: str | None
    """All of it."""
    litre: str | None
    """One litre as poured."""
    missing: tuple[Missing, ...]
    """What has no cost."""


class MakePartAnswer(Output):
    """A part with its amounts and what it becomes."""

    id: str
    """What lines name."""
    kind: str
    """What was made."""
    amounts: tuple[PartAmount, ...]
    """Solved amounts; none for a foam, whose lines are the caller's."""
    yield_ml: float
    """Liquid after loss."""
    with_gas_ml: float
    """As poured."""
    mass_g: float | None
    """After loss."""
    contraction_ml: float | None
    """By how much less a cut spirit is than its spirit and water were; null for other parts."""
    figures: PartFigures
    """What it measures."""
    keeping: KeepingAnswer
    """How long it keeps."""
    preparation: dict[str, Any]
    """The part, as `preparations` of POST /v1/evaluate takes it."""
    advisories: tuple[Caution, ...]
    """Cautions of the part."""
    warnings: tuple[Note, ...]
    """What to look at."""
    notes: tuple[str, ...]
    """How far to rely on it."""
    meta: DeskMeta
    """By what the answer was made."""
    cost: PartCost | None = None
    """Absent for a key without costs:read."""

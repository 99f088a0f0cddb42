"""What the packs of a drink state, and what their label panels lack."""

from typing import Literal

from schemas._base import Output
from schemas.scalars import SoldAs


class PanelRow(Output):
    """One jurisdiction's panel."""

    jurisdiction: str
    """Its code."""
    ready: bool
    """Whether nothing is missing that the panel prints; what a law asks for beyond it stands under `duties`."""
    missing: tuple[
        Literal[
            "net_ml", "lot", "made_on", "use_by", "use_by_passed", "storage", "responsible", "strength", "allergens",
            "nutrition",
        ],
        ...,
    ]  # fmt: skip
    """What is not stated or not known; `allergens`: some are unknown, or a declaration is to be renewed;
    `use_by_passed`: the packs are past their day."""


class FillAnswer(Output):
    """How the net quantity stands to the sizes that a law lets the product be packed in."""

    jurisdiction: str
    """Code."""
    commodity: str
    """What the drink is taken for there: spirits, wine or malt."""
    standard: bool
    """Whether the net quantity is one of the sizes."""
    below_ml: float | None
    """The next smaller size; null where there is none."""
    above_ml: float | None
    """The next larger size; null where there is none."""
    source: str
    """The list."""
    standing: str
    """How far it was checked."""
    note: str
    """What of it was checked otherwise."""


class ServingAnswer(Output):
    """The reference serving of voluntary serving facts."""

    jurisdiction: str
    """Code."""
    commodity: str
    """What the drink is taken for there: spirits, wine or malt."""
    serving_ml: float
    """Its reference serving at this strength."""
    serving_fl_oz: float
    """The same in US fluid ounces, as the table has it."""
    servings: float | None
    """How many the net quantity holds, to a tenth; null without a net quantity."""
    status: str
    """Law, guidance or convention."""
    source: str
    """The table."""
    standing: str
    """How far it was checked."""


class PackOnSale(Output):
    """A drink that is sold packed; null is not stated, or not known."""

    sold_as: SoldAs
    """How it is sold."""
    net_ml: str | None
    """Net quantity in ml."""
    lot: str | None
    """Lot of the packs on sale."""
    made_on: str | None
    """Day on which they were made, YYYY-MM-DD."""
    use_by: str | None
    """Day to which they keep, counted from the day they were made; from `as_of` where that is not stated."""
    storage: str | None
    """How they are to be kept."""
    responsible: str | None
    """Who answers for them."""
    panels: tuple[PanelRow, ...]
    """In the order of the jurisdictions."""
    fills: tuple[FillAnswer, ...]
    """Where a list of sizes is held and the commodity is known; whether it binds is for the authority to say."""
    servings: tuple[ServingAnswer, ...]
    """Where a table of servings is held and commodity and strength are known."""

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
    """What is not stated or not known; `use_by_passed`: the packs are past their day."""


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

"""How far what a house pours may lie from what it writes: its own figures in place of the service's."""

from typing import Annotated, Literal

from pydantic import Field

from schemas._base import Input
from schemas.scalars import Id, NotNegative

PourTool = Literal["jigger", "free_pour", "measured_pourer", "machine", "stamped_measure"]
Tool = Literal[
    "jigger", "free_pour", "measured_pourer", "machine", "stamped_measure", "dash", "drop", "barspoon", "piece", "mass",
    "fill",
]  # fmt: skip


class TolerancesIn(Input):
    """Half-widths of what is measured: every value within one is taken as likely as any other; 0 takes it as exact."""

    pour_with: PourTool = "jigger"
    """What volumes are poured with, save for dashes, drops and bar spoons."""
    pour_percent: dict[Tool, Annotated[NotNegative, Field(le=100)]] = {}
    """Of the amount, by what it is measured with: `mass` by a scale, `piece` by count, `fill` to the glass's line."""
    strength_percent_vol: Annotated[dict[Id, Annotated[NotNegative, Field(le=20)]], Field(max_length=1000)] = {}
    """In % vol on the strength of an item; the tolerance of its label under the rules asked for unless given."""
    acid_percent: Annotated[dict[Id, Annotated[NotNegative, Field(le=100)]], Field(max_length=1000)] = {}
    """Of the acids of an item of kind juice."""
    water_percent: Annotated[NotNegative | None, Field(le=100)] = None
    """Of the water that the drink takes from ice; that of the dilution model unless given."""

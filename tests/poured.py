"""Substances of known make-up and lines of them, for tests of what happens in the shaker and in the glass."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from service.amounts import Amount, Dimension
from service.item import Composition, Item
from service.line import ResolvedLine
from service.mixture import Mixture, Part, Substance, mixture
from service.substance import substance
from tests.one_drink import NOTHING

ETHANOL_G_PER_ML = 0.789239
"""OIML R 22 at 20 C."""

WATER_G_PER_ML = 0.99820123
"""OIML R 22 at 20 C."""


def liquid(item_id: str = "thing", abv_percent: float | None = 0.0, **facts: Any) -> Substance:
    """A liquid of which everything is known: ethanol and water alone, save for ``per_100``."""
    stated: Mapping[str, Any] = {**NOTHING, **facts.pop("per_100", {})}
    amounts = {name: float(amount) for name, amount in stated.items() if not isinstance(amount, Mapping)}
    composition = Composition("ml", amounts, stated["acids_g"], stated["polyols_g"])
    return substance(Item(item_id, item_id, abv_percent=abv_percent, per_100=(composition,), **facts))


def mixed(*parts: tuple[Substance, float]) -> Mixture:
    """So many base units of each substance together."""
    return mixture(Part(made, base) for made, base in parts)


def line_of(made: Substance, part: Part | None, dimension: Dimension = "volume", **more: Any) -> ResolvedLine:
    """A line of the drink as it is resolved."""
    amount = Amount(dimension, Decimal(0 if part is None else repr(part.base)), None, "as the test has it")
    whole = {"number": 0, "pointer": "/drink/lines/0", "ref": made.id, "role": "pour", "quantities": {}, **more}
    return ResolvedLine(amount=amount, substance=made, part=part, **whole)

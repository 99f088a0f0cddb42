"""Sulphites of the finished drink, from the sources that state a quantity and those that do not."""

from collections.abc import Iterable, Mapping

from msgspec import Struct

from service.allergen_profile import SULPHITES
from service.leaves import Leaf


class Sulphites(Struct, frozen=True):
    """Sulphites of the finished drink: ``mg_per_l`` is ``None`` where a source has no quantity or nobody declared one.

    ``known_mg_per_l`` counts the sources with a quantity; ``sources`` are leaves by state that have none.
    """

    mg_per_l: float | None
    known_mg_per_l: float | None
    sources: Mapping[str, tuple[Leaf, ...]]
    quantified: tuple[Leaf, ...]


def sulphites_of(leaves: Iterable[Leaf], sulphites_mg: float, volume_ml: float, *, volume_known: bool) -> Sulphites:
    """Sulphites per litre of the finished drink, from the milligrams of the sources that have a quantity.

    Where the finished volume is not known, ``volume_ml`` is that before ice: the figure is never too low, and not
    shown.
    """
    sources: dict[str, list[Leaf]] = {}
    quantified: list[Leaf] = []
    for leaf in leaves:
        item = leaf.item
        default = "absent" if item.allergens_declared == "complete" else "unknown"
        entry = item.allergens.get(SULPHITES)
        state = default if entry is None else entry.state
        amounts = [composition.amounts.get(SULPHITES + "_mg") for composition in item.per_100]
        quantity = next((amount for amount in amounts if amount is not None), None)
        if quantity is None:
            if state != "absent":
                sources.setdefault(state, []).append(leaf)
        elif leaf.drunk:
            if quantity > 0:
                quantified.append(leaf)
        elif quantity > 0 or state != "absent":
            # It was strained out or is not eaten: how much of its quantity went over is not known.
            sources.setdefault("contains" if quantity > 0 else state, []).append(leaf)
    known = 1000.0 * sulphites_mg / volume_ml if volume_ml > 0 else None
    figure = known if volume_known and not sources else None
    return Sulphites(figure, known, {state: tuple(rows) for state, rows in sources.items()}, tuple(quantified))

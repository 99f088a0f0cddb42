"""Vegan and vegetarian: yes, no or unknown from the origin of every part. Never to be read as an allergen statement."""

from collections.abc import Iterable

from msgspec import Struct

from service.item import Item
from service.leaves import Leaf

VEGETARIAN_ORIGINS = frozenset(
    ("egg", "eggs", "milk", "dairy", "lactose", "whey", "casein", "honey", "beeswax", "bee_pollen", "royal_jelly",
     "propolis")
)  # fmt: skip
"""Animal origins that a vegetarian accepts; common practice, no source."""

KILLED_ORIGINS = frozenset(
    ("fish", "fish_gelatine", "gelatine", "gelatin", "isinglass", "insect", "cochineal", "carmine", "shellac", "meat",
     "beef", "pork", "chicken", "crustaceans", "molluscs", "oyster", "clam", "anchovy", "animal_rennet", "bone")
)  # fmt: skip
"""Animal origins that no vegetarian accepts; common practice, no source."""

_ANIMAL_ALLERGENS = {
    "milk": "milk", "eggs": "egg", "fish": "fish", "crustaceans": "crustaceans", "molluscs": "molluscs", "beef": "beef",
    "pork": "pork", "chicken": "chicken", "gelatin": "gelatin", "salmon_roe": "fish", "shrimp": "crustaceans",
    "crab": "crustaceans", "squid": "molluscs", "abalone": "molluscs", "salmon": "fish", "mackerel": "fish",
}  # fmt: skip
_FINED = {"fined_egg": "egg", "fined_milk": "milk", "fined_isinglass": "isinglass"}


class Diet(Struct, frozen=True):
    """``yes``, ``no`` or ``unknown``, with the routes that decide each.

    ``assumed`` are plain distillates without a stated origin, taken as free of anything animal.
    """

    vegan: str
    vegetarian: str
    routes: tuple[tuple[str, str, tuple[str, ...]], ...]
    assumed: tuple[str, ...] = ()


def diet(drink_id: str, leaves: Iterable[Leaf]) -> Diet:
    """Vegan and vegetarian, from the animal origin of every part; routes are (diet, answer, path)."""
    answers = {"vegan": "yes", "vegetarian": "yes"}
    routes: list[tuple[str, str, tuple[str, ...]]] = []
    assumed: dict[str, None] = {}
    for leaf in leaves:
        vegan, vegetarian = _kept(leaf.item)
        if leaf.item.animal_origin is None and vegan == "yes":
            assumed[leaf.item.id] = None
        for name, answer in (("vegan", vegan), ("vegetarian", vegetarian)):
            if answer == "yes":
                continue
            routes.append((name, answer, (drink_id, *leaf.path)))
            if answers[name] != "no":
                answers[name] = answer
    return Diet(answers["vegan"], answers["vegetarian"], tuple(routes), tuple(assumed))


_of_embedded: dict[str, tuple[Item, tuple[str, str]]] = {}


def _kept(item: Item) -> tuple[str, str]:
    """As :func:`_diet_of`, kept for embedded items, whose data never change."""
    if item.origin != "reference":
        return _diet_of(item)
    known = _of_embedded.get(item.id)
    if known is None or known[0] is not item:
        known = _of_embedded[item.id] = (item, _diet_of(item))
    return known[1]


def _diet_of(item: Item) -> tuple[str, str]:
    origins = set(item.animal_origin or ())
    origins |= {_FINED[process] for process in item.process if process in _FINED}
    origins |= {
        _ANIMAL_ALLERGENS[key]
        for key, entry in item.allergens.items()
        if entry.state == "contains" and key in _ANIMAL_ALLERGENS
    }
    if not origins:
        answer = "yes" if item.animal_origin is not None or _plain_distillate(item) else "unknown"
        if answer == "yes" and _may_be_animal(item):
            answer = "unknown"
        return answer, answer
    if origins & KILLED_ORIGINS:
        return "no", "no"
    if origins == {"unknown"}:
        return "unknown", "unknown"
    stated = item.animal_origin is not None and origins <= VEGETARIAN_ORIGINS
    return "no", "yes" if stated else "unknown"


def _may_be_animal(item: Item) -> bool:
    """Whether an allergen of animal origin is unknown by name: an unnamed base may be whey. Traces do not count."""
    return any(entry.state == "unknown" and key in _ANIMAL_ALLERGENS for key, entry in item.allergens.items())


def _plain_distillate(item: Item) -> bool:
    """A spirit of which distilling is the only process and whose every allergen is declared.

    The contract's own example answers yes for one that states no origin; the answer names it as an assumption.
    """
    return item.kind == "spirit" and item.process == ("distilled",) and item.allergens_declared == "complete"

"""What the alcohol of a drink makes it in the eyes of a law on packages: spirits, wine or malt."""

from service.evaluate import Evaluation

_COMMODITIES = {"spirit": "spirits", "liqueur": "spirits", "bitters": "spirits", "wine": "wine", "fortified": "wine",
                "beer": "malt"}  # fmt: skip


def commodity_of(evaluation: Evaluation) -> str | None:
    """The commodity: spirits where any spirit is in it, else wine or malt where all its alcohol is of that one.

    Taken cautiously from 27 CFR 5.1, by which a distilled spirits product may hold wine; ``None`` where a part of
    another kind brings alcohol, or of unknown strength, and where there is none.
    """
    found: dict[str | None, None] = {}
    for leaf in evaluation.leaves.values():
        abv, kind = leaf.item.abv_percent, leaf.item.kind
        # A kind that implies no alcohol is taken to hold none, as everywhere.
        if leaf.drunk and (kind in (*_COMMODITIES, "other") if abv is None else abv > 0):
            found[_COMMODITIES.get(leaf.item.kind)] = None
    if None in found:
        return None
    return "spirits" if "spirits" in found else next(iter(found)) if len(found) == 1 else None

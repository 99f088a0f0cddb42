"""Display rounding of physical figures; prices round in ``pricing.py``, lawful figures in ``labelling.py``."""

from math import floor, log10

Json = dict[str, object]
"""A JSON object of the answer."""


_SCALES = {1: 10.0, 2: 100.0, 4: 10_000.0}
"""Quotients by these are the nearest doubles of short decimals; ``round`` itself takes three times as long."""


def shown(figure: float | None, decimals: int = 2, digits: int = 4) -> float | None:
    """``figure`` to ``decimals`` places, or to ``digits`` significant digits where that is finer; ``None`` stays.

    >>> shown(138.0731), shown(0.041234), shown(None)
    (138.07, 0.04123, None)
    """
    if figure is None:
        return None
    if 1.0 <= figure < 1e9 and (scale := _SCALES.get(decimals)):
        return floor(figure * scale + 0.5) / scale
    if figure == 0.0:
        return 0.0
    size = abs(figure)
    if size < 1:
        decimals = max(decimals, digits - 1 - floor(log10(size)))
    return round(figure, decimals) + 0.0


def missing_rows(missing: tuple[tuple[str, str], ...]) -> list[Json]:
    """(item, field) pairs as the contract writes them."""
    return [{"item": item, "field": name} for item, name in dict.fromkeys(missing)]

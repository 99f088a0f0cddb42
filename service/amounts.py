"""Reads the amount of a line as a bar writes it: ``50 ml``, ``2 dashes``, ``3/4 oz (22.5 ml)``, ``fill``.

:mod:`service.figures` takes a text apart; its word is looked up in the table of :mod:`service.units`. What
the table lacks is refused with the nearest words that it has, and nothing of the text stands in the refusal.
"""

import difflib
import functools
import re
from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from typing import Final, Literal

from msgspec import Struct

from service.errors import InputFault
from service.figures import Written, figure_ratio, not_positive, unit_word, written_figures
from service.pieces import EACH, piece_named, pieces_counted, units_counted
from service.units import EXACT, TABLE, BareWord, Unit

Dimension = Literal["volume", "mass", "piece", "part", "fill"]

LARGEST: Final[dict[str, int]] = {"volume": 100_000, "mass": 100_000, "piece": 10_000, "part": 10_000}
"""The largest amount of a line in ml, g, pieces and parts, itself allowed."""

_BASE_UNIT: Final = {"volume": "ml", "mass": "g"}
_LIMIT_TEXT: Final = {"volume": "100 l", "mass": "100 kg", "piece": "10,000 pieces", "part": "10,000 parts"}
_PART_WORDS: Final = frozenset({"part", "parts"})
_TOLERANCE: Final = Fraction(3, 100)
_OUNCES: Final = tuple(TABLE.bare["fl oz"].by_ounce.values())

_SUGGESTED: Final = tuple(
    dict.fromkeys(
        [
            *(unit.name for unit in TABLE.units.values()),
            *TABLE.bare,
            *TABLE.house,
            *(word for word, unit in TABLE.explicit.items() if unit.system == "si"),
            "parts",
            "each",
            "piece",
            "fill",
        ]
    )
)


class Measures(Struct, frozen=True):
    """What the words that name no system mean in this house."""

    ounce: Literal["us", "imperial", "metric"] = "us"
    dash_ml: Decimal = Decimal("0.8")
    drop_ml: Decimal = Decimal("0.05")
    barspoon_ml: Decimal = Decimal(5)


@dataclass(frozen=True, slots=True)
class Amount:
    """An amount read: ``quantity`` in ml, g, pieces or parts, 0 for ``fill``.

    ``piece`` is the piece counted (``each``, ``wheel``...), ``read_as`` says how the text was read and
    ``disagreement`` what to warn of where two figures on one line contradict each other. ``unit`` is the name of the
    unit that was written, which tells how the amount is measured at the bar.
    """

    dimension: Dimension
    quantity: Decimal
    piece: str | None
    read_as: str
    disagreement: str | None = None
    unit: str = field(default="", compare=False)


class _Scale(Struct, frozen=True):
    """What a word stands for: ``numerator / denominator`` of the base unit of its dimension."""

    name: str
    dimension: Dimension
    numerator: int
    denominator: int
    piece: str | None = None


def read_amount(text: str, measures: Measures, *, by_mass: bool, pieces: Collection[str]) -> Amount:
    """The amount that ``text`` writes; ``by_mass`` says that a bare ounce of this item is one of mass.

    >>> read_amount("3/4 oz (22.5 ml)", Measures(), by_mass=False, pieces=()).quantity
    Decimal('22.5')
    """
    written = written_figures(text)
    if not written:
        return Amount("fill", Decimal(0), None, "fill")
    if len(written) == 2:
        return _amount_of_both(written[0], written[1], measures)
    return _amount(written[0], _scale(written[0].word, measures, by_mass, pieces))


def read_pair(
    value: str | int | Decimal, unit: str, measures: Measures, *, by_mass: bool, pieces: Collection[str]
) -> Amount:
    """The amount of ``{"value": ..., "unit": ...}``; a fault points to ``/value`` or ``/unit``.

    >>> read_pair("2", "dash", Measures(), by_mass=False, pieces=()).read_as
    '2 dashes = 1.6 ml'
    """
    try:
        numerator, denominator = figure_ratio(value)
    except InputFault as fault:
        raise fault.at("/value") from None
    try:
        word = unit_word(unit)
        scale = _scale(word, measures, by_mass, pieces)
    except InputFault as fault:
        raise fault.at("/unit") from None
    try:
        return _amount(Written(numerator, denominator, word), scale)
    except InputFault as fault:
        raise fault.at("/value") from None


def _scale(word: str, measures: Measures, by_mass: bool, pieces: Collection[str]) -> _Scale:
    unit = TABLE.explicit.get(word)
    if unit is None and (bare := TABLE.bare.get(word)) is not None:
        unit = bare.mass if by_mass and bare.mass else bare.by_ounce.get(measures.ounce)
        if unit is None:
            raise _ambiguous(bare.allowed)
    if unit is not None:
        return _scale_of_unit(unit)
    if word in TABLE.house:
        return _house_scale(TABLE.house[word], measures)
    if word in _PART_WORDS:
        return _Scale("part", "part", 1, 1)
    piece = piece_named(word, pieces)
    if piece is None:
        raise _unknown(word, pieces)
    return _Scale(piece, "piece", 1, 1, piece)


_SCALES: Final = {
    unit.name: _Scale(unit.name, "volume" if unit.dimension == "volume" else "mass", unit.numerator, unit.denominator)
    for unit in TABLE.units.values()
}


def _scale_of_unit(unit: Unit) -> _Scale:
    return _SCALES[unit.name]


def _house_scale(name: str, measures: Measures) -> _Scale:
    volume_ml = {"dash": measures.dash_ml, "drop": measures.drop_ml, "barspoon": measures.barspoon_ml}[name]
    return _Scale(name, "volume", *volume_ml.as_integer_ratio())


def _ambiguous(allowed: Iterable[str]) -> InputFault:
    detail = f"This word means different things: write one of {', '.join(allowed)}."
    return InputFault("unit_ambiguous", detail)


def _unknown(word: str, pieces: Collection[str]) -> InputFault:
    """Why a word reads nothing, with the pieces of the item and the nearest words that read something."""
    if word in TABLE.ambiguous:
        return _ambiguous(TABLE.ambiguous[word])
    if re.match(r"[a-z][0-9]", word):
        return InputFault("amount_unreadable", "A figure is written in plain digits, without an exponent or a prefix.")
    if word == "fill":
        return InputFault("unit_unknown", 'An amount that fills the glass is the text "fill" alone, without a figure.')
    nearest = difflib.get_close_matches(word[:32], _SUGGESTED, n=4, cutoff=0.6)
    allowed = ", ".join(nearest or ("ml", "cl", "l", "g", "kg", "oz", "tsp", "dash", "barspoon", "parts", EACH))
    if not pieces:
        return InputFault("unit_unknown", f"This unit is not known. Nearest allowed: {allowed}.")
    counted = ", ".join([EACH, *sorted({*pieces} - {EACH})])
    detail = f"This unit is not known. Pieces of this item: {counted}; half of the whole is 1/2 each. Nearest allowed: "
    return InputFault("unit_unknown", f"{detail}{allowed}.")


@functools.lru_cache(maxsize=4096)
def _amount(written: Written, scale: _Scale) -> Amount:
    quantity = _quantity(written, scale)
    dimension = scale.dimension
    figure = shown(_figure(written))
    if dimension == "piece":
        read_as = pieces_counted(figure, scale.name)
    elif dimension == "part":
        read_as = f"{figure} {'part' if figure == '1' else 'parts'}"
    elif scale.name == _BASE_UNIT[dimension]:
        read_as = f"{figure} {scale.name}"
    else:
        read_as = f"{units_counted(figure, scale.name)} = {shown(quantity)} {_BASE_UNIT[dimension]}"
    return Amount(dimension, quantity, scale.piece, read_as, None, scale.name)


def _quantity(written: Written, scale: _Scale) -> Decimal:
    numerator = written.numerator * scale.numerator
    if numerator <= 0:
        raise not_positive()
    denominator = written.denominator * scale.denominator
    if numerator > LARGEST[scale.dimension] * denominator:
        raise InputFault("amount_too_large", f"At most {_LIMIT_TEXT[scale.dimension]} may stand on one line.")
    return EXACT.divide(Decimal(numerator), Decimal(denominator))


def _figure(written: Written) -> Decimal:
    return EXACT.divide(Decimal(written.numerator), Decimal(written.denominator))


@functools.lru_cache(maxsize=1024)
def _amount_of_both(first: Written, second: Written, measures: Measures) -> Amount:
    """Both measures on one line: the metric figure is used, the other one checks it."""
    unit, other_unit = _metric_unit(first), _metric_unit(second)
    metric, other = first, second
    if unit is None:
        unit, other_unit = other_unit, unit
        metric, other = second, first
    if unit is None or other_unit is not None:
        detail = "Of two figures exactly one is metric (ml, cl, dl, l, mg, g, kg), as in 3/4 oz (22.5 ml)."
        raise InputFault("figures_unclear", detail)
    scale = _scale_of_unit(unit)
    quantity = _quantity(metric, scale)
    name, known = _known_scales(other, scale.dimension, measures)
    base = _BASE_UNIT[scale.dimension]
    reading = f"{units_counted(shown(_figure(other)), name)} ({shown(_figure(metric))} {unit.name})"
    warning = _disagreement(metric, scale, other, known)
    return Amount(scale.dimension, quantity, None, f"{reading} = {shown(quantity)} {base}", warning, unit.name)


def _disagreement(metric: Written, scale: _Scale, other: Written, known: tuple[_Scale, ...]) -> str | None:
    """What to warn of if the metric figure lies over 3 % from all that the other figure may stand for."""
    base = _BASE_UNIT[scale.dimension]
    meant: list[str] = []
    for candidate in known:
        quantity = _quantity(other, candidate)
        ratio = _exact(metric, scale) / _exact(other, candidate)
        if abs(ratio - 1) <= _TOLERANCE:
            return None
        meant.append(f"{candidate.name}: {shown(quantity)} {base}")
    return f"The two figures differ by more than 3 % ({', '.join(meant)}); the metric figure is used."


def _exact(written: Written, scale: _Scale) -> Fraction:
    return Fraction(written.numerator * scale.numerator, written.denominator * scale.denominator)


def _metric_unit(written: Written) -> Unit | None:
    unit = TABLE.explicit.get(written.word)
    return unit if unit is not None and unit.system == "si" else None


def _known_scales(written: Written, dimension: Dimension, measures: Measures) -> tuple[str, tuple[_Scale, ...]]:
    """The name of the figure beside the metric one, and all that it may stand for in that one's dimension.

    A bare ounce is of volume beside ml and of mass beside g. An ounce of volume, even one that names its
    system, is held against every known ounce, because the trade rounds them all to 30 ml.
    """
    if (bare := TABLE.bare.get(written.word)) is not None:
        name, scales = bare.name, _bare_scales(bare, dimension)
    elif (unit := TABLE.explicit.get(written.word)) is not None:
        ounces = _OUNCES if unit in _OUNCES else (unit,)
        name, scales = unit.name, tuple(_scale_of_unit(ounce) for ounce in ounces)
    else:
        scale = _scale(written.word, measures, False, ())
        name, scales = scale.name, (scale,)
    if not scales or any(scale.dimension != dimension for scale in scales):
        raise InputFault("dimensions_differ", "Both figures of a line must be volumes, or both masses.")
    return name, scales


def _bare_scales(bare: BareWord, dimension: Dimension) -> tuple[_Scale, ...]:
    if dimension == "mass":
        return (_scale_of_unit(bare.mass),) if bare.mass else ()
    return tuple(_scale_of_unit(unit) for unit in bare.by_ounce.values())


def shown(quantity: Decimal) -> str:
    """A figure as the reading shows it, for display alone: up to 6 digits exact, else 4 significant.

    >>> shown(Decimal("22.180147171875")), shown(Decimal("22.5")), shown(Decimal("12345"))
    ('22.18', '22.5', '12345')
    """
    if len(quantity.as_tuple().digits) > 6:
        places = max(0, 3 - quantity.adjusted())
        quantity = quantity.quantize(Decimal((0, (1,), -places)), rounding=ROUND_HALF_UP, context=EXACT)
    text = format(quantity, "f")
    return text.rstrip("0").rstrip(".") if "." in text else text

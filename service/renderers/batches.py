"""What is measured out for several serves: each amount as it was read, times the serves, exactly."""

import re
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from service.errors import InputFault
from service.pieces import pieces_counted, units_counted
from service.renderers.phrases import ENGLISH, Phrases
from service.renderers.reading import Answer, Row
from service.scaling import scaled_text

_ONE = re.compile(r"([0-9]+(?:\.[0-9]+)?) ([^()0-9]+)\Z")
_METRIC = frozenset({"ml", "cl", "dl", "l", "g", "kg", "oz"})


class BatchRow(NamedTuple):
    """One line of a batch, in the words of whoever worked it out."""

    name: str
    amount: str


class Batch(NamedTuple):
    """What is measured out for several serves."""

    serves: int
    rows: tuple[BatchRow, ...]


def batch_of(answer: Answer, serves: int, words: Phrases = ENGLISH) -> Batch:
    """The lines of an answer for so many serves; water from ice is not in it."""
    factor = Fraction(serves, answer["drink"]["serves"])
    return Batch(
        serves, tuple(BatchRow(line["name"], _amount(line, factor, serves, words)) for line in answer["lines"])
    )


def _amount(line: Row, factor: Fraction, serves: int, words: Phrases) -> str:
    """What is written of a line, scaled, with its millilitres or grams where they are not written already.

    An amount that cannot be scaled as text is scaled by its volume.
    """
    written, _, base = line["read_as"].partition(" = ")
    try:
        text = _counted(scaled_text(written, factor), measure=bool(base))
        more = scaled_text(base, factor) if base else ""
    except InputFault:
        if line["volume_ml"] is None:
            return words["not_known"]
        return f"{words.number(format(Decimal(repr(line['volume_ml'])) * serves, 'f'))} ml"
    return text if not more or "(" in text else f"{text} ({more})"


def _counted(text: str, *, measure: bool) -> str:
    """An amount with its noun in the number that its figure wants."""
    found = _ONE.match(text)
    if found is None or found[2] in _METRIC or found[2].endswith("s"):
        return text
    return (units_counted if measure else pieces_counted)(found[1], found[2])

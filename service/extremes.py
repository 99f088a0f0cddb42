"""The weakest and the strongest whole that the choices on several lines can give.

More ethanol is not always more strength: what stands on a line by mass or by the piece brings a volume of its own.
The strength E / V of a sum is highest where each line takes the choice of the greatest e - s v, s being that highest
strength (Dinkelbach's rule for ratios); volumes add only nearly, so every whole that is tried is made and compared.
"""

from collections.abc import Callable, Sequence
from typing import NamedTuple, TypeVar

from service.mixture import Part, mixture
from service.physics.ethanol import ETHANOL_DENSITY_20C_G_PER_ML

Whole = TypeVar("Whole")

ROUNDS = 8
"""The rule settles in two or three rounds; where volumes do not add it might swing for ever."""


class Choice(NamedTuple):
    """What may stand on a line: ml of ethanol and the volume in ml it brings to the whole; ``known``: its strength."""

    part: Part
    ethanol_ml: float
    volume_ml: float
    known: bool


def choice_of(part: Part, share: float = 1.0, takes_up: float = 1.0) -> Choice:
    """``share`` of a part, each ml of which makes ``takes_up`` ml of the whole."""
    ethanol_ml = part.content("ethanol") / ETHANOL_DENSITY_20C_G_PER_ML
    known = "abv_percent" not in part.substance.unknown.fields
    volume_ml = mixture([part]).volume_ml if part.volume_ml is None else part.volume_ml
    return Choice(part, ethanol_ml * share, volume_ml * share * takes_up, known)


def tried(
    lines: Sequence[Sequence[Choice]],
    made: Callable[[Sequence[Part]], Whole],
    abv_percent: Callable[[Whole], float | None],
    sign: float,
    strengths: Sequence[float] = (),
) -> list[Whole]:
    """The wholes on the way to the strongest (``sign`` 1) or the weakest (-1), the end among them, as poured first.

    The first choice of each line is what is poured. One of unknown strength is taken before any other, since it may
    be either end. ``strengths`` are further ones (as fractions) to weigh the volume with, besides 0, which finds the
    most or the least ethanol, and the strength itself.
    """
    poured = tuple([0] * len(lines))
    found = {poured: made([choices[0].part for choices in lines])}

    def whole(price: float) -> Whole:
        picked = tuple([_best(choices, sign, price) for choices in lines])
        if picked not in found:
            found[picked] = made([choices[place].part for choices, place in zip(lines, picked, strict=True)])
        return found[picked]

    for price in (0.0, *strengths):
        whole(price)
    strength = abv_percent(found[poured])
    for _ in range(ROUNDS):
        if strength is None:
            break
        next_strength = abv_percent(whole(strength / 100.0))
        if next_strength == strength:
            break
        strength = next_strength
    return list(found.values())


def _best(choices: Sequence[Choice], sign: float, price: float) -> int:
    def worth(place: int) -> tuple[bool, float]:
        choice = choices[place]
        return not choice.known, sign * (choice.ethanol_ml - price * choice.volume_ml)

    return max(range(len(choices)), key=worth)

"""The weakest and the strongest whole that the choices on several lines can give.

More ethanol is not always more strength: what stands on a line by mass or by the piece brings a volume of its own.
The strength E / V of a sum is highest where each line takes the choice of the greatest e - s v, s being that highest
strength (Dinkelbach's rule for ratios). Volumes add only nearly: every whole that is tried is made and compared, and
where there are few choices each is exchanged for the others in turn.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import TypeVar

from msgspec import Struct

from service.errors import InputFault
from service.mixture import Part, mixture
from service.physics.ethanol import ETHANOL_DENSITY_20C_G_PER_ML

Whole = TypeVar("Whole")

ROUNDS = 8
"""The rule settles in two or three rounds; where volumes do not add it might swing for ever."""


EXCHANGES = 16
"""So few choices beside those of the poured whole are exchanged in turn, and so many more wholes are made for each
measure at most: one request may hold hundreds of parts."""


class Choice(Struct, frozen=True):
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
    measures: Sequence[Callable[[Whole], float | None]],
    sign: float,
    strengths: Sequence[float] = (),
) -> list[Whole]:
    """The wholes on the way to the strongest (``sign`` 1) or the weakest (-1), the end among them, as poured first.

    The first choice of each line is what is poured. One of unknown strength is taken before any other, since it may
    be either end. The first of ``measures`` is the strength in % vol, any further ones have ends of their own.
    ``strengths`` are further ones (as fractions) to weigh the volume with, besides 0, which finds the most or the
    least ethanol, and the strength itself.

    The whole of the most or the least ethanol has to be; any other that cannot be, since what was measured goes
    against it, is left out. Raises what ``made`` raises of the first two.
    """
    poured = tuple([0] * len(lines))
    found: dict[tuple[int, ...], Whole | None] = {}

    def whole(picked: tuple[int, ...], *, must: bool = False) -> Whole | None:
        if picked not in found:
            try:
                found[picked] = made([choices[place].part for choices, place in zip(lines, picked, strict=True)])
            except InputFault:
                if must:
                    raise
                found[picked] = None
        return found[picked]

    def best(price: float) -> tuple[int, ...]:
        return tuple([_best(choices, sign, price) for choices in lines])

    own = whole(poured, must=True)
    if own is not None and all(len(choices) == 1 for choices in lines):
        return [own]
    whole(best(0.0), must=True)
    for price in strengths:
        whole(best(price))
    strength = None if own is None else measures[0](own)
    for _ in range(ROUNDS):
        one = None if strength is None else whole(best(strength / 100.0))
        next_strength = None if one is None else measures[0](one)
        if next_strength == strength:
            break
        strength = next_strength
    if 0 < sum(len(choices) - 1 for choices in lines) <= EXCHANGES:
        for measure in measures:
            _exchange([len(choices) for choices in lines], whole, found, measure, sign)
    return [one for one in found.values() if one is not None]


def _exchange(
    sizes: Sequence[int],
    whole: Callable[[tuple[int, ...]], Whole | None],
    found: Mapping[tuple[int, ...], Whole | None],
    measure: Callable[[Whole], float | None],
    sign: float,
) -> None:
    """Goes on from the best whole found to a better one that differs in one choice, as long as there is one."""

    def worth(picked: tuple[int, ...]) -> float:
        one = whole(picked)
        figure = None if one is None else measure(one)
        if figure is None:
            return float("-inf") if one is None else float("inf")
        return sign * figure

    top = max(found, key=worth)
    most = len(found) + EXCHANGES
    better = True
    while better and worth(top) < float("inf"):
        better = False
        for line, size in enumerate(sizes):
            for place in range(size):
                other = (*top[:line], place, *top[line + 1 :])
                if (other in found or len(found) < most) and worth(other) > worth(top):
                    top, better = other, True


def _best(choices: Sequence[Choice], sign: float, price: float) -> int:
    def worth(place: int) -> tuple[bool, float]:
        choice = choices[place]
        return not choice.known, sign * (choice.ethanol_ml - price * choice.volume_ml)

    return max(range(len(choices)), key=worth)

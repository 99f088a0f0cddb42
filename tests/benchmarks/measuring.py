"""Rounds taken in turns, their medians with the range, and the results that are printed."""

import itertools
import statistics
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

Argument = TypeVar("Argument")


@dataclass(frozen=True, slots=True)
class Size:
    """How much is measured: rounds of each side, calls or starts in a round, seconds of a round over HTTP."""

    rounds: int
    calls: int
    seconds: float


FULL = Size(rounds=7, calls=100, seconds=1.5)
SMALLEST = Size(rounds=1, calls=2, seconds=0.1)


@dataclass(frozen=True, slots=True)
class Spread:
    """The median of the rounds, with the lowest and the highest of them."""

    median: float
    low: float
    high: float


def spread(figures: Sequence[float], scale: float = 1.0) -> Spread:
    """The spread of ``figures``, each times ``scale``."""
    return Spread(statistics.median(figures) * scale, min(figures) * scale, max(figures) * scale)


@dataclass(frozen=True, slots=True)
class Side:
    """One of the two things that are compared."""

    name: str
    figures: tuple[float, ...]
    unit: str
    scale: float = 1.0
    """What a figure is multiplied by where it is printed in ``unit``."""

    @property
    def spread(self) -> Spread:
        """The side in its unit."""
        return spread(self.figures, self.scale)


@dataclass(frozen=True, slots=True)
class Figure:
    """One side over the other, round by round; ``accept`` and ``aim`` are ``None`` where no goal is set for it."""

    name: str
    over: Side
    under: Side
    accept: float | None = None
    aim: float | None = None
    more_is_better: bool = False

    @property
    def ratio(self) -> Spread:
        """The ratio of the sides within each round, whose noise both of them share."""
        return spread([over / under for over, under in zip(self.over.figures, self.under.figures, strict=True)])

    @property
    def verdict(self) -> str:
        """Whether the median reaches the aim, is accepted, or misses."""
        if self.accept is None or self.aim is None:
            return "no goal set"
        if self._reaches(self.aim):
            return "reaches the aim"
        return "accepted" if self._reaches(self.accept) else "MISSED"

    def _reaches(self, limit: float) -> bool:
        return self.ratio.median >= limit if self.more_is_better else self.ratio.median <= limit


@dataclass(frozen=True, slots=True)
class Result:
    """What one bench found; ``faults`` are goals without a ratio that are missed, in words."""

    goal: str
    title: str
    sides: tuple[str, ...]
    """What each side is, exactly."""
    figures: tuple[Figure, ...]
    notes: tuple[str, ...] = ()
    faults: tuple[str, ...] = ()

    @property
    def command(self) -> str:
        """What makes this result again."""
        return f"python -m tests.benchmarks {self.goal}"


def in_turns(calls: Mapping[str, Callable[[], float]], rounds: int) -> dict[str, tuple[float, ...]]:
    """The figures that each call answers, the calls taken in turns, and every second round in the opposite order."""
    found: dict[str, list[float]] = {name: [] for name in calls}
    names = list(calls)
    for number in range(rounds):
        order = names if number % 2 == 0 else names[::-1]
        for name in order:
            found[name].append(calls[name]())
    return {name: tuple(figures) for name, figures in found.items()}


def each_in_turn(call: Callable[[Argument], object], arguments: Iterable[Argument]) -> Callable[[], object]:
    """A call without arguments that takes the next of ``arguments`` each time, and begins again after the last."""
    following = itertools.cycle(arguments)
    return lambda: call(next(following))


def cpu_seconds(call: Callable[[], object], calls: int) -> Callable[[], float]:
    """A round of ``call``: CPU seconds of this process for one of ``calls`` calls, garbage collection included."""

    def one_round() -> float:
        begun = time.process_time()
        for _ in range(calls):
            call()
        return (time.process_time() - begun) / calls

    call()
    return one_round

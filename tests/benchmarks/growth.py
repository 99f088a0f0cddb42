"""S8: how the time of one drink grows with its lines, and with the distinct parts below it."""

from collections.abc import Callable

from service.reference import reference
from tests.benchmarks.drink import body, offer, part
from tests.benchmarks.in_process import MICROSECONDS, answered
from tests.benchmarks.measuring import Figure, Result, Side, Size, cpu_seconds, in_turns, spread

KINDS = ("spirit", "liqueur", "juice", "fortified")
"""Kinds whose items are poured in turns, so that long and short drinks are of the same make."""

FEW_LINES, MOST_LINES = 8, 60
LEVELS = 16
"""The deepest that parts may stand in one another."""

WIDTHS = (2, 4, 8, 16, 30)
"""Parts on each level; each needs two of the level below, so the ways down double on each level."""


def poured_items(count: int) -> list[str]:
    """``count`` distinct items of the reference, of all :data:`KINDS` in turns."""
    by_kind = [sorted(item.id for item in reference().items.values() if item.kind == kind) for kind in KINDS]
    return [by_kind[number % len(KINDS)][number // len(KINDS)] for number in range(count)]


def long_drink(lines: int, parts: int) -> bytes:
    """A drink of ``lines`` lines, the first ``parts`` of which are parts of five lines; every item has an offer."""
    items = poured_items(lines)
    made = [_five_lines(number) for number in range(parts)]
    names = [*(row["id"] for row in made), *items[parts:]]
    offers = [offer(number, item, "700 ml", "18.40") for number, item in enumerate(items[parts:])]
    shared = ("white-sugar", "citric-acid", "lemon-juice", "lime-juice")
    offers += [offer(lines + number, item, "1 kg", "4.15") for number, item in enumerate(shared) if item not in items]
    return body([{"item": name, "amount": "5 ml"} for name in names], made, offers)


def _five_lines(number: int) -> dict[str, object]:
    amounts = {
        "white-sugar": "400 g",
        "water": "500 g",
        "citric-acid": "9 g",
        "lime-juice": "30 ml",
        "lemon-juice": "40 ml",
    }
    lines = [{"item": item, "amount": amount} for item, amount in amounts.items()]
    return part(f"part-{number}", f"Part {number}", lines)


def diamonds(levels: int, width: int) -> bytes:
    """A drink on ``levels`` levels of ``width`` parts, each made of two parts of the level below and two items."""
    made = []
    for level in range(levels):
        for place in range(width):
            below = [f"part-{level - 1}-{place}", f"part-{level - 1}-{(place + 1) % width}"] if level else []
            lines = [{"item": item, "amount": "100 ml"} for item in (*below, "water")]
            lines.append({"item": "white-sugar", "amount": "50 g"})
            made.append(part(f"part-{level}-{place}", f"Part {level} {place}", lines))
    top = [{"item": f"part-{levels - 1}-{place}", "amount": "10 ml"} for place in range(width)]
    return body(top, made, [offer(0, "white-sugar", "1 kg", "1.15")])


def _round_of(raw: bytes, calls: int) -> Callable[[], float]:
    return cpu_seconds(lambda: answered(raw), calls)


def result(size: Size) -> Result:
    """S8."""
    lines = {
        "few": long_drink(FEW_LINES, 2),
        "most": long_drink(MOST_LINES, 2),
        "most of all": long_drink(MOST_LINES, 15),
    }
    few_calls = max(1, size.calls // 4)
    found = in_turns({name: _round_of(raw, few_calls) for name, raw in lines.items()}, size.rounds)
    deep = {width: diamonds(LEVELS, width) for width in WIDTHS}
    took = in_turns(
        {str(width): _round_of(raw, max(1, 8 * size.calls // (LEVELS * width))) for width, raw in deep.items()},
        size.rounds,
    )
    each = {width: tuple(one / (LEVELS * width) for one in took[str(width)]) for width in WIDTHS}
    shallow = in_turns(
        {str(levels): _round_of(diamonds(levels, 2), few_calls) for levels in (4, 8, LEVELS)}, size.rounds
    )
    few = Side(f"{FEW_LINES} lines, 2 parts", found["few"], "us", MICROSECONDS)
    return Result(
        "S8",
        "Growth with lines and with distinct parts",
        (
            "both:  CPU time of service.api.evaluations.evaluated; distinct items of the reference, each with an offer",
            f"parts: {LEVELS} levels, each part of two of the level below: 2^{LEVELS - 1} ways down from each",
        ),
        (
            Figure(
                f"{MOST_LINES} lines against {FEW_LINES}, the same 2 parts of 5 lines",
                Side(f"{MOST_LINES} lines, 2 parts", found["most"], "us", MICROSECONDS), few, 8, 7,
            ),
            Figure(
                f"{MOST_LINES} lines and 15 parts against {FEW_LINES} and 2, all 7.5 x",
                Side(f"{MOST_LINES} lines, 15 parts", found["most of all"], "us", MICROSECONDS), few,
            ),
            Figure(
                "time for each distinct part, linear where 1 or less",
                Side(f"{LEVELS * WIDTHS[-1]} parts", each[WIDTHS[-1]], "us a part", MICROSECONDS),
                Side(f"{LEVELS * WIDTHS[0]} parts", each[WIDTHS[0]], "us a part", MICROSECONDS), 1.25, 1.0,
            ),
        ),
        (
            *(
                f"{LEVELS} levels of {width:2} ({LEVELS * width:3} parts):"
                f" {spread(figures, MICROSECONDS).median:7.1f} us a part"
                for width, figures in each.items()
            ),
            *(
                f"{levels:>2} levels of  2 ({2 * int(levels):3} parts):"
                f" {spread(figures, MICROSECONDS).median / (2 * int(levels)):7.1f} us a part"
                for levels, figures in shallow.items()
            ),
        ),
    )  # fmt: skip

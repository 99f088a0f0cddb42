"""Results as text, for people."""

from collections.abc import Iterator

from tests.benchmarks.measuring import Figure, Result, Side, Spread


def lines_of(result: Result) -> Iterator[str]:
    """One result as lines."""
    yield f"{result.goal}  {result.title}"
    yield f"    command: {result.command}"
    for side in result.sides:
        yield f"    {side}"
    for figure in result.figures:
        yield from _figure(figure)
    for note in result.notes:
        yield f"    {note}"
    for fault in result.faults:
        yield f"    MISSED: {fault}"


def _figure(figure: Figure) -> Iterator[str]:
    sign = ">=" if figure.more_is_better else "<="
    goal = f"accept {sign} {figure.accept:g}, aim {sign} {figure.aim:g}: " if figure.accept is not None else ""
    yield f"  {figure.name}: {_spread(figure.ratio)}   {goal}{figure.verdict}"
    yield f"      over  {_side(figure.over)}"
    yield f"      under {_side(figure.under)}"


def _side(side: Side) -> str:
    return f"{side.name}: {_spread(side.spread)} {side.unit}, {len(side.figures)} rounds"


def _spread(found: Spread) -> str:
    return f"{found.median:.4g} ({found.low:.4g} to {found.high:.4g})"

"""Amounts that were solved, written back into a drink as a bar would write it."""

from decimal import Decimal

from schemas.drink import Drink, Line
from service.errors import InputFault
from service.mixture import Substance

PLACES = 12
"""Decimals that the reader of amounts takes."""

LEAST = Decimal("1e-9")
"""What is below it counts as nothing."""


def written(made: Substance, base: float, serves: int) -> str | None:
    """``base`` units a serve as the amount of a line for the whole spec; ``None`` where nothing is left of it."""
    quantity = base * serves * (made.gas_factor if made.basis == "ml" else 1.0)
    return text_of(quantity, made.basis)


def text_of(quantity: float, unit: str) -> str | None:
    """A quantity with its unit, in as many digits as a float holds and the reader of amounts takes."""
    figure = Decimal(repr(quantity))
    if figure < LEAST:
        return None
    if figure > 100_000:
        raise InputFault("amount_too_large", "The solved amount is over 100 l or 100 kg.", "")
    text = format(figure.quantize(Decimal(1).scaleb(-PLACES)), "f").rstrip("0").rstrip(".")
    return f"{text} {unit}"


def with_lines(drink: Drink, amounts: dict[int, tuple[str, str | None]], added: list[tuple[str, str]]) -> Drink:
    """The drink with other items and amounts on some lines, by place (no amount: the line goes), and lines added."""
    lines: list[Line] = []
    for number, line in enumerate(drink.lines):
        if number not in amounts:
            lines.append(line)
            continue
        item, amount = amounts[number]
        if amount is not None:
            same = item == line.item
            changes = {"item": item, "amount": amount, "alternatives": line.alternatives if same else ()}
            lines.append(line.model_copy(update=changes))
    lines += [Line(item=item, amount=amount) for item, amount in added]
    return drink.model_copy(update={"lines": tuple(lines), "modifiers": ()})

"""What was used of what is bought, from what sold: parts broken down to items, joint products counted once."""

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal, localcontext
from typing import NamedTuple

from msgspec import Struct

from service.errors import InputFault
from service.money import EXACT, ZERO


class Used(NamedTuple):
    """A quantity of an item or part, in its base: ml, g or each."""

    ref: str
    base: str
    quantity: Decimal


class Part(Struct, frozen=True):
    """A batch of a house-made part: what goes in, and how much of each output comes out of the one batch.

    A part that gives itself alone has one output of its own id; joint products have one each.
    """

    id: str
    outputs: Mapping[str, Decimal]
    lines: tuple[Used, ...]


def bought(uses: Iterable[Used], parts: Mapping[str, Part], order: Sequence[str]) -> dict[tuple[str, str], Decimal]:
    """Quantities of bought items by item and base.

    ``order`` are the parts with each one after what it is made of, as they are made; they are taken apart in the
    reverse. The batches of a part are the largest of use / output over its outputs: peel and juice of the same limes
    are pressed once, and what is left of the other is not used. Reference: arithmetic.
    """
    by_output = {output: part for part in parts.values() for output in part.outputs}
    needed: dict[tuple[str, str], Decimal] = {}
    with localcontext(EXACT):
        for use in uses:
            needed[use.ref, use.base] = needed.get((use.ref, use.base), ZERO) + use.quantity
        for part_id in reversed(order):
            part = parts[part_id]
            batches = ZERO
            for output, made in part.outputs.items():
                wanted = [key for key in needed if key[0] == output]
                if wanted and made <= 0:
                    raise InputFault("yield_zero", "A part yields nothing.", f"/parts/{part_id}")
                for key in wanted:
                    batches = max(batches, needed.pop(key) / made)
            for line in part.lines if batches else ():
                key = line.ref, line.base
                needed[key] = needed.get(key, ZERO) + batches * line.quantity
    left = [ref for ref, _ in needed if ref in by_output]
    if left:
        raise InputFault("parts_out_of_order", "The parts are not in the order in which they are made.")
    return needed

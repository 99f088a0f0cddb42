"""POST /v1/substitute: another item in the place of one, in the amount that keeps what matters as it is."""

from collections.abc import Sequence
from itertools import combinations

from msgspec import Struct

from schemas.drink import Drink
from schemas.solve import SubstituteRequest
from service.errors import InputFault, InputFaults
from service.evaluate import Evaluation
from service.line import ResolvedLine
from service.mixture import Mixture, Part, Substance, mixture
from service.solve.amounts import Equation, solved, whole_of
from service.solve.nearest import nearest
from service.solve.question import Desk, begun, held_figure, known
from service.solve.spec import with_lines, written

FIGURES = ("ethanol", "sugars", "acid", "volume")

HELD_WITHIN = 1e-9
"""How far a held figure may stand from what it was, as a share of it."""


class Column(Struct, frozen=True):
    """One item whose amount is solved: where it stands, its substance, and base units a serve."""

    item: str
    role: str
    substance: Substance
    before: float
    after: float


class Substituted(Struct, frozen=True):
    """A swap; ``before`` and ``after`` are the drink without ice's water, one serve."""

    request: SubstituteRequest
    before: Evaluation
    after: Evaluation
    drink: Drink
    columns: tuple[Column, ...]
    replaced: tuple[Part, ...]
    old: Mixture
    new: Mixture
    unmet: tuple[str, ...]

    @property
    def lost(self) -> Mixture:
        """What went with the replaced item."""
        return mixture(self.replaced)


def substituted(request: SubstituteRequest, desk: Desk) -> Substituted:
    """The swap. Raises ``InputFault`` or ``InputFaults`` with pointers into the request."""
    asked, before = begun(request, desk)
    return _Swap(asked, desk, before).made()


class _Swap:
    """One swap on its way."""

    def __init__(self, asked: SubstituteRequest, desk: Desk, before: Evaluation) -> None:
        self._asked, self._desk, self._before = asked, desk, before
        self._gone = self._lines(asked.item, "/item")
        if any(line.ref == asked.by and line.role == "pour" for line in before.lines):
            raise InputFault("already_poured", "The drink pours this item already; name it in adjust.", "/by")
        named = [(asked.by, "/by"), *((one, f"/helpers/{place}") for place, one in enumerate(asked.helpers))]
        self._made, _ = desk.substances(asked, named)
        if asked.by == asked.drink.id:
            raise InputFault("item_unknown", "A drink is not poured into itself.", "/by")
        for item_id, pointer in named:
            _refuse_foam(self._made[item_id], pointer)
        self._adjusted = {one: self._lines(one, f"/adjust/{place}") for place, one in enumerate(asked.adjust)}
        for name in asked.hold:
            for line in self._gone:
                known(line.substance, name, "/item")
            for item_id, pointer in named:
                known(self._made[item_id], name, pointer)
            for place, rows in enumerate(self._adjusted.values()):
                for line in rows:
                    known(line.substance, name, f"/adjust/{place}")

    def _lines(self, item: str, pointer: str) -> list[ResolvedLine]:
        rows = [line for line in self._before.lines if line.ref == item and line.role == "pour"]
        if not rows:
            poured = ", ".join(dict.fromkeys(line.ref for line in self._before.lines if line.role == "pour"))
            detail = f"No line of role pour has this item; the drink pours: {poured}."
            raise InputFault("item_not_poured", detail, pointer)
        for line in rows:
            _refuse_foam(line.substance, pointer)
        if any(line.part is None for line in rows):
            detail = "The amount of this item is not one of a liquid or a mass: write it by volume or by mass first."
            raise InputFault("item_not_poured", detail, pointer)
        return rows

    def made(self) -> Substituted:
        """The amounts, the drink that they make, and its evaluation."""
        asked, old = self._asked, self._before.build.undiluted
        target = mixture([line.part for rows in (self._gone, *self._adjusted.values()) for line in rows if line.part])
        columns = [self._made[asked.by]]
        extras = [(one, self._made[one], 0.0, "helper") for one in asked.helpers]
        for one, rows in self._adjusted.items():
            extras.append((one, rows[0].substance, sum(line.part.base for line in rows if line.part), "adjust"))
        equations = [self._equation(name, old) for name in asked.hold]
        rest = self._rest()
        start = [max(target.volume_ml, 1.0)]
        chosen, amounts, unmet = self._chosen(rest, columns, extras, equations, start)
        solved_rows = [Column(asked.by, "by", columns[0], 0.0, amounts[0])]
        after = dict(zip(chosen, amounts[1:], strict=True))
        for place, (item, made, before, role) in enumerate(extras):
            solved_rows.append(Column(item, role, made, before, after.get(place, before)))
        drink = self._drink(solved_rows)
        evaluation = self._evaluated(drink)
        replaced = tuple([line.part for line in self._gone if line.part is not None])
        new = evaluation.build.undiluted
        return Substituted(asked, self._before, evaluation, drink, tuple(solved_rows), replaced, old, new, unmet)

    def _equation(self, name: str, old: Mixture) -> Equation:
        wanted = held_figure(old, name)
        return Equation(name, lambda mix: held_figure(mix, name) - wanted, wanted if wanted > 0 else 1.0)

    def _rest(self) -> list[Part]:
        """Everything in the glass but what is solved for, without the water of the ice."""
        moved = {line.number for rows in (self._gone, *self._adjusted.values()) for line in rows}
        parts = []
        for line in self._before.lines:
            if line.number in moved or line.part is None:
                continue
            if line.role in ("pour", "top"):
                parts.append(line.part)
            elif line.role == "rinse" and line.residue_ml and line.part.volume_ml:
                parts.append(Part(line.substance, line.part.base * line.residue_ml / line.part.volume_ml))
        return parts

    def _chosen(
        self,
        rest: list[Part],
        columns: list[Substance],
        extras: Sequence[tuple[str, Substance, float, str]],
        equations: Sequence[Equation],
        start: list[float],
    ) -> tuple[tuple[int, ...], list[float], tuple[str, ...]]:
        """The places of the extras that are used, the amounts of the item and of these, and what is not held."""
        count = len(equations) - 1
        for chosen in combinations(range(len(extras)), min(count, len(extras))):
            if len(chosen) != count:
                break
            found = self._attempt(rest, columns, extras, chosen, equations, start)
            if found is not None and found[0] > 0:
                return chosen, found, ()
        every = tuple(range(len(extras)))
        made = [*columns, *(extras[place][1] for place in every)]
        amounts = nearest(rest, made, equations, [*start, *(extras[place][2] or 1.0 for place in every)])
        mix = whole_of(rest, made, amounts)
        unmet = tuple(one.name for one in equations if abs(one.residual(mix)) > HELD_WITHIN * one.scale)
        return every, amounts, unmet

    def _attempt(
        self,
        rest: list[Part],
        columns: list[Substance],
        extras: Sequence[tuple[str, Substance, float, str]],
        chosen: tuple[int, ...],
        equations: Sequence[Equation],
        start: list[float],
    ) -> list[float] | None:
        unmoved = [
            Part(made, before) for place, (_, made, before, _) in enumerate(extras) if place not in chosen and before
        ]
        made = [*columns, *(extras[place][1] for place in chosen)]
        begin = [*start, *(extras[place][2] or 1.0 for place in chosen)]
        return solved([*rest, *unmoved], made, equations, begin)

    def _drink(self, rows: Sequence[Column]) -> Drink:
        """The drink rewritten: the new item on the first line of the old one, helpers at the end."""
        serves = self._asked.drink.serves
        amounts: dict[int, tuple[str, str | None]] = {line.number: (line.ref, None) for line in self._gone}
        first = self._gone[0].number
        added: list[tuple[str, str]] = []
        for row in rows:
            text = written(row.substance, row.after, serves)
            if row.role == "by":
                amounts[first] = row.item, text
            elif row.role == "helper" and text is not None:
                added.append((row.item, text))
            elif row.role == "adjust" and row.after != row.before:
                for number, line in enumerate(self._adjusted[row.item]):
                    amounts[line.number] = row.item, text if number == 0 else None
        drink = with_lines(self._asked.drink, amounts, added)
        if not drink.lines:
            raise InputFault("nothing_left", "With these amounts nothing is left of the drink.", "/hold")
        if len(drink.lines) > 60:
            raise InputFault("too_many_lines", "With the helpers the drink has more than 60 lines.", "/helpers")
        return drink

    def _evaluated(self, drink: Drink) -> Evaluation:
        try:
            return self._desk.evaluation(self._asked.model_copy(update={"drink": drink}))
        except (InputFault, InputFaults):
            detail = "The drink with these amounts cannot be evaluated; hold other figures, or name other helpers."
            raise InputFault("swap_not_possible", detail, "/by") from None


def _refuse_foam(made: Substance, pointer: str) -> None:
    """How much gas a foam holds is measured of that foam alone, so that no volume of another liquid answers to it."""
    if made.gas_factor > 1.0:
        detail = (
            f"{made.id} is a foam: its volume is mostly gas, and how much gas stays in another one has to be measured. "
            "Swap what it is made of in its own lines, and measure the overrun anew (make-part, kind foam)."
        )
        raise InputFault("foam_not_swapped", detail, pointer)

"""Drinks by bought items as a sparse matrix of whole numbers: every pour cost at once, exact to the last digit shown.

A cost in minor units is ``sum(amount x unit cost)``. Each row's amounts are whole numbers over a denominator of the
row's own, the unit costs whole numbers over one scale. The sums fit in 64 bits by construction. Where a denominator or
the scale would be too large for that, the numbers are rounded, the row's greatest error is known, and a cost that lies
so near to a tie that the error could turn it is worked out in fractions. Nothing is ever a float.

numpy and scipy are loaded where a matrix is made, so that nothing else pays for them.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Any, Final

from service.bulk.rows import Column, Row

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Whole = NDArray[np.int64]

ROW_SCALE: Final = 1_000_000
"""Greatest denominator of a row; amounts that need a larger one are rounded to it."""

ROOM: Final = 2**60
"""What sums stay below, so that twice a sum and a denominator fit in 64 bits."""

LARGEST_SUM: Final = 2**46
"""Minor units times a row's denominator from which a row is worked out in fractions: it would take the scale's room."""

Single = Callable[[int], Decimal | None]
"""The pour cost of a row by the single evaluation, for rows that are not linear in prices."""


class Recost:
    """The pour costs of many drinks, recomputed whole or where a price or a spec has changed."""

    def __init__(self, rows: Sequence[Row], places: int, single: Single | None = None) -> None:
        self._rows = list(rows)
        self._places = places
        self._single = single
        self.columns: list[Column] = []
        self._place_of: dict[Column, int] = {}
        self._units: list[Fraction | None] = []
        self._build()

    def _build(self) -> None:
        pieces = [self._numbers(row) for row in self._rows]
        lengths = [len(piece[0]) for piece in pieces]
        self._take(
            lengths, [one for piece in pieces for one in piece[0]], [one for piece in pieces for one in piece[1]],
            [piece[2] for piece in pieces], [one for piece in pieces for one in piece[3]],
        )  # fmt: skip

    def _numbers(self, row: Row) -> tuple[list[int], list[int], int, list[bool]]:
        """Columns, whole numbers, their denominator and which of them are rounded."""
        denominator = 1
        for amount in row.amounts.values():
            denominator = math.lcm(denominator, amount.denominator)
            if denominator > ROW_SCALE:
                denominator = ROW_SCALE
                break
        columns, numbers, rounded = [], [], []
        for column, amount in row.amounts.items():
            exact = amount * denominator
            columns.append(self._column(column))
            numbers.append(_nearest(exact))
            rounded.append(exact.denominator != 1)
        return columns, numbers, denominator, rounded

    def _column(self, column: Column) -> int:
        place = self._place_of.get(column)
        if place is None:
            place = self._place_of[column] = len(self.columns)
            self.columns.append(column)
        return place

    def _take(
        self, lengths: Sequence[int], columns: Sequence[int], numbers: Sequence[int], denominators: Sequence[int],
        rounded: Sequence[bool],
    ) -> None:  # fmt: skip
        import numpy as np

        ends = np.zeros(len(lengths) + 1, np.int64)
        np.cumsum(np.asarray(lengths, np.int64), out=ends[1:])
        self.matrix = WholeMatrix(
            ends, np.asarray(columns, np.int32), np.asarray(numbers, np.int64), np.asarray(denominators, np.int64),
            np.asarray(rounded, np.bool_), len(self.columns),
        )  # fmt: skip

    def price(self, units: Sequence[Fraction | None]) -> None:
        """Costs all rows by these unit costs, one for each of ``columns``."""
        self._units = list(units)
        self.matrix.price([None if unit is None else unit * 10**self._places for unit in units])

    def reprice(self, units: Mapping[int, Fraction | None]) -> list[int]:
        """Costs the rows that use the columns named anew; these rows."""
        for place, unit in units.items():
            self._units[place] = unit
        scaled = {place: None if unit is None else unit * 10**self._places for place, unit in units.items()}
        if self.matrix.outgrown(scaled):
            self.price(self._units)
        return self.matrix.reprice(scaled)

    def respec(self, rows: Mapping[int, Row], unit_of: Callable[[Column], Fraction | None]) -> None:
        """Puts other rows in the place of some, and costs them; the numbers of the others are kept as they are."""
        before = len(self.columns)
        pieces = {}
        for place, row in rows.items():
            self._rows[place] = row
            pieces[place] = self._numbers(row)
        self._units += [unit_of(column) for column in self.columns[before:]]
        self.matrix = self.matrix.with_rows(pieces, len(self.columns))
        self.price(self._units)

    def cost(self, place: int) -> Decimal | None:
        """The pour cost of a row, half up at the minor unit; ``None`` where it is not known."""
        row = self._rows[place]
        if not row.linear:
            if self._single is None:
                raise ValueError("a row that is not linear in prices needs the single evaluation")
            return self._single(place)
        if not row.known or self.matrix.unknown[place]:
            return None
        units = self._minor_units(place) if self.matrix.doubtful[place] else int(self.matrix.costs[place])
        return Decimal(units).scaleb(-self._places)

    def _minor_units(self, place: int) -> int:
        """The cost in fractions, half up, where whole numbers of 64 bits cannot tell."""
        total = Fraction(0)
        for column, amount in self._rows[place].amounts.items():
            unit = self._units[self._place_of[column]]
            assert unit is not None
            total += amount * unit
        return _nearest(total * 10**self._places)


def _nearest(exact: Fraction) -> int:
    """The nearest whole number, halves up, of what is not below zero."""
    return (2 * exact.numerator + exact.denominator) // (2 * exact.denominator)


class WholeMatrix:
    """The whole numbers: rows over ``denominators``, unit costs over one scale, sums and what they round to.

    ``costs`` are minor units; ``unknown`` rows use a unit cost that is not known; ``doubtful`` ones lie too near to a
    tie for what was rounded on the way.
    """

    def __init__(
        self, ends: Whole, columns: NDArray[np.int32], numbers: Whole, denominators: Whole, rounded: NDArray[np.bool_],
        width: int,
    ) -> None:  # fmt: skip
        import numpy as np
        from scipy import sparse

        height = len(denominators)
        self._rounded = rounded
        self._denominators = denominators
        self._sparse: Any = sparse.csr_array((numbers, columns, ends), shape=(height, width))
        self._slack: Any = None  # Ones where a number is rounded: what their unit costs add to the error.
        if rounded.any():
            slack = sparse.csr_array((rounded.astype(np.int64), columns.copy(), ends.copy()), shape=(height, width))
            slack.eliminate_zeros()
            self._slack = slack
        self._by_column: Any = None
        self._unit_floats: Any = None
        self._far: Any = np.zeros(height, np.bool_)
        self.scale = 1
        self.units: Any = np.zeros(width, np.int64)
        self._unit_rounded: Any = np.zeros(width, np.bool_)
        self._unit_unknown: Any = np.zeros(width, np.bool_)
        self.costs: Any = np.zeros(height, np.int64)
        self.unknown: Any = np.zeros(height, np.bool_)
        self.doubtful: Any = np.zeros(height, np.bool_)

    def price(self, units: Sequence[Fraction | None]) -> None:
        """Sets every unit cost, in minor units, chooses their scale, and costs every row."""
        import numpy as np

        self._choose_scale(units)
        exact = [Fraction(0) if unit is None else unit * self.scale for unit in units]
        self.units = np.asarray([_nearest(one) for one in exact], np.int64)
        self._unit_rounded = np.asarray([one.denominator != 1 for one in exact], np.bool_)
        self._unit_unknown = np.asarray([unit is None for unit in units], np.bool_)
        self.recost()

    def _choose_scale(self, units: Sequence[Fraction | None]) -> None:
        """The largest scale for which no sum outgrows 64 bits; a multiple of all denominators where one fits."""
        import numpy as np

        floats = np.asarray([0.0 if unit is None else float(unit) for unit in units])
        sums = self._sparse @ floats
        self._far = sums > LARGEST_SUM
        peak = float(sums[~self._far].max(initial=0.0))
        # Room for prices that double later; floats are used for this bound alone.
        room = int(ROOM / max(2.5 * peak, float(self._denominators.max(initial=1)), 2.5 * float(floats.max(initial=0))))
        self._unit_floats = floats
        common = 1
        for unit in units:
            common = math.lcm(common, 1 if unit is None else unit.denominator)
            if common > room:
                common = 1
                break
        self.scale = max(1, common * 10 ** max(0, len(str(room // common)) - 1))

    def recost(self) -> None:
        """Costs every row from the unit costs as they are."""
        import numpy as np

        self._sums = self._sparse @ self.units
        self.costs = _half_up(self._sums, self._denominators, self.scale)
        if self._slack is not None or self._unit_rounded.any() or self._far.any():
            self.doubtful = self._doubtful(slice(None))
        elif self.doubtful.any():
            self.doubtful = np.zeros(len(self.costs), np.bool_)
        if self._unit_unknown.any():
            self.unknown = (self._sparse.astype(np.bool_).astype(np.int32) @ self._unit_unknown.astype(np.int32)) > 0
        elif self.unknown.any():
            self.unknown = np.zeros(len(self.costs), np.bool_)

    def _doubtful(self, rows: Any) -> Any:
        """Rows whose greatest error reaches a tie: half of each rounded unit cost's number, and the other way."""
        import numpy as np

        error = np.zeros(len(self.costs), np.int64)
        if self._slack is not None:
            # A rounded number times a rounded unit cost: half of either, and a quarter of one more, taken as one.
            error += self._slack @ self.units + self._slack @ np.ones(len(self.units), np.int64)
        if self._unit_rounded.any():
            error += self._sparse @ self._unit_rounded.astype(np.int64)
        whole = 2 * self._denominators[rows] * self.scale
        error = error[rows]
        rest = 2 * self._sums[rows] + whole // 2 - self.costs[rows] * whole
        near: Any = self._far[rows] | (error > 0) & ((rest < error) | (whole - rest <= error))
        return near

    def reprice(self, units: Mapping[int, Fraction | None]) -> list[int]:
        """Sets some unit costs, in minor units, and costs the rows that use them; these rows."""
        import numpy as np

        if self._by_column is None:
            self._by_column = self._sparse.tocsc()
        touched = []
        for place, unit in units.items():
            exact = Fraction(0) if unit is None else unit * self.scale
            new = _nearest(exact)
            begin, end = self._by_column.indptr[place], self._by_column.indptr[place + 1]
            rows = self._by_column.indices[begin:end]
            if new != self.units[place]:
                self._sums[rows] += self._by_column.data[begin:end] * (new - int(self.units[place]))
                self.units[place] = new
            self._unit_rounded[place] = exact.denominator != 1
            self._unit_unknown[place] = unit is None
            touched.append(rows)
        rows = np.unique(np.concatenate(touched)) if len(touched) > 1 else touched[0]
        self.costs[rows] = _half_up(self._sums[rows], self._denominators[rows], self.scale)
        if self._slack is not None or self._unit_rounded.any() or self.doubtful.any():
            self.doubtful[rows] = self._doubtful(rows)
        if self._unit_unknown.any() or self.unknown.any():
            part = self._sparse[rows]
            self.unknown[rows] = (part.astype(np.bool_).astype(np.int32) @ self._unit_unknown.astype(np.int32)) > 0
        found: list[int] = rows.tolist()
        return found

    def outgrown(self, units: Mapping[int, Fraction | None]) -> bool:
        """Whether a unit cost has grown so much that its sums may need more room than the scale left."""
        return any(
            unit is not None and float(unit) > 2 * self._unit_floats[place] and unit > 0
            for place, unit in units.items()
        )

    def with_rows(self, pieces: Mapping[int, tuple[list[int], list[int], int, list[bool]]], width: int) -> WholeMatrix:
        """A matrix with other rows in the place of some; the numbers of the others are copied, not made again."""
        import numpy as np

        ends, old = self._sparse.indptr.astype(np.int64), self._sparse
        lengths = np.diff(ends)
        denominators = self._denominators.copy()
        parts: tuple[list[Any], list[Any], list[Any]] = ([], [], [])
        begin = 0
        for place in sorted(pieces):
            columns, numbers, denominator, rounded = pieces[place]
            for kept, source, new in zip(
                parts, (old.indices, old.data, self._rounded), (columns, numbers, rounded), strict=True
            ):
                kept += [source[begin : ends[place]], np.asarray(new, source.dtype)]
            begin = ends[place + 1]
            lengths[place], denominators[place] = len(columns), denominator
        for kept, source in zip(parts, (old.indices, old.data, self._rounded), strict=True):
            kept.append(source[begin:])
        new_ends = np.zeros(len(lengths) + 1, np.int64)
        np.cumsum(lengths, out=new_ends[1:])
        new_columns, new_numbers, flags = (np.concatenate(kept) for kept in parts)
        return WholeMatrix(new_ends, new_columns, new_numbers, denominators, flags, width)


def _half_up(sums: Any, denominators: Any, scale: int) -> Any:
    """``sums / (denominators x scale)`` half up."""
    import numpy as np

    whole = denominators * np.int64(scale)
    doubled = sums << 1
    doubled += whole
    whole <<= 1
    doubled //= whole
    return doubled

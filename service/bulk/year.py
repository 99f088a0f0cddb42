"""What drinks cost over a stretch of days: computed on the days on which something changes, told as periods.

Between two change days nothing moves. On a change day only the columns are chosen anew whose offers are others than
before or begin or end to be valid, and only the drinks that use them are costed anew.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple, Protocol

from service.bulk.recost import Recost
from service.bulk.rows import Column, Row, unit_cost
from service.choosing import Offer, Terms
from service.errors import InputFault

DAY = timedelta(days=1)


class State(Protocol):
    """One venue from a day on. A drink without a row has no cost that could be told."""

    @property
    def day(self) -> date: ...
    @property
    def rows(self) -> Mapping[str, Row | None]: ...
    @property
    def offers(self) -> Mapping[str, Sequence[Offer]]: ...
    @property
    def terms(self) -> Terms | None: ...
    @property
    def places(self) -> int: ...
    def single(self, drink: str) -> Decimal | None: ...


class Period(NamedTuple):
    """Days over which a drink costs the same, both inclusive; ``cost`` is of the pour, ``None`` where not known."""

    drink: str
    first: date
    last: date
    currency: str | None
    cost: Decimal | None


def change_days(first: date, last: date, days: Iterable[date | None], after: Iterable[date | None] = ()) -> list[date]:
    """The days within a stretch on which something begins, or the day after it ended (``after``); the first is one.

    >>> days = change_days(date(2026, 1, 1), date(2026, 1, 9), [date(2026, 1, 5), None], [date(2026, 1, 6)])
    >>> [day.day for day in days]
    [1, 5, 7]
    """
    found = {first, *(day for day in days if day is not None)}
    found |= {day + DAY for day in after if day is not None and day < date.max}
    return sorted(day for day in found if first <= day <= last)


@dataclass(slots=True)
class _Chosen:
    """A unit cost with what it was chosen from."""

    offers: Sequence[Offer]
    fruit: Sequence[Offer]
    valid: tuple[object, ...]
    cost: Fraction | None


class History:
    """The costs of one venue's drinks, state by state in the order of their days."""

    def __init__(self) -> None:
        self._drinks: list[str] = []
        self._rows: list[Row | None] = []
        self._recost: Recost | None = None
        self._terms: Terms | None = None
        self._chosen: dict[Column, _Chosen] = {}
        self._open: dict[str, tuple[date, str | None, Decimal | None]] = {}
        self._state: State | None = None

    def end(self, last: date) -> list[Period]:
        """The periods that last to the end of the stretch."""
        return [self._closed(drink, last + DAY) for drink in list(self._open)]

    def _closed(self, drink: str, until: date) -> Period:
        first, currency, cost = self._open.pop(drink)
        return Period(drink, first, until - DAY, currency, cost)

    def step(self, state: State) -> list[Period]:
        """The periods that ended before this state's day."""
        self._state = state
        costs = self._costs(state)
        currency = None if state.terms is None else state.terms.currency
        periods = [self._closed(drink, state.day) for drink in list(self._open) if drink not in state.rows]
        for drink, cost in costs.items():
            known = self._open.get(drink)
            if known is not None and known[1:] == (currency, cost):
                continue
            if known is not None:
                periods.append(self._closed(drink, state.day))
            self._open[drink] = (state.day, currency, cost)
        return periods

    def _costs(self, state: State) -> dict[str, Decimal | None]:
        """The costs that may have moved; all of them where the specs or the terms are others."""
        terms, before = state.terms, self._terms
        self._terms = terms
        if terms is None:
            self._recost = None
            return dict.fromkeys(state.rows)
        held = (terms.currency, terms.choose, terms.rates)
        if before is None or held != (before.currency, before.choose, before.rates):
            self._recost = None
            self._chosen.clear()
        drinks, rows = list(state.rows), list(state.rows.values())
        if self._recost is None or drinks != self._drinks:
            return self._afresh(state, drinks, rows)
        changed = {place: row for place, row in enumerate(rows) if row is not self._rows[place]}
        if any(row is None or self._rows[place] is None for place, row in changed.items()):
            return self._afresh(state, drinks, rows)
        self._rows = rows
        recost, touched = self._recost, set(changed)
        if changed:
            specs = {place: row for place, row in changed.items() if row is not None}
            recost.respec(specs, lambda column: self._unit(column, state))
        columns = {
            place: self._unit(column, state)
            for place, column in enumerate(recost.columns)
            if self._moves(column, state)
        }
        if columns:
            touched |= set(recost.reprice(columns))
        return {self._drinks[place]: self._cost(place) for place in sorted(touched)}

    def _afresh(self, state: State, drinks: list[str], rows: list[Row | None]) -> dict[str, Decimal | None]:
        self._drinks, self._rows = drinks, rows
        none = Row({}, False, True)
        self._recost = Recost([row or none for row in rows], state.places, self._by_hand)
        self._recost.price([self._unit(column, state) for column in self._recost.columns])
        return {drink: self._cost(place) for place, drink in enumerate(drinks)}

    def _cost(self, place: int) -> Decimal | None:
        assert self._recost is not None
        return None if self._rows[place] is None else self._recost.cost(place)

    def _by_hand(self, place: int) -> Decimal | None:
        assert self._state is not None
        return self._state.single(self._drinks[place])

    def _moves(self, column: Column, state: State) -> bool:
        known = self._chosen.get(column)
        if known is None:
            return True
        own, fruit = _offers_of(column, state)
        return own is not known.offers or fruit is not known.fruit or _standing(own, fruit, state) != known.valid

    def _unit(self, column: Column, state: State) -> Fraction | None:
        assert state.terms is not None
        own, fruit = _offers_of(column, state)
        try:
            cost = unit_cost(column, state.offers, state.terms)
        except InputFault:  # An offer that is named and not valid, or a rate that is missing: nothing can be told.
            cost = None
        self._chosen[column] = _Chosen(own, fruit, _standing(own, fruit, state), cost)
        return cost


_NONE: tuple[Offer, ...] = ()


def _offers_of(column: Column, state: State) -> tuple[Sequence[Offer], Sequence[Offer]]:
    fruit = _NONE if column.fruit is None else state.offers.get(column.fruit, _NONE)
    return state.offers.get(column.item, _NONE), fruit


def _standing(own: Sequence[Offer], fruit: Sequence[Offer], state: State) -> tuple[object, ...]:
    """What of the offers hangs on the day: whether each is valid, and the rate that it is converted at."""
    assert state.terms is not None
    terms = state.terms
    standing: list[object] = []
    for offer in (*own, *fruit):
        standing.append(offer.is_valid(terms.day))
        if offer.currency != terms.currency:
            days = [rate.as_of or date.min for rate in terms.rates if (rate.as_of or date.min) <= terms.day]
            standing.append(max(days, default=None))
    return tuple(standing)

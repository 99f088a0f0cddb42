"""Answers of /v1/demo/..."""

from schemas._base import Output


class DemoDrink(Output):
    """One drink of the demo bar."""

    id: str
    """What `/v1/demo/drinks/{drink_id}` takes."""
    name: str
    """As the demo bar has it on its menu; every name is invented."""


class DemoDrinks(Output):
    """The demo bar's drinks."""

    drinks: list[DemoDrink]
    """In the order of the menu."""

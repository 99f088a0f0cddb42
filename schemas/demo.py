"""Answers of /v1/demo/..."""

from schemas._base import Output


class DemoDrink(Output):
    """One drink of the demo bar."""

    id: str
    name: str


class DemoDrinks(Output):
    """The demo bar's drinks."""

    drinks: list[DemoDrink]

"""GET /v1/physics/...: parameters of the bare formulas and their answer."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from schemas._base import Output, Query
from schemas.scalars import Celsius, NotNegative, Percent


class Reading(Output):
    """One figure of a formula."""

    value: float
    """To two decimals, a dilution to four."""
    unit: str
    """Such as kg/m3, % vol or C."""
    in_range: bool
    """Whether the formula's source supports the figure."""
    source: str
    """Where the formula comes from."""
    note: str
    """What to know before relying on it; empty where there is nothing."""


class _OneStrength(Query):
    abv_percent: Percent | None = None
    """% vol at 20 C."""
    mass_percent: Percent | None = None
    """Ethanol by mass, in ethanol and water."""

    @model_validator(mode="after")
    def one_of_two(self) -> Self:
        """Strength by volume or by mass."""
        if (self.abv_percent is None) == (self.mass_percent is None):
            raise PydanticCustomError("strength_one_of", "Give exactly one of abv_percent and mass_percent.")
        return self


class EthanolDensityQuery(_OneStrength):
    """Strength and temperature of ethanol in water."""

    t_c: Annotated[Celsius, Field(ge=-20, le=40)] = 20.0
    """Temperature in C, -20 to 40."""


class SucroseDensityQuery(Query):
    """Strength and temperature of sucrose in water."""

    brix: Annotated[Percent, Field(le=85)]
    """Sucrose by mass in %, 0 to 85."""
    t_c: Annotated[Celsius, Field(ge=0, le=80)] = 20.0
    """Temperature in C, 0 to 80."""


class ProofQuery(Query):
    """US proof to % vol at 60 F, or back."""

    us_proof: Annotated[NotNegative | None, Field(le=200)] = None
    """US proof at 60 F, 0 to 200; one of the two is given."""
    abv_percent: Percent | None = None
    """% vol at 60 F."""

    @model_validator(mode="after")
    def one_of_two(self) -> Self:
        """One way or the other."""
        if (self.us_proof is None) == (self.abv_percent is None):
            raise PydanticCustomError("proof_one_of", "Give exactly one of us_proof and abv_percent.")
        return self


class FreezingPointQuery(_OneStrength):
    """Strength and sugar of a drink."""

    sugars_g_per_100_ml: Annotated[NotNegative, Field(le=200)] = 0.0
    """Sugars in 100 ml of the drink; with mass_percent, in 100 ml of ethanol and water and sugar together."""


class DilutionQuery(Query):
    """Method and strength before ice."""

    method: Literal["stirred", "shaken"]
    """The two methods that have a published model."""
    abv_percent: Percent
    """% vol before ice."""

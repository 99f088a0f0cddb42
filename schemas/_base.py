"""The bases of the contract: what comes in is strict and frozen, what goes out has every key.

A model is built where it is first needed, since a service that starts needs few of them. What its fields mean is read
out of the source by :mod:`schemas.described`, for the document of the contract alone: a start does not wait for it.
"""

from pydantic import BaseModel, ConfigDict


class Input(BaseModel):
    """Something a caller sends: unknown fields are refused, values are frozen."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False, defer_build=True)


class Query(Input):
    """Parameters of an address, which the framework builds at a start in any case."""

    model_config = ConfigDict(defer_build=False)


class Output(BaseModel):
    """Something the service answers: a field without a default is always there; ``null`` means unknown."""

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)

"""The two bases of the contract: what comes in is strict and frozen, what goes out has every key."""

from pydantic import BaseModel, ConfigDict


class Input(BaseModel):
    """Something a caller sends: unknown fields are refused, values are frozen."""

    model_config = ConfigDict(extra="forbid", frozen=True, use_attribute_docstrings=True, allow_inf_nan=False)


class Output(BaseModel):
    """Something the service answers: a field without a default is always there; ``null`` means unknown."""

    model_config = ConfigDict(extra="forbid", frozen=True, use_attribute_docstrings=True)

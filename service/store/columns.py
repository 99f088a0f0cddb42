"""Column types that keep the same value on SQLite and on PostgreSQL."""

from decimal import Decimal
from typing import Any

from sqlalchemy import Dialect, Numeric, String
from sqlalchemy.types import TypeDecorator, TypeEngine


class Exact(TypeDecorator[Decimal]):
    """An exact decimal: NUMERIC where the database has one, text where its numbers are binary floats (SQLite)."""

    impl = String(40)
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        """NUMERIC of 27 digits with 12 after the point, or text."""
        if dialect.name == "sqlite":
            return dialect.type_descriptor(String(40))
        return dialect.type_descriptor(Numeric(27, 12))

    def process_bind_param(self, value: Decimal | None, dialect: Dialect) -> Any:
        """Plain digits for text, the decimal itself for NUMERIC."""
        if value is None or dialect.name != "sqlite":
            return value
        return format(value, "f")

    def process_result_value(self, value: Any, dialect: Dialect) -> Decimal | None:
        """The decimal; trailing zeros that NUMERIC pads are taken off, so that both stores answer the same text."""
        if value is None:
            return None
        found = value if isinstance(value, Decimal) else Decimal(value)
        if dialect.name == "sqlite" or found.is_zero():
            return found if not found.is_zero() else Decimal(0)
        plain = found.normalize()
        return plain.quantize(Decimal(1)) if plain == plain.to_integral_value() else plain

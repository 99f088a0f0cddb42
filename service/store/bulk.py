"""Many rows at once: into one table as the database's driver takes them, and out of it by many ids."""

import json
from collections.abc import Sequence

from sqlalchemy import ARRAY, ColumnElement, Connection, String, Table, cast, func, insert, select


def insert_rows(
    connection: Connection, table: Table, columns: Sequence[str], rows: Sequence[tuple[object, ...]]
) -> None:
    """Inserts rows whose values stand in the order of ``columns``.

    For a driver that takes values by their place, each row is handed on as it is: a mapping for each of some hundred
    thousand rows costs more than writing them.
    """
    compiled = insert(table).compile(dialect=connection.dialect, column_keys=list(columns))
    if not compiled.positional or compiled.positiontup != list(columns):
        connection.execute(insert(table), [dict(zip(columns, row, strict=True)) for row in rows])
        return
    types = [table.c[name].type.dialect_impl(connection.dialect) for name in columns]
    made = [(place, make) for place, one in enumerate(types) if (make := one.bind_processor(connection.dialect))]
    if made:
        rows = [_bound(row, made) for row in rows]
    connection.exec_driver_sql(str(compiled), list(rows))


def _bound(row: tuple[object, ...], made: Sequence[tuple[int, object]]) -> tuple[object, ...]:
    values = list(row)
    for place, make in made:
        values[place] = make(values[place])  # type: ignore[operator]  # a processor of one value
    return tuple(values)


def one_of(connection: Connection, column: ColumnElement[str], values: Sequence[str]) -> ColumnElement[bool]:
    """Whether a column has one of many values.

    They are handed on as one value: a list of a thousand is a statement of its own length, and PostgreSQL compares each
    row with each value of it once it has kept a plan.
    """
    if connection.dialect.name == "sqlite":
        return column.in_(select(func.json_each(json.dumps(list(values))).table_valued("value").c.value))
    return column.in_(select(func.unnest(cast(list(values), ARRAY(String)))))

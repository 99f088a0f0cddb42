"""Names by day: what is called something now keeps its name until the day on which it is to change."""

import json
from typing import Any

import sqlalchemy as sa
from alembic import op

from service.store.kinds import KINDS, name_key

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

ID = sa.String(64).with_variant(sa.String(64, collation="C"), "postgresql")


def upgrade() -> None:
    """Creates the table of names, with those of today and of later days."""
    op.create_table(
        "names",
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("value", sa.String(length=600), nullable=False),
        sa.Column("id", ID, nullable=False),
        sa.PrimaryKeyConstraint("kind", "value", name=op.f("pk_names")),
    )
    op.create_index(op.f("ix_names_kind_id"), "names", ["kind", "id"], unique=False)
    connection = op.get_bind()
    connection.execute(
        sa.text("INSERT INTO names (kind, value, id) SELECT kind, name_key, id FROM entries WHERE name_key IS NOT NULL")
    )
    _keep_until_their_day(connection)


def _keep_until_their_day(connection: sa.Connection) -> None:
    """What of a planned change was taken at once: the names, ids of tills and uses that hold until its day."""
    today = str(connection.execute(sa.text("SELECT MAX(recorded_at) FROM revisions")).scalar() or "")[:10]
    planned = sa.text("SELECT DISTINCT kind, id FROM revisions WHERE valid_from > :today ORDER BY kind, id")
    for kind, entry_id in connection.execute(planned, {"today": today}).all():
        for body in _standing(connection, kind, entry_id, today):
            if KINDS[kind].unique_name:
                _keep(connection, "names", {"kind": kind, "value": name_key(body["name"])}, {"id": entry_id})
            for value in body.get("external_ids", ()):
                _keep(connection, "external_ids", {"kind": kind, "value": value}, {"id": entry_id})
            for used_kind, used_id, _ in KINDS[kind].uses(body):
                use = {"kind": kind, "id": entry_id, "used_kind": used_kind, "used_id": used_id}
                _keep(connection, "uses", use, {})


def _standing(connection: sa.Connection, kind: str, entry_id: str, today: str) -> list[dict[str, Any]]:
    """What an entry says today and on later days; by the columns of this schema, whatever tables come to hold later."""
    written = sa.text("SELECT valid_from, state, body FROM revisions WHERE kind = :kind AND id = :id ORDER BY revision")
    held: dict[str, str] = {}
    for day, state, body in connection.execute(written, {"kind": kind, "id": entry_id}).all():
        if state == "gone":
            held = {one: text for one, text in held.items() if one < day}
        else:
            held[day] = body
    begun = max((day for day in held if day <= today), default=today)
    return [json.loads(text) for day, text in held.items() if day >= begun]


def _keep(connection: sa.Connection, name: str, key: dict[str, str], rest: dict[str, str]) -> None:
    """Adds a row unless there is one; who has a name or an id already keeps it."""
    table = sa.table(name, *(sa.column(column) for column in (*key, *rest)))
    same = sa.and_(*(table.c[column] == value for column, value in key.items()))
    if connection.execute(sa.select(sa.literal(1)).select_from(table).where(same)).first() is None:
        connection.execute(sa.insert(table).values(**key, **rest))

"""Which revisions hold on a day, as known at a version."""

from typing import Any

from sqlalchemy import ColumnElement, Select, and_, exists, func, select

from service.store.tables import REVISIONS


def holding_on(day: str, version: int, *where: ColumnElement[bool]) -> Select[Any]:
    """The revision of each entry that is valid on a day as known at a version, deletions among them; ``where`` says of
    which entries."""
    by = (REVISIONS.c.kind, REVISIONS.c.id)
    latest = (REVISIONS.c.valid_from.desc(), REVISIONS.c.revision.desc())
    place = func.row_number().over(partition_by=by, order_by=latest).label("place")
    known = (REVISIONS.c.version <= version, REVISIONS.c.valid_from <= day, ~ended(version))
    ranks = select(*by, REVISIONS.c.revision, place).where(*known, *where).subquery()
    # The bodies are fetched for what holds alone: ranking would carry those of all that ever held with it.
    found = and_(*(REVISIONS.c[name] == ranks.c[name] for name in ("kind", "id", "revision")))
    return select(REVISIONS).join(ranks, found).where(ranks.c.place == 1)


def ended(version: int) -> ColumnElement[bool]:
    """Whether a later deletion, from that day or an earlier one on, ended a revision."""
    gone = REVISIONS.alias("gone")
    return exists().where(
        gone.c.kind == REVISIONS.c.kind,
        gone.c.id == REVISIONS.c.id,
        gone.c.state == "gone",
        gone.c.version <= version,
        gone.c.revision > REVISIONS.c.revision,
        gone.c.valid_from <= REVISIONS.c.valid_from,
    )

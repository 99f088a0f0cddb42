"""The feeds of what changed: which drinks a committed change can have moved, in the order of the versions."""

from datetime import UTC, datetime
from typing import NamedTuple

from sqlalchemy import Connection, insert, or_, select, update
from sqlalchemy.sql import and_

from service.store.tables import CHANGES, ENTRIES, STATE, VERSIONS


class Change(NamedTuple):
    """One drink that a change can have moved: why (price, spec, rules), since which day, at which version."""

    position: int
    drink: str
    why: str
    since: str
    recorded_at: str
    version: int


def changes_from(
    connection: Connection, feed: str, position: int, drink: str, since: str | None, limit: int
) -> list[Change]:
    """The next changes of a feed (``costs`` or ``labels``) after a place in it.

    ``since``: the place is one of the days of its drink, whose change comes first, since it may have more of them.
    """
    later = CHANGES.c.drink > drink if since is None else CHANGES.c.drink >= drink
    after = or_(CHANGES.c.position > position, and_(CHANGES.c.position == position, later))
    query = (
        select(
            CHANGES.c.position,
            CHANGES.c.drink,
            CHANGES.c.why,
            CHANGES.c.since,
            CHANGES.c.recorded_at,
            CHANGES.c.version,
        )
        .where(CHANGES.c.feed == feed, after)
        .order_by(CHANGES.c.position, CHANGES.c.drink)
        .limit(limit)
    )
    return [Change(*row) for row in connection.execute(query)]


def announce_rules(connection: Connection, rules_version: str, reference_version: str) -> None:
    """A new version for every drink, since the rules or the embedded items are others than before."""
    now = datetime.now(UTC)
    state = connection.execute(select(STATE)).one()
    cost, data = state.cost_version + 1, state.data_version + 1
    drinks = list(connection.execute(select(ENTRIES.c.id).where(ENTRIES.c.kind == "drinks")).scalars())
    rows = [
        {"feed": feed, "position": position, "drink": drink, "why": "rules", "since": now.date().isoformat(),
         "recorded_at": now.isoformat(timespec="microseconds"), "version": cost}
        for feed, position in (("costs", cost), ("labels", data))
        for drink in drinks
    ]  # fmt: skip
    if rows:
        connection.execute(insert(CHANGES), rows)
    at = now.isoformat(timespec="microseconds")
    connection.execute(insert(VERSIONS).values(version=cost, data_version=data, recorded_at=at))
    connection.execute(
        update(STATE).values(
            cost_version=cost, data_version=data, rules_version=rules_version, reference_version=reference_version
        )
    )

"""How much of its quota a key has used in a window, over all workers.

A worker takes a lease of several requests at once, so that a request seldom writes. The sum of leases never passes the
quota; what a worker took and did not use is lost at the end of the window.
"""

from sqlalchemy import Connection, and_, delete, insert, select, update

from service.store.tables import QUOTAS


def leased(connection: Connection, key_id: str, measure: str, window_start: int, wanted: int, quota: int) -> int:
    """How much of ``wanted`` could be taken from what is left of the quota in this window."""
    here = and_(QUOTAS.c.key_id == key_id, QUOTAS.c.measure == measure, QUOTAS.c.window_start == window_start)
    taken = connection.execute(select(QUOTAS.c.leased).where(here)).scalar_one_or_none()
    given = max(0, min(wanted, quota - (taken or 0)))
    if taken is None:
        gone = and_(QUOTAS.c.key_id == key_id, QUOTAS.c.measure == measure, QUOTAS.c.window_start < window_start)
        connection.execute(delete(QUOTAS).where(gone))
        connection.execute(
            insert(QUOTAS).values(key_id=key_id, measure=measure, window_start=window_start, leased=given)
        )
    elif given:
        connection.execute(update(QUOTAS).where(here).values(leased=taken + given))
    return given

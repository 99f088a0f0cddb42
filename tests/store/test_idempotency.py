"""Answers kept by key, route and Idempotency-Key, for at least a day."""

from datetime import UTC, datetime, timedelta

import time_machine

from service.store.idempotency import Answered, answered, keep
from service.store.store import Store

GIVEN = Answered("a" * 64, 201, {"etag": '"x"'}, "Caf\u00e9")


def test_an_answer_is_kept_for_its_caller_and_route_alone(store: Store) -> None:
    with store.writing() as connection:
        keep(connection, "key", "create drinks", "once", GIVEN)
    with store.reading() as connection:
        assert answered(connection, "key", "create drinks", "once") == GIVEN
        for other in (("yek", "create drinks", "once"), ("key", "create menus", "once"), ("key", "create drinks", "1")):
            assert answered(connection, *other) is None


def test_an_answer_is_there_for_a_day_and_gone_after_the_next_one_is_kept(store: Store) -> None:
    begun = datetime(2026, 11, 25, 12, tzinfo=UTC)
    for later, there in ((timedelta(0), True), (timedelta(hours=24), True), (timedelta(hours=24, seconds=1), False)):
        with time_machine.travel(begun + later, tick=False), store.writing() as connection:
            if not later:
                keep(connection, "key", "create drinks", "once", GIVEN)
            else:
                keep(connection, "key", "create drinks", later.total_seconds().hex(), GIVEN)
            assert (answered(connection, "key", "create drinks", "once") is not None) is there

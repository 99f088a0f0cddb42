"""Leases of a quota never come to more than the quota (arithmetic)."""

import random
import threading

from service.store.quotas import leased
from service.store.store import Store


def _lease(store: Store, wanted: int, window: int = 1, key: str = "k") -> int:
    with store.writing() as connection:
        return leased(connection, key, "requests", window, wanted, 100)


def test_leases_end_at_the_quota(store: Store) -> None:
    assert [_lease(store, 40) for _ in range(4)] == [40, 40, 20, 0]
    assert _lease(store, 40, key="other") == 40
    assert _lease(store, 40, window=2) == 40
    assert _lease(store, 100, window=2) == 60


def test_several_workers_together_get_the_quota_and_no_more(store: Store) -> None:
    given: list[int] = []

    def worker(seed: int) -> None:
        chance = random.Random(seed)
        for _ in range(12):
            given.append(_lease(store, chance.randrange(1, 9)))

    threads = [threading.Thread(target=worker, args=(seed,)) for seed in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(given) == 48
    assert sum(given) == 100

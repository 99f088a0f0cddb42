"""Offers on their way to the store come out as they went in, from memory and from disk."""

from service.suppliers.judging import Writing
from service.suppliers.spool import Spool


def test_offers_come_back_in_their_order_each_time() -> None:
    writings = [
        Writing(
            row, None if row % 3 else f"held-{row}", {"id": f"offer-{row}", "name": "Ü" * 900, "pack": {"count": 6}}
        )
        for row in range(1, 1202)
    ]  # 1,201 offers of some 2 kB each: three batches, of which the last is short, and more than 1 MiB
    spool = Spool()
    try:
        for one in writings:
            spool.add(one)
        expected = [(one.changes, one.offer) for one in writings]
        assert list(spool) == expected
        assert list(spool) == expected
    finally:
        spool.close()


def test_a_list_without_offers_gives_none() -> None:
    spool = Spool()
    assert list(spool) == []
    spool.close()

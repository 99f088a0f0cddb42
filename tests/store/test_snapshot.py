"""As of a day, as known at a version: held against a reading of the whole list of writes, made here by brute force."""

import random
from datetime import UTC, date, datetime, timedelta
from typing import Any, NamedTuple

from service.store.course import Course, planned
from service.store.kinds import KINDS
from service.store.snapshot import Snapshots
from service.store.store import Store
from tests.store.written import drink, held, ingredient, offer, put, remove, set_state

FIRST = date(2026, 11, 1)
DAYS = 30


class Write(NamedTuple):
    """One write as it was asked for."""

    version: int
    day: str
    name: str | None  # None: deleted


def _expected(writes: list[Write], version: int, day: str) -> str | None:
    """The last write known that holds on the day: a later day outranks, then a later write; a deletion ends what is
    on its day and after."""
    left: list[Write] = []
    for write in writes:
        if write.version > version:
            break
        if write.name is None:
            left = [one for one in left if one.day < write.day]
        left.append(write)
    holding = [(write.day, place, write) for place, write in enumerate(left) if write.day <= day]
    return max(holding)[2].name if holding else None


def test_as_of_and_version_are_a_bitemporal_reading(store: Store) -> None:
    chance = random.Random(20261125)
    ids = [f"item-{number}" for number in range(4)]
    writes: dict[str, list[Write]] = {one: [] for one in ids}
    there: set[str] = set()
    for step in range(60):
        now = datetime(2026, 11, 1, 12, tzinfo=UTC) + timedelta(days=step // 4)
        today = now.date().isoformat()
        one = chance.choice(ids)
        if one in there and chance.random() < 0.2:
            version = remove(store, "ingredients", one, now)
            writes[one].append(Write(version, today, None))
            there.discard(one)
            continue
        day = FIRST + timedelta(days=chance.randrange(DAYS))
        made = put(store, "ingredients", ingredient(one, name=f"{one} {step}"), day, now)
        writes[one].append(Write(made.version, made.valid_from, f"{one} {step}"))
        there.add(one)
    compared = present = 0
    for version in range(0, store.versions().cost + 1, 3):
        for ahead in range(-1, DAYS + 2, 4):
            day = FIRST + timedelta(days=ahead)
            snapshot = Snapshots(store).at(version, day)
            for one in ids:
                found = snapshot.held("ingredients", one)
                said = None if found is None else snapshot.body("ingredients", one)["name"]
                assert said == _expected(writes[one], version, day.isoformat()), (version, day, one)
                compared += 1
                present += said is not None
        _walked(store, version)
    assert compared > 500
    assert compared // 4 < present < compared


def _walked(store: Store, version: int) -> None:
    """The states of a stretch of days, and of all later days, are those of each day read alone."""
    snapshots = Snapshots(store)
    first, last = FIRST + timedelta(days=9), FIRST + timedelta(days=DAYS)
    walked = {state.day: state for state in snapshots.through(version, first, last)}
    with store.reading() as connection:
        later = planned(connection, first.isoformat(), store.versions().cost).after(first.isoformat(), version)
    course = Course(snapshots.at(version, first), later)
    for ahead in range(0, (last - first).days, 3):
        day = first + timedelta(days=ahead)
        alone = snapshots.at(version, day).rows
        assert course.at(day.isoformat()).rows == alone
        assert walked[max(one for one in walked if one <= day.isoformat())].rows == alone


def test_the_next_snapshot_is_as_one_made_anew(store: Store) -> None:
    chance = random.Random(7)
    put(store, "suppliers", {"id": "quay", "name": "Quay"})
    day = date(2026, 11, 25)
    running = Snapshots(store)
    for step in range(40):
        one = f"item-{chance.randrange(6)}"
        known = held(store, "offers", one)
        if known is not None and chance.random() < 0.3:
            remove(store, "offers", one)
        elif known is not None and chance.random() < 0.3:
            set_state(store, "offers", one, "archived" if known.state == "live" else "live")
        else:
            put(store, "offers", offer(one, "water", f"{step + 1}.00"), chance.choice([None, date(2026, 11, 20)]))
        version = store.versions().cost
        assert _read(running.at(version, day)) == _read(Snapshots(store).at(version, day))


def _read(snapshot: Any) -> dict[str, Any]:
    return {
        kind: {key: (row.revision, row.state, row.text) for key, row in snapshot.rows[kind].items()} for kind in KINDS
    }


def test_a_price_of_a_day_to_come_ends_with_its_offer(store: Store) -> None:
    put(store, "suppliers", {"id": "quay", "name": "Quay"})
    put(store, "offers", offer("o", "water", "1.00"))
    put(store, "offers", offer("o", "water", "2.00"), date(2027, 1, 1))
    set_state(store, "offers", "o", "archived")
    for day, amount in ((date(2026, 11, 25), "1.00"), (date(2027, 1, 1), "2.00")):
        found = Snapshots(store).at(store.versions().cost, day)
        assert found.rows["offers"]["o"].state == "archived"
        assert found.body("offers", "o")["price"]["amount"] == amount
    set_state(store, "offers", "o", "live")
    assert Snapshots(store).at(store.versions().cost, date(2027, 1, 1)).rows["offers"]["o"].state == "live"
    remove(store, "offers", "o")
    for day in (date(2026, 11, 25), date(2027, 1, 1)):
        assert Snapshots(store).at(store.versions().cost, day).held("offers", "o") is None
    assert Snapshots(store).at(store.versions().cost, date(2026, 11, 24)).held("offers", "o") is not None


def test_an_offer_that_comes_back_is_there(store: Store) -> None:
    put(store, "suppliers", {"id": "quay", "name": "Quay"})
    put(store, "offers", offer("o", "water", valid_from="2026-09-01"))
    remove(store, "offers", "o")
    put(store, "offers", offer("o", "water", "3.00", valid_from="2026-09-01"))
    found = Snapshots(store).at(store.versions().cost, date(2026, 11, 25))
    assert found.body("offers", "o")["price"]["amount"] == "3.00"


def test_each_data_version_has_its_first_cost_version(store: Store) -> None:
    put(store, "suppliers", {"id": "quay", "name": "Quay"})
    put(store, "drinks", drink("a", ["water"]))
    put(store, "offers", offer("o", "water"))
    put(store, "drinks", drink("b", ["water"]))
    snapshots = Snapshots(store)
    assert [snapshots.version_of_data(number) for number in (0, 1, 2, 3)] == [0, 2, 4, None]
    assert [snapshots.at(number, date(2026, 11, 25)).data_version for number in (0, 1, 2, 3, 4)] == [0, 0, 1, 1, 2]

"""Keys: what is kept of them, how long they work. 128 bits and a plain digest by ASVS 5, 6.5.2 (lookup secrets)."""

import base64
import hashlib
import hmac
from datetime import UTC, date, datetime

import pytest

from service.errors import NotFound
from service.store import keys
from service.store.store import Store
from service.store.tables import METADATA


def test_a_key_holds_256_random_bits_and_no_two_are_alike(store: Store) -> None:
    texts = set()
    with store.writing() as connection:
        for number in range(50):
            _, text = keys.new_key(connection, f"till {number}", ("costs:read",), None, None)
            parts = keys.parts_of(text)
            assert parts is not None
            assert len(base64.urlsafe_b64decode(parts[1] + "=")) == 32
            texts.add(parts[1])
    assert len(texts) == 50


def test_only_a_digest_is_kept(store: Store) -> None:
    with store.writing() as connection:
        key, text = keys.new_key(connection, "till", ("costs:read",), None, None)
    _, _, secret = text.split("_", 2)
    with store.reading() as connection:
        dump = "".join(str(row) for table in METADATA.sorted_tables for row in connection.execute(table.select()))
    assert secret not in dump
    assert hashlib.sha256(secret.encode()).hexdigest() in dump
    assert text not in dump
    path = store.engine.url.database
    if store.embedded and path is not None:
        for suffix in ("", "-wal"):
            with open(path + suffix, "rb") as file:
                assert secret.encode() not in file.read()
    assert key.digest == hashlib.sha256(secret.encode()).hexdigest()


def test_a_key_is_found_by_its_prefix_and_fits_its_secret_alone(store: Store) -> None:
    with store.writing() as connection:
        key, text = keys.new_key(connection, "till", ("labels:read", "costs:read"), None, None)
    parts = keys.parts_of(text)
    assert parts is not None
    with store.reading() as connection:
        found = keys.key_of_prefix(connection, parts[0])
        assert keys.key_of_prefix(connection, "0" * 12) is None
        assert keys.key_of_id(connection, key.id) == found
        with pytest.raises(NotFound):
            keys.key_of_id(connection, "none")
        with pytest.raises(NotFound):
            keys.key_of_id(connection, "nul\x00")
    assert found is not None
    assert found.scopes == {"labels:read", "costs:read"}
    assert keys.fits(found, parts[1])
    assert not keys.fits(found, parts[1][:-1] + ("A" if parts[1][-1] != "A" else "B"))
    assert not keys.fits(found, parts[1].swapcase())
    assert not keys.fits(None, parts[1])


@pytest.mark.parametrize("change", [
    lambda text: "", lambda text: text[:-1], lambda text: text + " ", lambda text: " " + text, lambda text: text + "\n",
    lambda text: text + "x", lambda text: text.upper(), lambda text: text * 160,
    lambda text: text.replace("wl_", "WL_"),
])  # fmt: skip
def test_what_is_no_key_has_no_parts(change: object) -> None:
    text = "wl_0123456789ab_" + "A" * 43
    assert keys.parts_of(text) == ("0123456789ab", "A" * 43)
    assert callable(change)
    assert keys.parts_of(change(text)) is None


def test_a_key_works_through_its_last_day_in_utc(store: Store) -> None:
    with store.writing() as connection:
        key, _ = keys.new_key(connection, "till", ("costs:read",), None, date(2026, 12, 31))
    for moment, works in (
        (datetime(2026, 12, 31, 23, 59, 59, 999999, tzinfo=UTC), True),
        (datetime(2027, 1, 1, tzinfo=UTC), False),
    ):
        assert key.works_at(moment.isoformat(timespec="microseconds")) is works


def test_a_revoked_key_stays_in_the_list_and_every_change_is_announced(store: Store) -> None:
    with store.writing() as connection:
        key, _ = keys.new_key(connection, "till", ("costs:read",), None, None)
    assert store.versions().keys == 1
    for _ in range(2):  # the second time changes nothing
        with store.writing() as connection:
            ended = keys.revoke(connection, key.id)
        assert ended.revoked_at is not None
        assert not ended.works_at("0001-01-01")
    assert store.versions().keys == 2
    with store.writing() as connection:
        keys.mark_used(connection, {key.id: "2026-11-25T00:00:00"})
    assert store.versions().keys == 2
    with store.reading() as connection:
        assert [one.last_used_at for one in keys.all_keys(connection)] == ["2026-11-25T00:00:00"]


def test_secrets_are_compared_in_constant_time_and_as_often_for_a_prefix_that_nobody_has(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    compared: list[tuple[int, int]] = []
    original = hmac.compare_digest

    def counted(one: str, other: str) -> bool:
        compared.append((len(one), len(other)))
        return original(one, other)

    monkeypatch.setattr(hmac, "compare_digest", counted)
    with store.writing() as connection:
        key, text = keys.new_key(connection, "till", ("costs:read",), None, None)
    secret = text.split("_", 2)[2]
    assert [keys.fits(key, secret), keys.fits(key, "A" * 43), keys.fits(None, secret)] == [True, False, False]
    assert compared == [(64, 64)] * 3  # hexadecimal digits of SHA-256

"""Keys: shown once, kept as a digest, found by their public prefix, compared in constant time, revoked at once.

A secret of 256 random bits needs no slow hash: nobody can try them all.
"""

import hashlib
import hmac
import re
import secrets
import uuid
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Final

from sqlalchemy import Connection, Row, insert, or_, select, update

from service.errors import NotFound
from service.store.kinds import is_id
from service.store.tables import KEYS, STATE

SCOPES: Final = ("costs:read", "labels:read", "margins:read", "catalogue:write", "keys:admin")
"""Everything a key may be allowed."""

NO_KEY: Final = "There is no key of this id."
PAST: Final = "This day is past; a key works up to and including it (UTC)."

_KEY: Final = re.compile(r"wl_([0-9a-f]{12})_([A-Za-z0-9_-]{43})\Z", re.ASCII)
_NO_DIGEST: Final = hashlib.sha256(b"no key").hexdigest()


@dataclass(frozen=True, slots=True)
class Key:
    """A key without its secret."""

    id: str
    prefix: str
    name: str
    scopes: frozenset[str]
    venue: str | None
    created_at: str
    expires_at: str | None
    revoked_at: str | None
    last_used_at: str | None
    digest: str

    def works_at(self, now: str) -> bool:
        """Whether it is neither revoked nor past its end at a moment written in UTC."""
        return self.revoked_at is None and (self.expires_at is None or now < self.expires_at)


def new_key(
    connection: Connection, name: str, scopes: tuple[str, ...], venue: str | None, expires_on: date | None,
    secret: str | None = None, prefix: str | None = None, key_id: str | None = None,
) -> tuple[Key, str]:  # fmt: skip
    """Makes a key; the second value is its text, which is not kept anywhere."""
    prefix = prefix or secrets.token_hex(6)
    secret = secret or secrets.token_urlsafe(32)
    now = _now()
    end = None if expires_on is None else datetime(expires_on.year, expires_on.month, expires_on.day, tzinfo=UTC)
    expires_at = None if end is None else (end + timedelta(days=1)).isoformat(timespec="microseconds")
    made = Key(
        key_id or uuid.uuid4().hex, prefix, name, frozenset(scopes), venue, now, expires_at, None, None, _digest(secret)
    )  # fmt: skip
    connection.execute(
        insert(KEYS).values(
            id=made.id, prefix=prefix, name=name, digest=made.digest, scopes=" ".join(sorted(made.scopes)),
            venue=venue, created_at=now, expires_at=expires_at,
        )
    )  # fmt: skip
    _announce(connection)
    return made, f"wl_{prefix}_{secret}"


def revoke(connection: Connection, key_id: str) -> Key:
    """Ends a key at once. Raises :class:`NotFound`."""
    key = key_of_id(connection, key_id)
    if key.revoked_at is None:
        connection.execute(update(KEYS).where(KEYS.c.id == key_id).values(revoked_at=_now()))
        _announce(connection)
    return key_of_id(connection, key_id)


def key_of_id(connection: Connection, key_id: str) -> Key:
    """One key. Raises :class:`NotFound`."""
    row = connection.execute(select(KEYS).where(KEYS.c.id == key_id)).first() if is_id(key_id) else None
    if row is None:
        raise NotFound(NO_KEY)
    return _key(row)


def all_keys(connection: Connection) -> list[Key]:
    """Every key, the ended ones too, in the order of their ids."""
    return [_key(row) for row in connection.execute(select(KEYS).order_by(KEYS.c.id))]


def parts_of(text: str) -> tuple[str, str] | None:
    """Prefix and secret of a key's text; ``None`` for what is no key."""
    found = _KEY.match(text) if len(text) <= 64 else None
    return None if found is None else (found[1], found[2])


def key_of_prefix(connection: Connection, prefix: str) -> Key | None:
    """The key with that public prefix."""
    row = connection.execute(select(KEYS).where(KEYS.c.prefix == prefix)).first()
    return None if row is None else _key(row)


def fits(key: Key | None, secret: str) -> bool:
    """Whether a secret is a key's, compared in constant time; as long where there is no such key."""
    held = _NO_DIGEST if key is None else key.digest
    return hmac.compare_digest(_digest(secret), held) and key is not None


def mark_used(connection: Connection, used: dict[str, str]) -> None:
    """Notes when keys were last used."""
    for key_id, at in used.items():
        earlier = or_(KEYS.c.last_used_at.is_(None), KEYS.c.last_used_at < at)  # another worker may know a later use
        connection.execute(update(KEYS).where(KEYS.c.id == key_id, earlier).values(last_used_at=at))


def _announce(connection: Connection) -> None:
    connection.execute(update(STATE).values(keys_version=STATE.c.keys_version + 1))


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="microseconds")


def _key(row: Row[tuple[object, ...]]) -> Key:
    return Key(
        row.id, row.prefix, row.name, frozenset(row.scopes.split()), row.venue, row.created_at, row.expires_at,
        row.revoked_at, row.last_used_at, row.digest,
    )  # fmt: skip

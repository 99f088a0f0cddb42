"""What the command line does with the store: keys, backup, restore. Each command opens the store and gives it back."""

import json
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

from pydantic import ValidationError
from sqlalchemy import Connection

from schemas.catalogue import KeyRequest
from service.api.app import VERSION, known_to_the_ledger
from service.api.keys import view
from service.errors import InputFault, NotFound
from service.reference import reference
from service.rules import rules
from service.settings import Settings
from service.store import keys
from service.store.backup import Made, backup, restore
from service.store.held import current
from service.store.ledger import Ledger
from service.store.store import Store
from service.store.transaction import Actor


def key_made(settings: Settings, name: str, scopes: tuple[str, ...], venue: str | None, expires_on: str | None) -> str:
    """The text of a new key. Raises :class:`InputFault` for what no key can have."""
    asked = _asked({"name": name, "scopes": scopes, "venue": venue, "expires_on": expires_on})
    with _store(settings) as store, store.writing() as connection:
        if asked.venue is not None and current(connection, "venues", asked.venue) is None:
            raise InputFault("unknown_venue", "There is no venue of this id; create it first.", "--venue")
        if asked.expires_on is not None and asked.expires_on < datetime.now(UTC).date():
            raise InputFault("past", keys.PAST, "--expires-on")
        key, text = keys.new_key(connection, asked.name, asked.scopes, asked.venue, asked.expires_on)
        _ledger(connection).note("create", "keys", key.id, None, json.dumps(view(key)))
        return text


def _asked(row: dict[str, object]) -> KeyRequest:
    try:
        return KeyRequest.model_validate_json(json.dumps(row))
    except ValidationError as fault:
        first = fault.errors(include_url=False, include_input=False)[0]
        option = {"scopes": "--scope", "expires_on": "--expires-on", "venue": "--venue"}.get(str(first["loc"][0]))
        raise InputFault("no_such_key", f"{first['msg']}.", option or "NAME") from None


def key_rows(settings: Settings) -> list[str]:
    """One line a key: id, prefix, state, scopes, venue, last day, last use and name."""
    now = datetime.now(UTC).isoformat(timespec="microseconds")
    with _store(settings) as store, store.reading() as connection:
        return [_row(key, now) for key in keys.all_keys(connection)]


def _row(key: keys.Key, now: str) -> str:
    state = "ended" if key.revoked_at else "works" if key.works_at(now) else "expired"
    used = "never used" if key.last_used_at is None else f"used {key.last_used_at[:16]}"
    where = "all venues" if key.venue is None else f"venue {key.venue}"
    until = "no end" if key.expires_at is None else f"to {_last_day(key.expires_at)}"
    name = "".join(char if char.isprintable() else "?" for char in key.name)  # Nothing in it moves a terminal.
    return f"{key.id}  wl_{key.prefix}  {state:8}{' '.join(sorted(key.scopes))}  {where}  {until}  {used}  {name}"


def _last_day(end: str) -> str:
    """The last day on which a key works, which ends with the midnight after it."""
    return (datetime.fromisoformat(end).date() - timedelta(days=1)).isoformat()


def key_ended(settings: Settings, key_id: str) -> str:
    """The id of a key that ends now. Raises :class:`NotFound`."""
    with _store(settings) as store, store.writing() as connection:
        try:
            before = keys.key_of_id(connection, key_id)
        except NotFound:
            raise InputFault("not_found", "There is no key of this id; see key list.", "ID") from None
        after = keys.revoke(connection, key_id)
        if before.revoked_at is None:
            _ledger(connection).note("revoke", "keys", key_id, json.dumps(view(before)), json.dumps(view(after)))
        return after.id


def backed_up(settings: Settings, path: Path) -> Made:
    """What a backup to a new file holds; the service may go on meanwhile."""
    with _store(settings) as store:
        return backup(store, path, VERSION)


def restored(settings: Settings, path: Path) -> Made:
    """What was put into the empty database."""
    return restore(path, settings.stored_at)


@contextmanager
def _store(settings: Settings) -> Iterator[Store]:
    store = Store(settings.stored_at, rules().version, reference().version)
    try:
        yield store
    finally:
        store.close()


def _ledger(connection: Connection) -> Ledger:
    actor = Actor("command-line", uuid.uuid4().hex)
    return Ledger(connection, actor, datetime.now(UTC), known_to_the_ledger(reference()))

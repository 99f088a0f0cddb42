"""The tables. Bodies are JSON text as the caller wrote it, so that no decimal ever becomes a binary float."""

from typing import Final

from sqlalchemy import (
    BigInteger,
    CheckConstraint,
    Column,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    UniqueConstraint,
)

from service.store.columns import Exact

METADATA: Final = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
)

_ID = String(64).with_variant(String(64, collation="C"), "postgresql")
"""An id; compared byte by byte on both, so that lists have one order."""
_WHEN = String(32)
"""A moment in UTC as ISO 8601 text, or a calendar day; both sort as text."""
_SEQUENCE = BigInteger().with_variant(Integer(), "sqlite")

STATE: Final = Table(
    "state",
    METADATA,
    Column("id", Integer, primary_key=True, autoincrement=False),
    Column("data_version", BigInteger, nullable=False),
    Column("cost_version", BigInteger, nullable=False),
    Column("keys_version", BigInteger, nullable=False),
    Column("rules_version", String(64), nullable=False),
    Column("reference_version", String(64), nullable=False),
    CheckConstraint("id = 1", name="one_row"),
)
"""One row: what is announced. Every write locks it first, so that writers follow one another."""

VERSIONS: Final = Table(
    "versions",
    METADATA,
    Column("version", BigInteger, primary_key=True, autoincrement=False),
    Column("data_version", BigInteger, nullable=False),
    Column("recorded_at", _WHEN, nullable=False),
    Index(None, "data_version"),
)
"""Every version that was announced: ``version`` is the cost version, with the data version that went with it."""

ENTRIES: Final = Table(
    "entries",
    METADATA,
    Column("kind", String(16), primary_key=True),
    Column("id", _ID, primary_key=True),
    Column("name", String(200), nullable=False),
    Column("name_key", String(600), nullable=True),
    Column("revision", Integer, nullable=False),
    Column("state", String(8), nullable=False),
    Column("version", BigInteger, nullable=False),
    UniqueConstraint("kind", "name_key"),
)
"""What exists now, by kind and id; ``name_key`` is the folded name, which is unique within its kind.

A joint product has a row of kind ``products`` whose name is the id of its preparation.
"""

REVISIONS: Final = Table(
    "revisions",
    METADATA,
    Column("kind", String(16), primary_key=True),
    Column("id", _ID, primary_key=True),
    Column("revision", Integer, primary_key=True),
    Column("valid_from", _WHEN, nullable=False),
    Column("version", BigInteger, nullable=False),
    Column("recorded_at", _WHEN, nullable=False),
    Column("state", String(8), nullable=False),
    Column("item", _ID, nullable=True),
    Column("supplier", _ID, nullable=True),
    Column("price", Exact, nullable=True),
    Column("currency", String(3), nullable=True),
    Column("body", Text, nullable=False),
    Index(None, "version"),
    Index(None, "kind", "supplier"),
)
"""Every state that ever was, never changed: valid from a day on, known since a version; live, archived or gone."""

USES: Final = Table(
    "uses",
    METADATA,
    Column("kind", String(16), primary_key=True),
    Column("id", _ID, primary_key=True),
    Column("used_kind", String(16), primary_key=True),
    Column("used_id", _ID, primary_key=True),
    Index(None, "used_kind", "used_id"),
)
"""Who names whom, by the revisions that held when it was last written and those of later days."""

NAMES: Final = Table(
    "names",
    METADATA,
    Column("kind", String(16), primary_key=True),
    Column("value", String(600), primary_key=True),
    Column("id", _ID, nullable=False),
    Index(None, "kind", "id"),
)
"""Folded names, each of one entry of its kind: those that hold and those of later days."""

EXTERNAL_IDS: Final = Table(
    "external_ids",
    METADATA,
    Column("kind", String(16), primary_key=True),
    Column("value", String(64), primary_key=True),
    Column("id", _ID, nullable=False),
    Index(None, "kind", "id"),
)
"""Ids of tills (PLU, SKU, GTIN), each naming one entry of its kind."""

AUDIT: Final = Table(
    "audit",
    METADATA,
    Column("sequence", _SEQUENCE, primary_key=True, autoincrement=True),
    Column("recorded_at", _WHEN, nullable=False),
    Column("key_id", _ID, nullable=False),
    Column("request_id", String(64), nullable=False),
    Column("action", String(16), nullable=False),
    Column("kind", String(16), nullable=False),
    Column("id", _ID, nullable=False),
    Column("version", BigInteger, nullable=False),
    Column("before", Text, nullable=True),
    Column("after", Text, nullable=True),
    Index(None, "kind", "id"),
)
"""Who changed what, before and after; rows are added and nothing else, which triggers hold."""

CHANGES: Final = Table(
    "changes",
    METADATA,
    Column("feed", String(8), primary_key=True),
    Column("position", BigInteger, primary_key=True),
    Column("drink", _ID, primary_key=True),
    Column("why", String(8), nullable=False),
    Column("since", _WHEN, nullable=False),
    Column("recorded_at", _WHEN, nullable=False),
    Column("version", BigInteger, nullable=False),
)
"""Which drinks a change can have moved. ``position`` is the cost version, in the feed ``labels`` the data version."""

KEYS: Final = Table(
    "api_keys",
    METADATA,
    Column("id", _ID, primary_key=True),
    Column("prefix", String(16), nullable=False, unique=True),
    Column("name", String(200), nullable=False),
    Column("digest", String(64), nullable=False),
    Column("scopes", String(200), nullable=False),
    Column("venue", _ID, nullable=True),
    Column("created_at", _WHEN, nullable=False),
    Column("expires_at", _WHEN, nullable=True),
    Column("revoked_at", _WHEN, nullable=True),
    Column("last_used_at", _WHEN, nullable=True),
)
"""Keys by their public prefix; only a digest of the secret is kept."""

IDEMPOTENCY: Final = Table(
    "idempotency",
    METADATA,
    Column("key_id", _ID, primary_key=True),
    Column("route", String(200), primary_key=True),
    Column("idempotency_key", String(255), primary_key=True),
    Column("request_sha256", String(64), nullable=False),
    Column("status", Integer, nullable=False),
    Column("headers", Text, nullable=False),
    Column("body", Text, nullable=False),
    Column("recorded_at", _WHEN, nullable=False),
    Index(None, "recorded_at"),
)
"""Answers to creations, written in the same transaction as what they created."""

QUOTAS: Final = Table(
    "quotas",
    METADATA,
    Column("key_id", _ID, primary_key=True),
    Column("measure", String(16), primary_key=True),
    Column("window_start", BigInteger, primary_key=True),
    Column("leased", BigInteger, nullable=False),
)
"""What workers have taken of a key's quota in a window."""

PRICE_LISTS: Final = Table(
    "price_lists",
    METADATA,
    Column("id", _ID, primary_key=True),
    Column("supplier", _ID, nullable=False),
    Column("state", String(16), nullable=False),
    Column("base_version", BigInteger, nullable=False),
    Column("received_at", _WHEN, nullable=False),
    Column("committed_at", _WHEN, nullable=True),
    Column("key_id", _ID, nullable=False),
    Column("file_sha256", String(64), nullable=False),
    Column("media_type", String(100), nullable=False),
    Column("options", Text, nullable=False),
    Column("head", Text, nullable=False),
    Column("file", LargeBinary, nullable=False),
)
"""A supplier's list as it was sent, in dry run or committed; it is read anew whenever its rows are asked for.

``file`` is empty since the bytes stand in pieces; backups of before name it.
"""

PRICE_LIST_PIECES: Final = Table(
    "price_list_pieces",
    METADATA,
    Column("list_id", _ID, primary_key=True),
    Column("place", Integer, primary_key=True, autoincrement=False),
    Column("piece", LargeBinary, nullable=False),
)
"""The bytes of the lists, piece by piece."""

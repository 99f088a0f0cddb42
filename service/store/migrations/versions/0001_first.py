"""The first schema: state, entries with their history, audit, feeds, keys, idempotency, quotas, price lists."""

import sqlalchemy as sa
from alembic import op

from service.store.columns import Exact
from service.store.schema import append_only

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

ID = sa.String(64).with_variant(sa.String(64, collation="C"), "postgresql")


def upgrade() -> None:
    """Creates every table, and the triggers that keep history."""
    op.create_table(
        "api_keys",
        sa.Column("id", ID, nullable=False),
        sa.Column("prefix", sa.String(length=16), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("scopes", sa.String(length=200), nullable=False),
        sa.Column("venue", ID, nullable=True),
        sa.Column("created_at", sa.String(length=32), nullable=False),
        sa.Column("expires_at", sa.String(length=32), nullable=True),
        sa.Column("revoked_at", sa.String(length=32), nullable=True),
        sa.Column("last_used_at", sa.String(length=32), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_api_keys")),
        sa.UniqueConstraint("prefix", name=op.f("uq_api_keys_prefix")),
    )
    op.create_table(
        "audit",
        sa.Column("sequence", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), autoincrement=True, nullable=False),
        sa.Column("recorded_at", sa.String(length=32), nullable=False),
        sa.Column(
            "key_id",
            ID,
            nullable=False,
        ),
        sa.Column("request_id", sa.String(length=64), nullable=False),
        sa.Column("action", sa.String(length=16), nullable=False),
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("id", ID, nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.Column("before", sa.Text(), nullable=True),
        sa.Column("after", sa.Text(), nullable=True),
        sa.PrimaryKeyConstraint("sequence", name=op.f("pk_audit")),
    )
    op.create_index(op.f("ix_audit_kind_id"), "audit", ["kind", "id"], unique=False)
    op.create_table(
        "changes",
        sa.Column("feed", sa.String(length=8), nullable=False),
        sa.Column("position", sa.BigInteger(), nullable=False),
        sa.Column(
            "drink",
            ID,
            nullable=False,
        ),
        sa.Column("why", sa.String(length=8), nullable=False),
        sa.Column("since", sa.String(length=32), nullable=False),
        sa.Column("recorded_at", sa.String(length=32), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("feed", "position", "drink", name=op.f("pk_changes")),
    )
    op.create_table(
        "entries",
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("id", ID, nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("name_key", sa.String(length=600), nullable=True),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("state", sa.String(length=8), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("kind", "id", name=op.f("pk_entries")),
        sa.UniqueConstraint("kind", "name_key", name=op.f("uq_entries_kind_name_key")),
    )
    op.create_table(
        "external_ids",
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("value", sa.String(length=64), nullable=False),
        sa.Column("id", ID, nullable=False),
        sa.PrimaryKeyConstraint("kind", "value", name=op.f("pk_external_ids")),
    )
    op.create_index(op.f("ix_external_ids_kind_id"), "external_ids", ["kind", "id"], unique=False)
    op.create_table(
        "idempotency",
        sa.Column(
            "key_id",
            ID,
            nullable=False,
        ),
        sa.Column("route", sa.String(length=200), nullable=False),
        sa.Column("idempotency_key", sa.String(length=255), nullable=False),
        sa.Column("request_sha256", sa.String(length=64), nullable=False),
        sa.Column("status", sa.Integer(), nullable=False),
        sa.Column("headers", sa.Text(), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.String(length=32), nullable=False),
        sa.PrimaryKeyConstraint("key_id", "route", "idempotency_key", name=op.f("pk_idempotency")),
    )
    op.create_index(op.f("ix_idempotency_recorded_at"), "idempotency", ["recorded_at"], unique=False)
    op.create_table(
        "price_lists",
        sa.Column("id", ID, nullable=False),
        sa.Column(
            "supplier",
            ID,
            nullable=False,
        ),
        sa.Column("state", sa.String(length=16), nullable=False),
        sa.Column("base_version", sa.BigInteger(), nullable=False),
        sa.Column("received_at", sa.String(length=32), nullable=False),
        sa.Column("committed_at", sa.String(length=32), nullable=True),
        sa.Column(
            "key_id",
            ID,
            nullable=False,
        ),
        sa.Column("file_sha256", sa.String(length=64), nullable=False),
        sa.Column("media_type", sa.String(length=100), nullable=False),
        sa.Column("options", sa.Text(), nullable=False),
        sa.Column("head", sa.Text(), nullable=False),
        sa.Column("file", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_price_lists")),
    )
    op.create_table(
        "quotas",
        sa.Column(
            "key_id",
            ID,
            nullable=False,
        ),
        sa.Column("measure", sa.String(length=16), nullable=False),
        sa.Column("window_start", sa.BigInteger(), nullable=False),
        sa.Column("leased", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("key_id", "measure", "window_start", name=op.f("pk_quotas")),
    )
    op.create_table(
        "revisions",
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("id", ID, nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("valid_from", sa.String(length=32), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.Column("recorded_at", sa.String(length=32), nullable=False),
        sa.Column("state", sa.String(length=8), nullable=False),
        sa.Column("item", ID, nullable=True),
        sa.Column(
            "supplier",
            ID,
            nullable=True,
        ),
        sa.Column("price", Exact(), nullable=True),
        sa.Column("currency", sa.String(length=3), nullable=True),
        sa.Column("body", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("kind", "id", "revision", name=op.f("pk_revisions")),
    )
    op.create_index(op.f("ix_revisions_kind_supplier"), "revisions", ["kind", "supplier"], unique=False)
    op.create_index(op.f("ix_revisions_version"), "revisions", ["version"], unique=False)
    op.create_table(
        "state",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("data_version", sa.BigInteger(), nullable=False),
        sa.Column("cost_version", sa.BigInteger(), nullable=False),
        sa.Column("keys_version", sa.BigInteger(), nullable=False),
        sa.Column("rules_version", sa.String(length=64), nullable=False),
        sa.Column("reference_version", sa.String(length=64), nullable=False),
        sa.CheckConstraint("id = 1", name=op.f("ck_state_one_row")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_state")),
    )
    op.create_table(
        "uses",
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("id", ID, nullable=False),
        sa.Column("used_kind", sa.String(length=16), nullable=False),
        sa.Column(
            "used_id",
            ID,
            nullable=False,
        ),
        sa.PrimaryKeyConstraint("kind", "id", "used_kind", "used_id", name=op.f("pk_uses")),
    )
    op.create_index(op.f("ix_uses_used_kind_used_id"), "uses", ["used_kind", "used_id"], unique=False)
    op.create_table(
        "versions",
        sa.Column("version", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("data_version", sa.BigInteger(), nullable=False),
        sa.Column("recorded_at", sa.String(length=32), nullable=False),
        sa.PrimaryKeyConstraint("version", name=op.f("pk_versions")),
    )
    op.create_index(op.f("ix_versions_data_version"), "versions", ["data_version"], unique=False)
    append_only(op.get_bind())

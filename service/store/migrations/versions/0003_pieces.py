"""The file of a price list in pieces, so that a long one is written and read without being held."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

ID = sa.String(64).with_variant(sa.String(64, collation="C"), "postgresql")
PIECE = 65_536
"""Bytes of a piece."""


def upgrade() -> None:
    """Creates the table of pieces and puts the files that are kept into it."""
    pieces = op.create_table(
        "price_list_pieces",
        sa.Column("list_id", ID, nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("piece", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("list_id", "place", name=op.f("pk_price_list_pieces")),
    )
    connection = op.get_bind()
    for list_id in connection.execute(sa.text("SELECT id FROM price_lists ORDER BY id")).scalars().all():
        file = connection.execute(sa.text("SELECT file FROM price_lists WHERE id = :id"), {"id": list_id}).scalar_one()
        for place, start in enumerate(range(0, len(file), PIECE)):
            row = {"list_id": list_id, "place": place, "piece": file[start : start + PIECE]}
            connection.execute(sa.insert(pieces).values(**row))
    connection.execute(sa.text("UPDATE price_lists SET file = :empty"), {"empty": b""})

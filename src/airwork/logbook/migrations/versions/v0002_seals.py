"""Signatures that can be verified, and a history chained by hash; what was signed before is claimed, not sealed."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the tables and columns, and write down every thing as it stands."""
    op.create_table(
        "signing_key",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("person_id", sa.String(length=32), nullable=False),
        sa.Column("public_hex", sa.String(length=64), nullable=False),
        sa.Column("private_pem", sa.Text(), nullable=False),
        sa.Column("known_here", sa.Boolean(), nullable=False),
        sa.Column("made_utc_s", sa.Double(), nullable=False),
        sa.Column("ended_utc_s", sa.Double(), nullable=True),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_signing_key_person_id_person"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_signing_key")),
    )
    op.create_index(op.f("ix_signing_key_person_id"), "signing_key", ["person_id"])
    op.create_table(
        "signature",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("thing_id", sa.String(length=32), nullable=False),
        sa.Column("key_id", sa.String(length=32), nullable=False),
        sa.Column("form_sha256", sa.String(length=64), nullable=False),
        sa.Column("form_json", sa.Text(), nullable=True),
        sa.Column("history_hash", sa.String(length=64), nullable=False),
        sa.Column("signature_hex", sa.String(length=128), nullable=False),
        sa.Column("utc_s", sa.Double(), nullable=False),
        sa.CheckConstraint("what IN ('flight', 'endorsement')", name=op.f("ck_signature_what")),
        sa.ForeignKeyConstraint(
            ["key_id"], ["signing_key.id"], name=op.f("fk_signature_key_id_signing_key"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_signature")),
    )
    op.create_index(op.f("ix_signature_what_thing_id"), "signature", ["what", "thing_id"])
    op.create_table(
        "history",
        sa.Column("hash", sa.String(length=64), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("own", sa.Boolean(), nullable=False),
        sa.Column("previous_hash", sa.String(length=64), nullable=False),
        sa.Column("utc_s", sa.Double(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("thing_id", sa.Text(), nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("state_sha256", sa.String(length=64), nullable=False),
        sa.Column("state_json", sa.Text(), nullable=True),
        sa.PrimaryKeyConstraint("hash", name=op.f("pk_history")),
        sa.UniqueConstraint("number", name=op.f("uq_history_number")),
    )
    op.create_index(op.f("ix_history_what_thing_id"), "history", ["what", "thing_id"])
    op.add_column("flight", sa.Column("corrects_id", sa.String(length=32), nullable=True))
    op.create_index(op.f("ix_flight_corrects_id"), "flight", ["corrects_id"])
    op.add_column("flight", sa.Column("came_from", sa.Text(), nullable=False, server_default=""))
    op.add_column("endorsement", sa.Column("came_from", sa.Text(), nullable=False, server_default=""))

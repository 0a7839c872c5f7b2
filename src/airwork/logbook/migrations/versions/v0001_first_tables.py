"""The first tables: where the steps begin. An older airwork made them; a new logbook takes those of the schema."""

from __future__ import annotations

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Nothing is older."""

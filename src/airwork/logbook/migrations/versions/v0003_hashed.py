"""The history holds what pages read of a recording, and packed keys, by their hashes too (`history.take_stock`)."""

from __future__ import annotations

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """No table changes; the step lets these states be written down once."""

"""What counts of the yard need."""

from __future__ import annotations

revision = "0004"
down_revision: str | None = "0003"
branch_labels: str | None = None
depends_on: str | None = None


def upgrade() -> None:
    """Make the changes."""


def downgrade() -> None:
    """Take them away again."""

"""Hours that jobs really took."""

from __future__ import annotations

revision = "0005"
down_revision: str | None = "0004"
branch_labels: str | None = None
depends_on: str | None = None


def upgrade() -> None:
    """Make the changes."""


def downgrade() -> None:
    """Take them away again."""

"""What editing needs of revisions."""

from __future__ import annotations

revision = "0003"
down_revision: str | None = "0002"
branch_labels: str | None = None
depends_on: str | None = None


def upgrade() -> None:
    """Make the changes."""


def downgrade() -> None:
    """Take them away again."""

"""Until when a piece in the yard is held for its job."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision: str | None = "0003"
branch_labels: str | None = None
depends_on: str | None = None


def upgrade() -> None:
    """Add the day, and hold that nothing is held until a day for nobody."""
    op.add_column("stick", sa.Column("held_until", sa.Date, nullable=True))
    op.create_check_constraint(
        op.f("ck_stick_held_for_a_job"), "stick", "held_until IS NULL OR held_for IS NOT NULL"
    )


def downgrade() -> None:
    """Take both away again."""
    op.drop_constraint(op.f("ck_stick_held_for_a_job"), "stick", type_="check")
    op.drop_column("stick", "held_until")

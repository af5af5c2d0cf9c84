"""Which revision another one goes back to."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision: str | None = "0005"
branch_labels: str | None = None
depends_on: str | None = None

# The log knows it of those that were published before. A number counts in its region.
FROM_THE_LOG = """
UPDATE book_revision AS made SET reverts_to_id = earlier.id
FROM audit_entry AS told, book_revision AS earlier
WHERE told.action = 'revision.publish' AND told.region_id = made.region_id
    AND made.number = (regexp_match(told.subject, '/revisions/([0-9]+)$'))[1]::integer
    AND earlier.region_id = made.region_id AND earlier.number = (told.details::jsonb ->> 'reverts_to')::integer
"""


def upgrade() -> None:
    """Add it, and fill it in from the audit log."""
    op.add_column("book_revision", sa.Column("reverts_to_id", sa.BigInteger, nullable=True))
    op.create_foreign_key(
        "fk_book_revision_reverts_to_id", "book_revision", "book_revision", ["reverts_to_id"], ["id"]
    )
    # What was published stays as it is; this only writes down beside it what the log says already.
    op.execute("ALTER TABLE book_revision DISABLE TRIGGER book_revision_fixed")
    op.execute(FROM_THE_LOG)
    op.execute("ALTER TABLE book_revision ENABLE TRIGGER book_revision_fixed")


def downgrade() -> None:
    """Take it away again."""
    op.drop_constraint("fk_book_revision_reverts_to_id", "book_revision", type_="foreignkey")
    op.drop_column("book_revision", "reverts_to_id")

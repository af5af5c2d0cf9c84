"""Drafts: which state of one a change is made to, and that no published book overrides a line that is locked above it."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision: str | None = "0002"
branch_labels: str | None = None
depends_on: str | None = None

# 23001 is restrict_violation. The day decides which books above count: the one on which the draft is to be in force.
REFUSE_LOCKED = """
CREATE FUNCTION refuse_line_locked_above() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    held text;
BEGIN
    WITH RECURSIVE above AS (
        SELECT up.id, up.parent_id, up.code
        FROM region AS own JOIN region AS up ON up.id = own.parent_id WHERE own.id = NEW.region_id
        UNION ALL
        SELECT up.id, up.parent_id, up.code FROM above JOIN region AS up ON up.id = above.parent_id
    )
    SELECT string_agg(format('%s/%s by %s', theirs.section, theirs.code, above.code), ', '
                      ORDER BY theirs.section, theirs.code)
    INTO held
    FROM above
    JOIN book_period AS period ON period.region_id = above.id AND period.days @> NEW.effective_from
    JOIN rate_line AS theirs ON theirs.revision_id = period.revision_id AND theirs.locked
    JOIN rate_line AS own
        ON own.revision_id = NEW.id AND own.section = theirs.section AND own.code = theirs.code;
    IF held IS NOT NULL THEN
        RAISE EXCEPTION 'the draft overrides what is locked above it: %', held USING ERRCODE = '23001';
    END IF;
    RETURN NEW;
END $$
"""


def upgrade() -> None:
    """Add what drafts need, and hold the locks where a draft becomes a published book."""
    for table in ("book_revision", "stock_revision"):
        op.add_column(table, sa.Column("name", sa.Text, server_default=sa.text("''"), nullable=False))
    op.add_column("book_revision", sa.Column("note", sa.Text, server_default=sa.text("''"), nullable=False))
    op.add_column("book_revision", sa.Column("version", sa.Integer, server_default=sa.text("1"), nullable=False))
    op.add_column(
        "book_revision",
        sa.Column("changed_at", sa.DateTime(timezone=True), server_default=sa.func.now(), nullable=False),
    )
    op.create_check_constraint(op.f("ck_book_revision_version_positive"), "book_revision", "version > 0")
    op.create_index(
        "ix_book_revision_drafts", "book_revision", ["region_id"], postgresql_where=sa.text("status = 'draft'")
    )
    op.execute(REFUSE_LOCKED)
    op.execute(
        "CREATE TRIGGER book_revision_locks BEFORE UPDATE ON book_revision FOR EACH ROW "
        "WHEN (OLD.status = 'draft' AND NEW.status = 'published') EXECUTE FUNCTION refuse_line_locked_above()"
    )


def downgrade() -> None:
    """Take them away again."""
    op.execute("DROP TRIGGER book_revision_locks ON book_revision")
    op.execute("DROP FUNCTION refuse_line_locked_above()")
    op.drop_index("ix_book_revision_drafts", table_name="book_revision")
    op.drop_constraint(op.f("ck_book_revision_version_positive"), "book_revision", type_="check")
    for column in ("changed_at", "version", "note"):
        op.drop_column("book_revision", column)
    for table in ("stock_revision", "book_revision"):
        op.drop_column(table, "name")

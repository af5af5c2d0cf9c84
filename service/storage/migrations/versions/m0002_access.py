"""Keys, the audit log, creates that happen once, counts for quotas."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects import postgresql

revision = "0002"
down_revision: str | None = "0001"
branch_labels: str | None = None
depends_on: str | None = None

REFUSE_AUDIT = """
CREATE FUNCTION refuse_audit_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'the audit log is only ever added to' USING ERRCODE = '55000';
END $$
"""


def upgrade() -> None:
    """Make the tables."""
    _make_keys()
    _make_audit()
    _make_once()
    _make_quota()


def downgrade() -> None:
    """Take everything away again."""
    for table in ("quota_use", "once", "audit_entry", "api_key"):
        op.drop_table(table)
    op.execute("DROP FUNCTION refuse_audit_change()")


def _make_keys() -> None:
    op.create_table(
        "api_key",
        sa.Column("id", sa.Text, nullable=False),
        sa.Column("owner", sa.Text, nullable=False),
        sa.Column("sort", sa.Text, nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("digest", sa.LargeBinary, nullable=False),
        sa.Column("scopes", postgresql.ARRAY(sa.Text), nullable=False),
        sa.Column("regions", postgresql.ARRAY(sa.Text), nullable=True),
        sa.Column("origins", postgresql.ARRAY(sa.Text), nullable=False),
        sa.Column("per_minute", sa.Integer, nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), server_default=sa.func.now(), nullable=False),
        sa.Column("made_by", sa.Text, nullable=False),
        sa.Column("expires_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("revoked_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("last_used_at", sa.DateTime(timezone=True), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_api_key"),
        sa.UniqueConstraint("digest", name="uq_api_key_digest"),
        sa.CheckConstraint("sort IN ('server', 'form')", name=op.f("ck_api_key_sort_known")),
        sa.CheckConstraint("per_minute >= 0", name=op.f("ck_api_key_per_minute_real")),
        sa.CheckConstraint(
            "scopes <@ ARRAY['quote', 'rates:read', 'rates:write', 'rates:publish', 'admin']",
            name=op.f("ck_api_key_scopes_known"),
        ),
        sa.CheckConstraint(
            "sort <> 'form' OR (scopes = ARRAY['quote'] AND regions IS NOT NULL AND cardinality(regions) = 1"
            " AND cardinality(origins) > 0)",
            name=op.f("ck_api_key_form_is_narrow"),
        ),
        sa.CheckConstraint("regions IS NULL OR cardinality(regions) > 0", name=op.f("ck_api_key_regions_named")),
        comment="Keys of machines, as keyed digests. `owner` is shared by the two live keys of a rotation.",
    )
    op.create_index("ix_api_key_owner", "api_key", ["owner"])


def _make_audit() -> None:
    op.create_table(
        "audit_entry",
        sa.Column("id", sa.BigInteger, sa.Identity(always=True), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("region_id", sa.Integer, nullable=True),
        sa.Column("who", sa.Text, nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("address", sa.Text, nullable=False),
        sa.Column("request_id", sa.Text, nullable=False),
        sa.Column("action", sa.Text, nullable=False),
        sa.Column("subject", sa.Text, nullable=False),
        sa.Column("details", sa.Text, nullable=False),
        sa.Column("previous", sa.LargeBinary, nullable=False),
        sa.Column("digest", sa.LargeBinary, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_audit_entry"),
        sa.ForeignKeyConstraint(["region_id"], ["region.id"], name="fk_audit_entry_region_id"),
        sa.UniqueConstraint("previous", name="uq_audit_entry_previous"),
        sa.CheckConstraint("length(digest) = 32 AND length(previous) = 32", name=op.f("ck_audit_entry_digests_whole")),
        comment="Who did what from where. Each entry holds the digest of the one before it.",
    )
    op.create_index("ix_audit_entry_region_id_id", "audit_entry", ["region_id", "id"])
    op.execute(REFUSE_AUDIT)
    op.execute(
        "CREATE TRIGGER audit_entry_kept BEFORE UPDATE OR DELETE ON audit_entry"
        " FOR EACH ROW EXECUTE FUNCTION refuse_audit_change()"
    )
    op.execute(
        "CREATE TRIGGER audit_entry_never_emptied BEFORE TRUNCATE ON audit_entry"
        " FOR EACH STATEMENT EXECUTE FUNCTION refuse_audit_change()"
    )


def _make_once() -> None:
    op.create_table(
        "once",
        sa.Column("caller", sa.Text, nullable=False),
        sa.Column("key", sa.Text, nullable=False),
        sa.Column("digest", sa.LargeBinary, nullable=False),
        sa.Column("answer", sa.LargeBinary, nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), server_default=sa.func.now(), nullable=False),
        sa.PrimaryKeyConstraint("caller", "key", name="pk_once"),
        comment="Creates that happened, with the answer that was given, for callers that ask again.",
    )
    op.create_index("ix_once_made_at", "once", ["made_at"])


def _make_quota() -> None:
    op.create_table(
        "quota_use",
        sa.Column("subject", sa.Text, nullable=False),
        sa.Column("window_start", sa.DateTime(timezone=True), nullable=False),
        sa.Column("used", sa.Integer, nullable=False),
        sa.PrimaryKeyConstraint("subject", "window_start", name="pk_quota_use"),
        # Counts are worth nothing after a crash, and writing them to the log would cost each request a sync.
        prefixes=["UNLOGGED"],
        comment="Requests counted against quotas, for all processes together.",
    )

"""Hours that jobs really took: reports that are only ever added."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects import postgresql

revision = "0005"
down_revision: str | None = "0004"
branch_labels: str | None = None
depends_on: str | None = None

REFUSE_REPORT = """
CREATE FUNCTION refuse_report_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'reports of hours are only ever added; one corrects another' USING ERRCODE = '55000';
END $$
"""


def upgrade() -> None:
    """Make the table and the triggers that keep what it holds."""
    op.create_table(
        "hours_report",
        sa.Column("id", sa.BigInteger, sa.Identity(always=True), nullable=False),
        sa.Column("region_id", sa.Integer, nullable=False),
        sa.Column("job", sa.Text, nullable=False),
        sa.Column("done_on", sa.Date, nullable=False),
        sa.Column("method", sa.Text, nullable=False),
        sa.Column("element", sa.Text, nullable=False),
        sa.Column("rates", sa.Text, nullable=False),
        sa.Column("quoted_hours", sa.Numeric, nullable=False),
        sa.Column("actual_hours", sa.Numeric, nullable=False),
        sa.Column("crew", sa.Integer, nullable=True),
        sa.Column("note", sa.Text, nullable=False),
        sa.Column("corrects_id", sa.BigInteger, nullable=True),
        sa.Column("counts", sa.Boolean, nullable=False),
        sa.Column("norms", postgresql.JSONB, nullable=False),
        sa.Column("reported_at", sa.DateTime(timezone=True), server_default=sa.func.now(), nullable=False),
        sa.Column("who", sa.Text, nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_hours_report"),
        sa.ForeignKeyConstraint(["region_id"], ["region.id"], name="fk_hours_report_region_id"),
        sa.UniqueConstraint(
            "region_id", "job", "method", "element", "id", name="uq_hours_report_region_id_job_method_element_id"
        ),
        sa.UniqueConstraint("corrects_id", name="uq_hours_report_corrects_id"),
        sa.ForeignKeyConstraint(
            ["region_id", "job", "method", "element", "corrects_id"],
            [f"hours_report.{name}" for name in ("region_id", "job", "method", "element", "id")],
            name="fk_hours_report_region_id_job_method_element_corrects_id",
        ),
        sa.CheckConstraint("quoted_hours > 0 AND quoted_hours < 'Infinity'::numeric", name=op.f("ck_hours_report_quoted_real")),
        sa.CheckConstraint("actual_hours > 0 AND actual_hours < 'Infinity'::numeric", name=op.f("ck_hours_report_actual_real")),
        sa.CheckConstraint("crew > 0", name=op.f("ck_hours_report_crew_real")),
        sa.CheckConstraint("corrects_id < id", name=op.f("ck_hours_report_corrects_an_older_one")),
        sa.CheckConstraint("counts OR corrects_id IS NOT NULL", name=op.f("ck_hours_report_takes_back_another")),
        comment="Hours that jobs really took beside those that were quoted. One report corrects another; none is changed.",
    )
    op.create_index("ix_hours_report_region_id_id", "hours_report", ["region_id", "id"])
    op.create_index(
        "uq_hours_report_first", "hours_report", ["region_id", "job", "method", "element"], unique=True,
        postgresql_where=sa.text("corrects_id IS NULL"),
    )
    op.execute(REFUSE_REPORT)
    op.execute(
        "CREATE TRIGGER hours_report_kept BEFORE UPDATE OR DELETE ON hours_report"
        " FOR EACH ROW EXECUTE FUNCTION refuse_report_change()"
    )
    op.execute(
        "CREATE TRIGGER hours_report_never_emptied BEFORE TRUNCATE ON hours_report"
        " FOR EACH STATEMENT EXECUTE FUNCTION refuse_report_change()"
    )


def downgrade() -> None:
    """Take everything away again."""
    op.drop_table("hours_report")
    op.execute("DROP FUNCTION refuse_report_change()")

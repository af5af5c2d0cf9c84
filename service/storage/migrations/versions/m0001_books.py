"""Regions, books in immutable revisions, counts of the yard."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects import postgresql

revision = "0001"
down_revision: str | None = None
branch_labels: str | None = None
depends_on: str | None = None

SECTIONS = "'resources', 'norms', 'lives', 'waits', 'terms', 'access', 'weights', 'climate'"
KINDS = "'labour', 'wood', 'material', 'hire', 'subcontract', 'fee', ''"

# 55000 is object_not_in_prerequisite_state: the row is in a state in which the change is not allowed.
REFUSE_REGION = """
CREATE FUNCTION refuse_region_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF (OLD.id, OLD.code, OLD.name, OLD.parent_id, OLD.currency, OLD.units, OLD.holiday_country, OLD.holiday_subdiv)
        IS DISTINCT FROM
       (NEW.id, NEW.code, NEW.name, NEW.parent_id, NEW.currency, NEW.units, NEW.holiday_country, NEW.holiday_subdiv)
    THEN
        RAISE EXCEPTION 'region % is fixed: old quotes rest on it', OLD.code USING ERRCODE = '55000';
    END IF;
    RETURN NEW;
END $$
"""

REFUSE_PUBLISHED = """
CREATE FUNCTION refuse_published_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'revision % of % is published and never changes', OLD.number, TG_TABLE_NAME
        USING ERRCODE = '55000';
END $$
"""

# FOR SHARE makes a line that is being written and a publication that is under way wait for each other.
REFUSE_ROW = """
CREATE FUNCTION refuse_row_of_published() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    held bigint;
    state text;
BEGIN
    FOREACH held IN ARRAY CASE TG_OP
        WHEN 'INSERT' THEN ARRAY[NEW.revision_id]
        WHEN 'DELETE' THEN ARRAY[OLD.revision_id]
        ELSE ARRAY[OLD.revision_id, NEW.revision_id] END
    LOOP
        EXECUTE format('SELECT status FROM %I WHERE id = $1 FOR SHARE', TG_ARGV[0]) INTO state USING held;
        IF state = 'published' THEN
            RAISE EXCEPTION '% of a published revision never change', TG_TABLE_NAME USING ERRCODE = '55000';
        END IF;
    END LOOP;
    RETURN CASE TG_OP WHEN 'DELETE' THEN OLD ELSE NEW END;
END $$
"""

REFUSE_TRUNCATE = """
CREATE FUNCTION refuse_truncate() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION '% holds published revisions and is never emptied', TG_TABLE_NAME USING ERRCODE = '55000';
END $$
"""

REFUSE_DRAFT_PERIOD = """
CREATE FUNCTION refuse_period_of_draft() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    state text;
BEGIN
    EXECUTE format('SELECT status FROM %I WHERE id = $1', TG_ARGV[0]) INTO state USING NEW.revision_id;
    IF state <> 'published' THEN
        RAISE EXCEPTION 'a draft cannot be in force' USING ERRCODE = '55000';
    END IF;
    RETURN NEW;
END $$
"""


def upgrade() -> None:
    """Make the tables and the triggers that keep published revisions as they are."""
    _make_region()
    for kind, words in (("book", "Revisions of a region's own book"), ("stock", "Counts of a region's yard")):
        _make_revisions(f"{kind}_revision", f"{words}; frozen once published.")
    _make_periods("book", "Which revision of a book is in force on which days.")
    _make_periods("stock", "Which count of the yard is in force on which days.")
    _make_lines()
    _make_sticks()
    for function in (REFUSE_REGION, REFUSE_PUBLISHED, REFUSE_ROW, REFUSE_TRUNCATE, REFUSE_DRAFT_PERIOD):
        op.execute(function)
    op.execute(
        "CREATE TRIGGER region_fixed BEFORE UPDATE ON region FOR EACH ROW EXECUTE FUNCTION refuse_region_change()"
    )
    for rows, kind in (("rate_line", "book"), ("stick", "stock")):
        _make_triggers(rows, f"{kind}_revision", f"{kind}_period")


def downgrade() -> None:
    """Take everything away again."""
    for table in ("stick", "rate_line", "stock_period", "book_period", "stock_revision", "book_revision", "region"):
        op.drop_table(table)
    for function in (
        "refuse_region_change",
        "refuse_published_change",
        "refuse_row_of_published",
        "refuse_truncate",
        "refuse_period_of_draft",
    ):
        op.execute(f"DROP FUNCTION {function}()")


def _make_region() -> None:
    op.create_table(
        "region",
        sa.Column("id", sa.Integer, sa.Identity(always=True), nullable=False),
        sa.Column("code", sa.Text, nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("parent_id", sa.Integer, nullable=True),
        sa.Column("currency", sa.Text, nullable=False),
        sa.Column("units", sa.Text, nullable=False),
        sa.Column("holiday_country", sa.Text, nullable=False),
        sa.Column("holiday_subdiv", sa.Text, nullable=False),
        sa.Column("note", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_region"),
        sa.UniqueConstraint("code", name="uq_region_code"),
        sa.ForeignKeyConstraint(["parent_id"], ["region.id"], name="fk_region_parent_id"),
        sa.CheckConstraint(
            "code ~ '^[a-z0-9]+(-[a-z0-9]+)*$' AND length(code) <= 40", name=op.f("ck_region_code_form")
        ),
        sa.CheckConstraint("currency ~ '^[A-Z]{3}$'", name=op.f("ck_region_currency_form")),
        sa.CheckConstraint("units IN ('imperial', 'metric')", name=op.f("ck_region_units_known")),
        sa.CheckConstraint("parent_id <> id", name=op.f("ck_region_not_its_own_parent")),
        comment="Regions, each with the parent whose book it inherits. What fixes a price never changes afterwards.",
    )
    op.create_index("ix_region_parent_id", "region", ["parent_id"])


def _make_revisions(name: str, comment: str) -> None:
    op.create_table(
        name,
        sa.Column("id", sa.BigInteger, sa.Identity(always=True), nullable=False),
        sa.Column("region_id", sa.Integer, nullable=False),
        sa.Column("number", sa.Integer, nullable=True),
        sa.Column("status", sa.Text, server_default=sa.text("'draft'"), nullable=False),
        sa.Column("effective_from", sa.Date, nullable=True),
        sa.Column("based_on_id", sa.BigInteger, nullable=True),
        sa.Column("created_at", sa.DateTime(timezone=True), server_default=sa.func.now(), nullable=False),
        sa.Column("published_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("who", sa.Text, nullable=False),
        sa.Column("why", sa.Text, server_default=sa.text("''"), nullable=False),
        sa.PrimaryKeyConstraint("id", name=f"pk_{name}"),
        sa.UniqueConstraint("region_id", "number", name=f"uq_{name}_region_id_number"),
        sa.UniqueConstraint("region_id", "id", name=f"uq_{name}_region_id_id"),
        sa.ForeignKeyConstraint(["region_id"], ["region.id"], name=f"fk_{name}_region_id"),
        sa.ForeignKeyConstraint(["based_on_id"], [f"{name}.id"], name=f"fk_{name}_based_on_id"),
        sa.CheckConstraint("status IN ('draft', 'published')", name=op.f(f"ck_{name}_status_known")),
        sa.CheckConstraint("number > 0", name=op.f(f"ck_{name}_number_positive")),
        sa.CheckConstraint(
            "(status = 'published') = (number IS NOT NULL AND published_at IS NOT NULL AND effective_from IS NOT NULL)",
            name=op.f(f"ck_{name}_published_is_complete"),
        ),
        sa.CheckConstraint(
            "status = 'published' OR (number IS NULL AND published_at IS NULL)",
            name=op.f(f"ck_{name}_draft_is_unnumbered"),
        ),
        comment=comment,
    )
    op.create_index(f"ix_{name}_based_on_id", name, ["based_on_id"])


def _make_periods(kind: str, comment: str) -> None:
    name, revisions = f"{kind}_period", f"{kind}_revision"
    op.create_table(
        name,
        sa.Column("id", sa.BigInteger, sa.Identity(always=True), nullable=False),
        sa.Column("region_id", sa.Integer, nullable=False),
        sa.Column("revision_id", sa.BigInteger, nullable=False),
        sa.Column("days", postgresql.DATERANGE, nullable=False),
        sa.PrimaryKeyConstraint("id", name=f"pk_{name}"),
        sa.ForeignKeyConstraint(
            ["region_id", "revision_id"],
            [f"{revisions}.region_id", f"{revisions}.id"],
            name=f"fk_{name}_region_id_revision_id",
        ),
        sa.CheckConstraint("NOT isempty(days) AND NOT lower_inf(days)", name=op.f(f"ck_{name}_days_begin")),
        postgresql.ExcludeConstraint(
            (sa.text("int4range(region_id, region_id, '[]')"), "&&"),
            ("days", "&&"),
            using="gist",
            name=f"ex_{name}_one_a_day",
        ),
        comment=comment,
    )
    op.create_index(f"ix_{name}_region_id_revision_id", name, ["region_id", "revision_id"])


def _make_lines() -> None:
    op.create_table(
        "rate_line",
        sa.Column("revision_id", sa.BigInteger, nullable=False),
        sa.Column("section", sa.Text, nullable=False),
        sa.Column("code", sa.Text, nullable=False),
        sa.Column("unit", sa.Text, nullable=False),
        sa.Column("low", sa.Numeric, nullable=False),
        sa.Column("likely", sa.Numeric, nullable=False),
        sa.Column("high", sa.Numeric, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("source", sa.Text, nullable=False),
        sa.Column("what", sa.Text, nullable=False),
        sa.Column("locked", sa.Boolean, server_default=sa.text("false"), nullable=False),
        sa.PrimaryKeyConstraint("revision_id", "section", "code", name="pk_rate_line"),
        sa.ForeignKeyConstraint(
            ["revision_id"], ["book_revision.id"], ondelete="CASCADE", name="fk_rate_line_revision_id"
        ),
        sa.CheckConstraint(f"section IN ({SECTIONS})", name=op.f("ck_rate_line_section_known")),
        sa.CheckConstraint("code ~ '^[a-z0-9_.]+$' AND length(code) <= 80", name=op.f("ck_rate_line_code_form")),
        sa.CheckConstraint(f"kind IN ({KINDS})", name=op.f("ck_rate_line_kind_known")),
        sa.CheckConstraint("(section = 'resources') = (kind <> '')", name=op.f("ck_rate_line_resources_have_a_kind")),
        sa.CheckConstraint("low <= likely AND likely <= high", name=op.f("ck_rate_line_low_likely_high")),
        sa.CheckConstraint(
            "low > '-Infinity'::numeric AND high < 'Infinity'::numeric", name=op.f("ck_rate_line_finite")
        ),
        comment="Lines that a region's book holds itself; what is not here is inherited from the parent.",
    )


def _make_sticks() -> None:
    op.create_table(
        "stick",
        sa.Column("revision_id", sa.BigInteger, nullable=False),
        sa.Column("code", sa.Text, nullable=False),
        sa.Column("form", sa.Text, nullable=False),
        sa.Column("section_in", sa.Numeric, nullable=False),
        sa.Column("second_in", sa.Numeric, nullable=True),
        sa.Column("length_ft", sa.Numeric, nullable=False),
        sa.Column("moisture_pct", sa.Numeric, nullable=False),
        sa.Column("moisture_depth_in", sa.Numeric, nullable=True),
        sa.Column("read_on", sa.Date, nullable=True),
        sa.Column("species", sa.Text, nullable=False),
        sa.Column("cut", sa.Text, nullable=False),
        sa.Column("where_kept", sa.Text, nullable=False),
        sa.Column("held_for", sa.Text, nullable=True),
        sa.PrimaryKeyConstraint("revision_id", "code", name="pk_stick"),
        sa.ForeignKeyConstraint(
            ["revision_id"], ["stock_revision.id"], ondelete="CASCADE", name="fk_stick_revision_id"
        ),
        sa.CheckConstraint("code ~ '^[a-z0-9_.]+$' AND length(code) <= 80", name=op.f("ck_stick_code_form")),
        sa.CheckConstraint("section_in > 0 AND section_in < 'Infinity'::numeric", name=op.f("ck_stick_section_real")),
        sa.CheckConstraint("second_in > 0 AND second_in < 'Infinity'::numeric", name=op.f("ck_stick_second_real")),
        sa.CheckConstraint("length_ft > 0 AND length_ft < 'Infinity'::numeric", name=op.f("ck_stick_length_real")),
        sa.CheckConstraint("moisture_pct >= 0 AND moisture_pct <= 300", name=op.f("ck_stick_moisture_real")),
        sa.CheckConstraint(
            "moisture_depth_in >= 0 AND moisture_depth_in < 'Infinity'::numeric",
            name=op.f("ck_stick_moisture_depth_real"),
        ),
        comment="Pieces of wood in a yard, as one count found them.",
    )


def _make_triggers(rows: str, revisions: str, periods: str) -> None:
    op.execute(
        f"CREATE TRIGGER {revisions}_fixed BEFORE UPDATE OR DELETE ON {revisions} FOR EACH ROW "
        "WHEN (OLD.status = 'published') EXECUTE FUNCTION refuse_published_change()"
    )
    op.execute(
        f"CREATE TRIGGER {rows}_fixed BEFORE INSERT OR UPDATE OR DELETE ON {rows} FOR EACH ROW "
        f"EXECUTE FUNCTION refuse_row_of_published('{revisions}')"
    )
    op.execute(
        f"CREATE TRIGGER {periods}_published BEFORE INSERT OR UPDATE ON {periods} FOR EACH ROW "
        f"EXECUTE FUNCTION refuse_period_of_draft('{revisions}')"
    )
    for table in (rows, revisions):
        op.execute(
            f"CREATE TRIGGER {table}_kept BEFORE TRUNCATE ON {table} FOR EACH STATEMENT "
            "EXECUTE FUNCTION refuse_truncate()"
        )

"""The tables. Migrations build them; a test holds the two together.

A book lives in *revisions*. A revision is a draft until it is published; then it has a number, and triggers refuse
every change to it and to its lines. Which published revision is in force on which days stands apart, in
`book_period`, so that scheduling a later book never touches a published one; an exclusion constraint refuses two
books on one day. Counts of the yard work the same way, in tables of their own, because they change far more often.
"""

from __future__ import annotations

from sqlalchemy import (
    ARRAY,
    BigInteger,
    Boolean,
    CheckConstraint,
    Column,
    Date,
    DateTime,
    ForeignKey,
    ForeignKeyConstraint,
    Identity,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Numeric,
    Table,
    Text,
    UniqueConstraint,
    func,
    text,
)
from sqlalchemy.dialects.postgresql import DATERANGE, JSONB, ExcludeConstraint
from sqlalchemy.schema import SchemaItem

from service.application.access import SCOPES
from service.engine.rates import KINDS, SECTIONS

NAMING = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}
metadata = MetaData(naming_convention=NAMING)


def _one_of(column: str, words: tuple[str, ...]) -> str:
    """SQL for "the column holds one of these words"."""
    return f"{column} IN ({', '.join(repr(word) for word in words)})"


region = Table(
    "region",
    metadata,
    Column("id", Integer, Identity(always=True), primary_key=True),
    Column("code", Text, nullable=False, unique=True),
    Column("name", Text, nullable=False),
    Column("parent_id", Integer, ForeignKey("region.id"), index=True),
    Column("currency", Text, nullable=False),
    Column("units", Text, nullable=False),
    Column("holiday_country", Text, nullable=False),
    Column("holiday_subdiv", Text, nullable=False),
    Column("note", Text, nullable=False),
    CheckConstraint("code ~ '^[a-z0-9]+(-[a-z0-9]+)*$' AND length(code) <= 40", name="code_form"),
    CheckConstraint("currency ~ '^[A-Z]{3}$'", name="currency_form"),
    CheckConstraint(_one_of("units", ("imperial", "metric")), name="units_known"),
    CheckConstraint("parent_id <> id", name="not_its_own_parent"),
    comment="Regions, each with the parent whose book it inherits. What fixes a price never changes afterwards.",
)


def _revision_table(name: str, comment: str, *more: SchemaItem) -> Table:
    """A table of revisions of one kind: drafts without a number, published ones with everything."""
    return Table(
        name,
        metadata,
        Column("id", BigInteger, Identity(always=True), primary_key=True),
        Column("region_id", Integer, ForeignKey("region.id"), nullable=False),
        Column("number", Integer),
        Column("status", Text, nullable=False, server_default=text("'draft'")),
        Column("effective_from", Date),
        Column("based_on_id", BigInteger, ForeignKey(f"{name}.id"), index=True),
        Column("created_at", DateTime(timezone=True), nullable=False, server_default=func.now()),
        Column("published_at", DateTime(timezone=True)),
        Column("who", Text, nullable=False),
        Column("name", Text, nullable=False, server_default=text("''")),
        Column("why", Text, nullable=False, server_default=text("''")),
        *more,
        UniqueConstraint("region_id", "number"),
        # Lets a period name region and revision together, so that it cannot point at another region's revision.
        UniqueConstraint("region_id", "id"),
        CheckConstraint(_one_of("status", ("draft", "published")), name="status_known"),
        CheckConstraint("number > 0", name="number_positive"),
        CheckConstraint(
            "(status = 'published') = (number IS NOT NULL AND published_at IS NOT NULL AND effective_from IS NOT NULL)",
            name="published_is_complete",
        ),
        CheckConstraint(
            "status = 'published' OR (number IS NULL AND published_at IS NULL)", name="draft_is_unnumbered"
        ),
        comment=comment,
    )


def _period_table(name: str, revisions: str, comment: str) -> Table:
    """A table of days on which a published revision is in force: at most one for a region and day."""
    return Table(
        name,
        metadata,
        Column("id", BigInteger, Identity(always=True), primary_key=True),
        Column("region_id", Integer, nullable=False),
        Column("revision_id", BigInteger, nullable=False),
        Column("days", DATERANGE, nullable=False),
        ForeignKeyConstraint(["region_id", "revision_id"], [f"{revisions}.region_id", f"{revisions}.id"]),
        CheckConstraint("NOT isempty(days) AND NOT lower_inf(days)", name="days_begin"),
        # A one-member integer range stands for the region: equality under GiST would need an extension.
        ExcludeConstraint(
            (text("int4range(region_id, region_id, '[]')"), "&&"),
            ("days", "&&"),
            using="gist",
            name=f"ex_{name}_one_a_day",
        ),
        Index(f"ix_{name}_region_id_revision_id", "region_id", "revision_id"),
        comment=comment,
    )


book_revision = _revision_table(
    "book_revision",
    "Revisions of a region's own book; frozen once published.",
    Column("note", Text, nullable=False, server_default=text("''")),
    Column("version", Integer, nullable=False, server_default=text("1")),
    Column("changed_at", DateTime(timezone=True), nullable=False, server_default=func.now()),
    Column("reverts_to_id", BigInteger, ForeignKey("book_revision.id")),
    CheckConstraint("version > 0", name="version_positive"),
    Index("ix_book_revision_drafts", "region_id", postgresql_where=text("status = 'draft'")),
)
book_period = _period_table("book_period", "book_revision", "Which revision of a book is in force on which days.")

rate_line = Table(
    "rate_line",
    metadata,
    Column("revision_id", BigInteger, ForeignKey("book_revision.id", ondelete="CASCADE"), primary_key=True),
    Column("section", Text, primary_key=True),
    Column("code", Text, primary_key=True),
    Column("unit", Text, nullable=False),
    Column("low", Numeric, nullable=False),
    Column("likely", Numeric, nullable=False),
    Column("high", Numeric, nullable=False),
    Column("kind", Text, nullable=False),
    Column("source", Text, nullable=False),
    Column("what", Text, nullable=False),
    Column("locked", Boolean, nullable=False, server_default=text("false")),
    CheckConstraint(_one_of("section", SECTIONS), name="section_known"),
    CheckConstraint("code ~ '^[a-z0-9_.]+$' AND length(code) <= 80", name="code_form"),
    CheckConstraint(_one_of("kind", (*KINDS, "")), name="kind_known"),
    CheckConstraint("(section = 'resources') = (kind <> '')", name="resources_have_a_kind"),
    CheckConstraint("low <= likely AND likely <= high", name="low_likely_high"),
    # NaN sorts above infinity, so the second half refuses both.
    CheckConstraint("low > '-Infinity'::numeric AND high < 'Infinity'::numeric", name="finite"),
    comment="Lines that a region's book holds itself; what is not here is inherited from the parent.",
)

stock_revision = _revision_table("stock_revision", "Counts of a region's yard; frozen once published.")
stock_period = _period_table("stock_period", "stock_revision", "Which count of the yard is in force on which days.")

stick = Table(
    "stick",
    metadata,
    Column("revision_id", BigInteger, ForeignKey("stock_revision.id", ondelete="CASCADE"), primary_key=True),
    Column("code", Text, primary_key=True),
    Column("form", Text, nullable=False),
    Column("section_in", Numeric, nullable=False),
    Column("second_in", Numeric),
    Column("length_ft", Numeric, nullable=False),
    Column("moisture_pct", Numeric, nullable=False),
    Column("moisture_depth_in", Numeric),
    Column("read_on", Date),
    Column("species", Text, nullable=False),
    Column("cut", Text, nullable=False),
    Column("where_kept", Text, nullable=False),
    Column("held_for", Text),
    Column("held_until", Date),
    CheckConstraint("code ~ '^[a-z0-9_.]+$' AND length(code) <= 80", name="code_form"),
    CheckConstraint("section_in > 0 AND section_in < 'Infinity'::numeric", name="section_real"),
    CheckConstraint("second_in > 0 AND second_in < 'Infinity'::numeric", name="second_real"),
    CheckConstraint("length_ft > 0 AND length_ft < 'Infinity'::numeric", name="length_real"),
    CheckConstraint("moisture_pct >= 0 AND moisture_pct <= 300", name="moisture_real"),
    CheckConstraint("moisture_depth_in >= 0 AND moisture_depth_in < 'Infinity'::numeric", name="moisture_depth_real"),
    CheckConstraint("held_until IS NULL OR held_for IS NOT NULL", name="held_for_a_job"),
    comment="Pieces of wood in a yard, as one count found them.",
)

hours_report = Table(
    "hours_report",
    metadata,
    Column("id", BigInteger, Identity(always=True), primary_key=True),
    Column("region_id", Integer, ForeignKey("region.id"), nullable=False),
    Column("job", Text, nullable=False),
    Column("done_on", Date, nullable=False),
    Column("method", Text, nullable=False),
    Column("element", Text, nullable=False),
    Column("rates", Text, nullable=False),
    Column("quoted_hours", Numeric, nullable=False),
    Column("actual_hours", Numeric, nullable=False),
    Column("crew", Integer),
    Column("note", Text, nullable=False),
    Column("corrects_id", BigInteger, unique=True),
    Column("counts", Boolean, nullable=False),
    Column("norms", JSONB, nullable=False),
    Column("reported_at", DateTime(timezone=True), nullable=False, server_default=func.now()),
    Column("who", Text, nullable=False),
    Column("name", Text, nullable=False),
    UniqueConstraint("region_id", "job", "method", "element", "id"),
    # A correction is of the same region, job, method and member as what it corrects.
    ForeignKeyConstraint(
        ["region_id", "job", "method", "element", "corrects_id"],
        [f"hours_report.{name}" for name in ("region_id", "job", "method", "element", "id")],
    ),
    CheckConstraint("quoted_hours > 0 AND quoted_hours < 'Infinity'::numeric", name="quoted_real"),
    CheckConstraint("actual_hours > 0 AND actual_hours < 'Infinity'::numeric", name="actual_real"),
    CheckConstraint("crew > 0", name="crew_real"),
    CheckConstraint("corrects_id < id", name="corrects_an_older_one"),
    CheckConstraint("counts OR corrects_id IS NOT NULL", name="takes_back_another"),
    Index("ix_hours_report_region_id_id", "region_id", "id"),
    Index(
        "uq_hours_report_first", "region_id", "job", "method", "element", unique=True,
        postgresql_where=text("corrects_id IS NULL"),
    ),
    comment="Hours that jobs really took beside those that were quoted. One report corrects another; none is changed.",
)

api_key = Table(
    "api_key",
    metadata,
    Column("id", Text, primary_key=True),
    Column("owner", Text, nullable=False, index=True),
    Column("sort", Text, nullable=False),
    Column("name", Text, nullable=False),
    Column("digest", LargeBinary, nullable=False, unique=True),
    Column("scopes", ARRAY(Text), nullable=False),
    Column("regions", ARRAY(Text)),
    Column("origins", ARRAY(Text), nullable=False),
    Column("per_minute", Integer, nullable=False),
    Column("made_at", DateTime(timezone=True), nullable=False, server_default=func.now()),
    Column("made_by", Text, nullable=False),
    Column("expires_at", DateTime(timezone=True)),
    Column("revoked_at", DateTime(timezone=True)),
    Column("last_used_at", DateTime(timezone=True)),
    CheckConstraint(_one_of("sort", ("server", "form")), name="sort_known"),
    CheckConstraint("per_minute >= 0", name="per_minute_real"),
    CheckConstraint(f"scopes <@ ARRAY[{', '.join(repr(scope) for scope in SCOPES)}]", name="scopes_known"),
    # A check takes NULL for true, so that every region (NULL) has to be named.
    CheckConstraint(
        "sort <> 'form' OR (scopes = ARRAY['quote'] AND regions IS NOT NULL AND cardinality(regions) = 1"
        " AND cardinality(origins) > 0)",
        name="form_is_narrow",
    ),
    CheckConstraint("regions IS NULL OR cardinality(regions) > 0", name="regions_named"),
    comment="Keys of machines, as keyed digests. `owner` is shared by the two live keys of a rotation.",
)

audit_entry = Table(
    "audit_entry",
    metadata,
    Column("id", BigInteger, Identity(always=True), primary_key=True),
    Column("at", DateTime(timezone=True), nullable=False),
    Column("region_id", Integer, ForeignKey("region.id")),
    Column("who", Text, nullable=False),
    Column("name", Text, nullable=False),
    Column("address", Text, nullable=False),
    Column("request_id", Text, nullable=False),
    Column("action", Text, nullable=False),
    Column("subject", Text, nullable=False),
    # Text and not a JSON type: its digest is taken over these very bytes.
    Column("details", Text, nullable=False),
    Column("previous", LargeBinary, nullable=False, unique=True),
    Column("digest", LargeBinary, nullable=False),
    CheckConstraint("length(digest) = 32 AND length(previous) = 32", name="digests_whole"),
    Index("ix_audit_entry_region_id_id", "region_id", "id"),
    comment="Who did what from where. Each entry holds the digest of the one before it.",
)

once = Table(
    "once",
    metadata,
    Column("caller", Text, primary_key=True),
    Column("key", Text, primary_key=True),
    Column("digest", LargeBinary, nullable=False),
    Column("answer", LargeBinary, nullable=False),
    Column("made_at", DateTime(timezone=True), nullable=False, server_default=func.now(), index=True),
    comment="Creates that happened, with the answer that was given, for callers that ask again.",
)

quota_use = Table(
    "quota_use",
    metadata,
    Column("subject", Text, primary_key=True),
    Column("window_start", DateTime(timezone=True), primary_key=True),
    Column("used", Integer, nullable=False),
    prefixes=["UNLOGGED"],
    comment="Requests counted against quotas, for all processes together.",
)

"""What keys look like over HTTP."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Literal

from msgspec import UNSET, Meta, Struct, UnsetType

from service.application.access import SCOPES, Scope
from service.application.keys import MOST, NAME_CHARACTERS, PER_MINUTE
from service.web import limits
from service.web.requests import NO_CONTROL

EVERYWHERE = "*"
"""What stands for every region, alone in the list."""
INSTANT = r"^20[0-9]{2}-[01][0-9]-[0-3][0-9]T[0-2][0-9]:[0-5][0-9]:[0-5][0-9]Z$"

Name = Annotated[str, Meta(
    min_length=1, max_length=NAME_CHARACTERS, extra_json_schema={"pattern": NO_CONTROL}, examples=["CRM of the office"],
    description="What people call it.",
)]
Scopes = Annotated[list[Scope], Meta(
    min_length=1, max_length=len(SCOPES), examples=[["quote", "rates:read"]], description="What it may do.",
)]
RegionOrAll = Annotated[str, Meta(
    max_length=limits.CODE_CHARACTERS, extra_json_schema={"pattern": r"^([a-z0-9][a-z0-9-]*|\*)$"},
    extra={"form": "the code of a region, or * for every one"},
)]
Regions = Annotated[list[RegionOrAll], Meta(
    min_length=1, max_length=MOST, examples=[["kestrel-range"]],
    description='Codes of the regions that it reaches, or ["*"] for every one.',
)]
Origin = Annotated[str, Meta(
    max_length=270, extra_json_schema={"pattern": r"^https?://[a-z0-9.:-]+$"},
    extra={"form": "the origin of a website without a path, such as https://www.example.com"},
)]
Origins = Annotated[list[Origin], Meta(
    max_length=MOST, examples=[["https://www.example.com"]], description="Websites of a form. A server's key has none.",
)]
PerMinute = Annotated[int, Meta(
    ge=0, le=PER_MINUTE, examples=[120], description="Most requests a minute; 0 for the service's own limit. More than that "
                                             "is for the head office to give.",
)]
Instant = Annotated[str, Meta(
    max_length=20, extra_json_schema={"pattern": INSTANT, "format": "date-time"}, examples=["2027-01-01T00:00:00Z"],
    extra={"form": "a time in UTC such as 2027-01-01T00:00:00Z"},
)]


class KeyRequest(Struct, frozen=True, forbid_unknown_fields=True):
    """A key to be made.

    Attributes:
        sort: server for a secret key; form for one that stands in a website, where everybody can read it. Left out: server.
        expires_at: when it ends, in UTC. Left out: never.
    """

    name: Name
    scopes: Scopes
    regions: Regions
    sort: Literal["server", "form"] | UnsetType = UNSET
    origins: Origins | UnsetType = UNSET
    per_minute: PerMinute | UnsetType = UNSET
    expires_at: Instant | UnsetType = UNSET


class Rotation(Struct, frozen=True, forbid_unknown_fields=True):
    """How a key is rotated.

    Attributes:
        old_ends_at: when the old key ends at the latest, in UTC. Left out: in a week.
        expires_at: when the new key ends, in UTC. Left out: when the old one was to end before.
    """

    old_ends_at: Instant | UnsetType = UNSET
    expires_at: Instant | UnsetType = UNSET


class Key(Struct, frozen=True, kw_only=True):
    """A key, without what could be used.

    Attributes:
        id: its public part, by which the audit log calls it.
        owner: id of the first key of its rotation; keys that follow each other share it.
        sort: server or form.
        name: what people call it.
        scopes: what it may do.
        regions: codes of the regions that it reaches, or ["*"] for every one.
        origins: websites of a form.
        per_minute: most requests a minute; 0 for the service's own limit.
        valid: whether it is valid now.
        made_at: when it was made.
        made_by: who made it, as the audit log calls them.
        expires_at: when it ends; null for never.
        revoked_at: when it was taken back; null if it was not.
        last_used_at: when it was last used, to half a minute; null if it never was.
    """

    id: str
    owner: str
    sort: str
    name: str
    scopes: list[str]
    regions: list[str]
    origins: list[str]
    per_minute: int
    valid: bool
    made_at: datetime
    made_by: str
    expires_at: datetime | None
    revoked_at: datetime | None
    last_used_at: datetime | None


class ReplacedKey(Struct, frozen=True):
    """The key whose place another one takes.

    Attributes:
        id: its public part.
        ends_at: when it ends. Until then both are valid.
    """

    id: str
    ends_at: datetime


class NewKey(Key, frozen=True, kw_only=True):
    """A key that has just been made.

    Attributes:
        key: the whole key. It is shown this once and kept nowhere.
        replaces: the key whose place it takes; null where it takes no other's.
    """

    key: str
    replaces: ReplacedKey | None


class Keys(Struct, frozen=True):
    """A page of keys; those that follow each other stand beside each other, the eldest first.

    Attributes:
        keys: the keys.
        next_cursor: what `cursor` of the next page is; null on the last page.
    """

    keys: list[Key]
    next_cursor: str | None

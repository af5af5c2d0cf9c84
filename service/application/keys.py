"""Making, rotating and taking back keys: what a key may be, and who may make it."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import Literal, Protocol

from service.application.access import SCOPES, Asker, Caller, Once
from service.application.keyring import NewKey, new_key
from service.application.plain_text import unseen_in
from service.application.ports import BooksUnavailableError, NotStoredError

ORIGIN = r"https?://[a-z0-9](?:[a-z0-9.-]{0,251}[a-z0-9])?(?::[0-9]{1,5})?"
"""Form of a website's origin, as browsers send it."""
OLD_ENDS = timedelta(days=7)
"""How long the old key of a rotation goes on, if nobody says otherwise."""
NAME_CHARACTERS = 120
PER_MINUTE = 1_000_000
MOST = 100
"""Most scopes, regions or origins of one key."""
MOST_VALID = 200
"""Most valid keys that reach a region: every process holds them all, so a region must not make them without end."""

Path = tuple[str | int, ...]


class KeyWishError(ValueError):
    """A key cannot be made so. `faults` says everything that is wrong, each with its place in the wish."""

    def __init__(self, *faults: tuple[Path, str]) -> None:
        """Keep the faults."""
        super().__init__("; ".join(f"{'/'.join(map(str, path))} {detail}" for path, detail in faults))
        self.faults = faults


class BeyondError(Exception):
    """Somebody would give a key more than they hold themselves. The message says what, for people."""


class BeyondRegionsError(Exception):
    """Somebody would make a key for regions that they do not reach."""


class UnknownKeyError(LookupError):
    """No key has this id, or it is of regions that the caller does not reach."""


class NotRotatedError(Exception):
    """The key cannot be rotated now. The message says why and what to do, for people."""


class KeyShownError(Exception):
    """The create was made before, and its key was shown then: its text is kept nowhere."""

    def __init__(self, name: str) -> None:
        """Name the key that was made."""
        super().__init__(name)
        self.id = name


class NoSecretError(Exception):
    """The service has no secret under which keys could be stored."""


@dataclass(frozen=True, slots=True)
class KeyWish:
    """A key to be made.

    Attributes:
        sort: "server" for a secret key, "form" for one that stands in a website for everybody to read.
        name: what people call it.
        scopes: what it may do.
        regions: codes of the regions that it reaches; None for every region.
        origins: websites of a form.
        per_minute: most requests a minute; 0 for the service's own limit.
        expires_at: when it ends; None for never.
    """

    sort: Literal["server", "form"]
    name: str
    scopes: tuple[str, ...]
    regions: tuple[str, ...] | None
    origins: tuple[str, ...] = ()
    per_minute: int = 0
    expires_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class KeyRecord:
    """A key as the store has it: everything but what could be used.

    Attributes:
        id: its public part.
        owner: id of the first key of its rotation, shared by all that followed.
        wish: what was made.
        made_at, made_by: when, and by whom as the audit log calls them.
        revoked_at: when it was taken back; None if it was not.
        last_used_at: when it was last used, to half a minute; None if it never was.
    """

    id: str
    owner: str
    wish: KeyWish
    made_at: datetime
    made_by: str
    revoked_at: datetime | None
    last_used_at: datetime | None

    def lives(self, now: datetime) -> bool:
        """Whether it is valid."""
        return self.revoked_at is None and (self.wish.expires_at is None or now < self.wish.expires_at)


@dataclass(frozen=True, slots=True)
class Made:
    """A key that has just been made, with its text: the only time that it is seen.

    Attributes:
        old: the key whose place it takes, with its end as it is now; None for a key that takes no other's.
    """

    record: KeyRecord
    text: str
    old: KeyRecord | None = None


class KeyStore(Protocol):
    """Where keys are kept. `within` are the codes of the regions that the caller reaches, None for every one."""

    async def add(self, asker: Asker, once: Once | None, key: NewKey, wish: KeyWish) -> KeyRecord:
        """Keep a new key. Raises KeyWishError for regions that are not there or have keys enough, KeyShownError."""
        ...

    async def follow(
        self, asker: Asker, once: Once | None, old: str, key: NewKey, old_ends_at: datetime, expires_at: datetime | None
    ) -> tuple[KeyRecord, KeyRecord]:
        """Keep a key that follows another of the same owner and binding: that one, and the other with its new end.

        Raises:
            UnknownKeyError, NotRotatedError, KeyShownError.
        """
        ...

    async def revoke(self, asker: Asker, name: str, within: frozenset[str] | None) -> None:
        """Take a key back; one that was taken back stays as it is. Raises UnknownKeyError."""
        ...

    async def one(self, name: str, within: frozenset[str] | None) -> KeyRecord:
        """One key. Raises UnknownKeyError."""
        ...

    async def several(self, within: frozenset[str] | None, after: str | None, limit: int) -> tuple[KeyRecord, ...]:
        """Keys of one owner beside each other, the eldest first, behind the key `after`. Raises UnknownKeyError."""
        ...


@dataclass(frozen=True, slots=True)
class KeyDesk:
    """Who may make which key.

    Attributes:
        store: where keys are kept.
        pepper: secret of the digests; b"" for a service without keys.
        now: the time, with its zone.
        usual: most requests a minute of a key of each sort that has no quota of its own; 0 or none for no limit.
        ended: told the id of a key that this desk has ended, so that this process goes by it at once.
    """

    store: KeyStore
    pepper: bytes
    now: Callable[[], datetime]
    usual: Mapping[str, int] = field(default_factory=dict)
    ended: Callable[[str], None] = lambda _: None

    async def make(self, asker: Asker, wish: KeyWish, once: Once | None = None) -> Made:
        """Make a key.

        Raises:
            NoSecretError, KeyWishError, BeyondError, BeyondRegionsError, KeyShownError, OnceConflictError, NotStoredError.
        """
        self._check_secret()
        faults = faults_of(wish, self.now())
        if faults:
            raise KeyWishError(*faults)
        check_reach(asker.caller, wish)
        check_quota(asker.caller, wish, self.usual.get(wish.sort, 0))
        key = new_key(wish.sort, self.pepper)
        return Made(await self.store.add(asker, once, key, wish), key.text)

    async def rotate(
        self, asker: Asker, name: str, old_ends_at: datetime | None = None, expires_at: datetime | None = None,
        once: Once | None = None,
    ) -> Made:
        """Make a key that takes another's place. Both are valid until the old one ends.

        Args:
            asker: who rotates it: they must hold all that it holds, because they see the new key's text.
            name: id of the old key.
            old_ends_at: when the old one ends at the latest; None for a week from now.
            expires_at: when the new one ends; None for when the old one was to end from the first.
            once: the create that must happen once.

        Raises:
            NoSecretError, UnknownKeyError, KeyWishError, BeyondError, NotRotatedError, KeyShownError, OnceConflictError,
            NotStoredError.
        """
        self._check_secret()
        try:
            old = await self.store.one(name, asker.caller.regions)
        except BooksUnavailableError as away:
            raise NotStoredError(str(away)) from away
        if expires_at is not None and expires_at <= self.now():
            raise KeyWishError((("expires_at",), PAST))
        check_reach(asker.caller, old.wish)
        key = new_key(old.wish.sort, self.pepper)
        ends = old_ends_at or self.now() + OLD_ENDS
        made, before = await self.store.follow(asker, once, name, key, ends, expires_at)
        if not before.lives(self.now()):
            self.ended(name)
        return Made(made, key.text, before)

    async def revoke(self, asker: Asker, name: str) -> None:
        """Take a key back. Raises UnknownKeyError, NotStoredError."""
        await self.store.revoke(asker, name, asker.caller.regions)
        self.ended(name)

    async def one(self, caller: Caller, name: str) -> KeyRecord:
        """A key that the caller may see. Raises UnknownKeyError, BooksUnavailableError."""
        return await self.store.one(name, caller.regions)

    async def several(self, caller: Caller, after: str | None = None, limit: int = MOST) -> tuple[KeyRecord, ...]:
        """Keys that the caller may see. Raises UnknownKeyError for `after`, BooksUnavailableError."""
        return await self.store.several(caller.regions, after, limit)

    def _check_secret(self) -> None:
        if not self.pepper:
            raise NoSecretError


PAST = "must lie in the future."


def faults_of(wish: KeyWish, now: datetime) -> list[tuple[Path, str]]:
    """Everything that is wrong with a wish, each with its place."""
    faults: list[tuple[Path, str]] = []
    if not wish.name.strip() or len(wish.name) > NAME_CHARACTERS or unseen_in(wish.name):
        faults.append((("name",), f"must be 1 to {NAME_CHARACTERS} characters without control characters."))
    faults += [
        (("scopes", k), f"must be one of {', '.join(SCOPES)}, not {scope!r}.")
        for k, scope in enumerate(wish.scopes) if scope not in SCOPES
    ]
    if not wish.scopes:
        faults.append((("scopes",), "must not be empty."))
    if wish.regions is not None and not wish.regions:
        faults.append((("regions",), "must not be empty: name at least one region."))
    if not 0 <= wish.per_minute <= PER_MINUTE:
        faults.append((("per_minute",), f"must be from 0 to {PER_MINUTE}."))
    if wish.expires_at is not None and wish.expires_at <= now:
        faults.append((("expires_at",), PAST))
    return faults + (_faults_of_form(wish) if wish.sort == "form" else _faults_of_server(wish))


def _faults_of_form(wish: KeyWish) -> list[tuple[Path, str]]:
    """A form's key stands where everybody can read it, so it may do little, for one region, on named websites."""
    faults: list[tuple[Path, str]] = []
    if set(wish.scopes) - {"quote"}:
        faults.append((("scopes",), "may hold only quote: everybody can read a form's key."))
    if wish.regions is None or len(set(wish.regions)) != 1:
        faults.append((("regions",), "must name exactly one region."))
    if not wish.origins:
        faults.append((("origins",), "must name at least one website, like https://www.example.com."))
    faults += [
        (("origins", k), f"must be an origin like https://www.example.com, without a path, not {origin[:100]!r}.")
        for k, origin in enumerate(wish.origins) if not re.fullmatch(ORIGIN, origin)
    ]
    return faults


def _faults_of_server(wish: KeyWish) -> list[tuple[Path, str]]:
    return [(("origins",), "only a form's key has websites.")] if wish.origins else []


def check_reach(caller: Caller, wish: KeyWish) -> None:
    """Nobody gives what they do not hold.

    Raises:
        BeyondRegionsError, BeyondError.
    """
    if caller.regions is not None:
        if wish.regions is None:
            raise BeyondError("only the head office makes keys for every region")
        if set(wish.regions) - caller.regions:
            raise BeyondRegionsError
    missing = [scope for scope in SCOPES if scope in wish.scopes and not caller.may(scope)]
    if missing:
        raise BeyondError(f"you do not hold {', '.join(missing)} yourself")


def check_quota(caller: Caller, wish: KeyWish, usual: int) -> None:
    """A quota above the service's own takes from all regions, so only the head office gives it.

    Raises:
        BeyondError.
    """
    if caller.regions is not None and 0 < usual < wish.per_minute:
        raise BeyondError(f"only the head office gives a key more than {usual} requests a minute")


def followed(old: KeyRecord, live: list[KeyRecord], now: datetime, expires_at: datetime | None) -> KeyWish:
    """What the key holds that takes another's place.

    Args:
        old: the key whose place it takes.
        live: all keys of that owner that are valid now.
        now: the time.
        expires_at: when the new one ends; None for when the old one ends.

    Raises:
        NotRotatedError: the old key is not valid any more, or has been followed already.
    """
    if not old.lives(now):
        raise NotRotatedError(f"key {old.id} is not valid any more: make a new one")
    others = [key.id for key in live if key.id != old.id]
    if others:
        raise NotRotatedError(
            f"keys {old.id} and {', '.join(others)} are both valid: revoke the one that is not needed, or wait for its end"
        )
    return replace(old.wish, expires_at=expires_at or old.wish.expires_at)

"""Keys of machines: how they are written, and the ring of those that are valid.

A key is ``trk_<sort>_<id>_<secret>_<check>``. The secret is 32 random bytes, so a keyed digest is enough to store: it
cannot be guessed, and a slow hash would only make a stranger's call expensive. The check tells a mistyped key from an
unknown one without asking anybody.
"""

from __future__ import annotations

import hashlib
import hmac
import re
import secrets
import zlib
from dataclasses import dataclass
from typing import Literal

PREFIX = "trk"
FORM = re.compile(rf"{PREFIX}_(server|form)_([a-z0-9]{{12}})_([A-Za-z0-9_-]{{43}})_([0-9a-f]{{8}})", re.ASCII)
LONGEST = 120
"""Longest key that is looked at [characters]."""


@dataclass(frozen=True, slots=True)
class NewKey:
    """A key that has just been made. The only time that its text is seen.

    Attributes:
        id: its public part, by which people and the audit log call it.
        text: the whole key.
        digest: what is stored of it.
    """

    id: str
    text: str
    digest: bytes


def new_key(sort: Literal["server", "form"], pepper: bytes) -> NewKey:
    """A random key."""
    alphabet = "abcdefghijklmnopqrstuvwxyz0123456789"
    name = "".join(secrets.choice(alphabet) for _ in range(12))
    said = f"{PREFIX}_{sort}_{name}_{secrets.token_urlsafe(32)}"
    text = f"{said}_{_check(said)}"
    return NewKey(name, text, digest_of(text, pepper))


def digest_of(text: str, pepper: bytes) -> bytes:
    """HMAC-SHA256 of a key: without the pepper a stolen table is of no use."""
    return hmac.new(pepper, text.encode(), hashlib.sha256).digest()


def well_formed(text: str) -> bool:
    """Whether a text is written as a key is, check and all."""
    return len(text) <= LONGEST and FORM.fullmatch(text) is not None and text[-8:] == _check(text[:-9])


def _check(said: str) -> str:
    return f"{zlib.crc32(said.encode()):08x}"

"""Keys of the demonstration, for this machine only: made once, kept beside its database, and used again by the next start."""

from __future__ import annotations

import json
import os
import secrets
import subprocess
import sys
import urllib.error
import urllib.request
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
HEAD_OFFICE, FORM = "head-office", "website-form"
EVERYTHING = ("quote", "rates:read", "rates:write", "rates:publish", "admin")
FORM_ORIGINS = ("http://localhost:8080", "http://127.0.0.1:8080")
"""Where a demo form may stand: pages on this machine."""
PATIENCE_S = 30.0


class KeysError(RuntimeError):
    """The demo keys cannot be made; the message says why."""


@dataclass(frozen=True, slots=True)
class DemoKey:
    """A demo key, as it is told to whoever started the demonstration.

    Attributes:
        name: of the key and of its file.
        may: what it is for, in words.
        path: file that holds it.
        text: the key.
    """

    name: str
    may: str
    path: Path
    text: str


def demo_secret(folder: Path) -> str:
    """The secret under which this folder's keys are stored: the one that was set, or a random one that stays here."""
    if given := os.environ.get("SERVICE_KEY_SECRET"):
        return given
    path = folder.expanduser() / "keys" / "secret"
    if not path.exists():
        _keep(path, secrets.token_hex(32))
    return path.read_text(encoding="ascii").strip()


def demo_keys(folder: Path, environment: dict[str, str], address: str, form_region: str) -> list[DemoKey]:
    """The demo keys of a service that is ready; those that an earlier start left behind go on if they are still valid.

    Args:
        folder: data folder of the demonstration.
        environment: the service's own, for its command line.
        address: where the service listens.
        form_region: region whose website the demo form stands in.

    Raises:
        KeysError: the service makes no keys.
    """
    place = folder.expanduser() / "keys"
    head = _kept(place / HEAD_OFFICE, address) or _by_command(place / HEAD_OFFICE, environment)
    listed = _ask(address, "/v1/regions", head)
    told = [DemoKey(HEAD_OFFICE, "everything, in every region", place / HEAD_OFFICE, head)]
    for region in (one for one in listed["regions"] if one["parent"]):
        code = region["code"]
        wish = {"name": f"demo office {code}", "scopes": [s for s in EVERYTHING if s != "admin"], "regions": [code]}
        text = _kept(place / code, address) or _by_request(place / code, address, head, wish)
        told.append(DemoKey(code, f"quotes and rates of {region['name']}", place / code, text))
    wish = {"name": "demo form", "sort": "form", "scopes": ["quote"], "regions": [form_region], "origins": list(FORM_ORIGINS)}
    text = _kept(place / FORM, address) or _by_request(place / FORM, address, head, wish)
    told.append(DemoKey(FORM, f"quotes of {form_region} from a page on {FORM_ORIGINS[0]}", place / FORM, text))
    return told


def in_words(keys: list[DemoKey]) -> str:
    """What is printed of the keys."""
    wide = max(len(key.name) for key in keys)
    lines = [f"  {key.name:{wide}}  {key.may}\n  {'':{wide}}  {key.text}" for key in keys]
    return "\n".join([
        f"Demo keys, for this machine only. Each is a file in {keys[0].path.parent}:", "", *lines, "",
        "Elsewhere there is no key and no secret until somebody makes one: python -m service keys create --help",
    ])


def _kept(path: Path, address: str) -> str | None:
    """The key in a file, if the service still knows it."""
    if not path.exists():
        return None
    text = path.read_text(encoding="ascii").strip()
    try:
        _ask(address, "/v1/regions", text)
    except urllib.error.HTTPError as refused:
        # A form's key is refused outside of its website, and known all the same.
        return None if refused.code == 401 else text
    return text


def _by_command(path: Path, environment: dict[str, str]) -> str:
    """The first key: made on the command line, because nobody can ask for it yet."""
    command = (
        *(sys.executable, "-m", "service", "keys", "create", "--name", "demo head office"),
        *("--scopes", ",".join(EVERYTHING), "--regions", "all"),
    )
    done = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, check=False)
    if done.returncode:
        raise KeysError(f"no demo key could be made:\n{done.stderr}")
    return _keep(path, done.stdout.strip())


def _by_request(path: Path, address: str, head: str, wish: dict[str, Any]) -> str:
    try:
        return _keep(path, str(_ask(address, "/v1/keys", head, wish)["key"]))
    except urllib.error.HTTPError as refused:
        said = refused.read().decode(errors="replace")
        raise KeysError(f"no demo key could be made (status {refused.code}): {said}") from refused


def _ask(address: str, path: str, key: str, body: dict[str, Any] | None = None) -> dict[str, Any]:
    headers = {"Authorization": f"Bearer {key}", "Content-Type": "application/json"}
    sent = None if body is None else json.dumps(body).encode()
    request = urllib.request.Request(f"{address}{path}", data=sent, headers=headers)
    with urllib.request.urlopen(request, timeout=PATIENCE_S) as answer:
        read: dict[str, Any] = json.load(answer)
    return read


def _keep(path: Path, text: str) -> str:
    """Write a file that only we can read: wholly or not at all."""
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    half = path.with_name(f".{path.name}.{os.getpid()}")
    with os.fdopen(os.open(half, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w", encoding="ascii") as file:
        file.write(f"{text}\n")
    half.replace(path)
    return text

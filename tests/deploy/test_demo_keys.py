"""Demo keys: made once, readable by their owner only, used again, and made anew where they are of no use any more."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

from deploy.demo_keys import FORM, FORM_ORIGINS, HEAD_OFFICE, DemoKey, KeysError, demo_keys, demo_secret, in_words
from deploy.embedded import free_port
from deploy.guard import end_with_starter
from tests.conftest import ROOT

READY_S = 240.0
REGION = "kestrel-range"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder in a path with a space."""
    return tmp_path_factory.mktemp("a folder") / "data"


@pytest.fixture(scope="module")
def environment(folder: Path, loaded_url: str) -> dict[str, str]:
    """The environment of a demo service."""
    given = {"SERVICE_DATABASE_URL": loaded_url, "SERVICE_PORT": str(free_port()), "SERVICE_DATABASE_PATIENCE_S": "20"}
    return os.environ | given | {"SERVICE_KEY_SECRET": demo_secret(folder), "SERVICE_OPEN_SCOPES": "quote"}


@pytest.fixture(scope="module")
def address(environment: dict[str, str]) -> Iterator[str]:
    """The address of a demo service that runs."""
    service = subprocess.Popen(
        [sys.executable, "-m", "service", "serve"], cwd=ROOT, env=environment,
        preexec_fn=end_with_starter,  # noqa: PLW1509  # no thread of ours runs meanwhile
    )
    try:
        made = f"http://127.0.0.1:{environment['SERVICE_PORT']}"
        until = time.monotonic() + READY_S
        while status(f"{made}/readyz", None) != 200:
            assert service.poll() is None and time.monotonic() < until
            time.sleep(0.1)
        yield made
    finally:
        service.terminate()
        service.wait(READY_S)


def status(url: str, key: str | None, **headers: str) -> int:
    shown = {"Authorization": f"Bearer {key}"} if key else {}
    try:
        with urllib.request.urlopen(urllib.request.Request(url, headers={**shown, **headers}), timeout=10) as answer:
            return int(answer.status)
    except urllib.error.HTTPError as refused:
        return refused.code
    except OSError:
        return 0


@pytest.fixture
def keys(folder: Path, environment: dict[str, str], address: str) -> dict[str, DemoKey]:
    """The demo keys, by name."""
    return {key.name: key for key in demo_keys(folder, environment, address, REGION)}


def test_there_is_a_key_for_the_head_office_each_region_and_a_form(keys: dict[str, DemoKey], address: str) -> None:
    assert set(keys) == {HEAD_OFFICE, "heron-bayou", REGION, "sollavik", FORM}
    home, foreign = (f"{address}/v1/regions/{code}" for code in (REGION, "sollavik"))
    assert [status(home, keys[name].text) for name in (HEAD_OFFICE, REGION, "sollavik", FORM)] == [200, 200, 404, 403]
    assert status(foreign, keys[HEAD_OFFICE].text) == 200
    assert [status(f"{address}/v1/keys", keys[name].text) for name in (HEAD_OFFICE, REGION)] == [200, 403]
    assert status(f"{address}/v1/regions", keys[FORM].text, Origin=FORM_ORIGINS[0]) == 200


def test_the_files_are_for_their_owner_only(keys: dict[str, DemoKey], folder: Path) -> None:
    assert stat.S_IMODE((folder / "keys").stat().st_mode) == 0o700
    assert {path.name for path in (folder / "keys").iterdir()} == {*keys, "secret"}
    for path in (folder / "keys").iterdir():
        assert stat.S_IMODE(path.stat().st_mode) == 0o600, path.name
    assert {key.path.read_text().strip() for key in keys.values()} == {key.text for key in keys.values()}


def test_the_next_start_uses_them_again(
    keys: dict[str, DemoKey], folder: Path, environment: dict[str, str], address: str
) -> None:
    assert demo_secret(folder) == environment["SERVICE_KEY_SECRET"]
    assert {key.name: key for key in demo_keys(folder, environment, address, REGION)} == keys


def test_one_that_is_lost_or_spoiled_is_made_anew_and_the_others_stay(
    keys: dict[str, DemoKey], folder: Path, environment: dict[str, str], address: str
) -> None:
    keys["sollavik"].path.unlink()
    keys[HEAD_OFFICE].path.write_text("spoiled\n")
    again = {key.name: key for key in demo_keys(folder, environment, address, REGION)}
    assert {name for name in keys if again[name].text != keys[name].text} == {"sollavik", HEAD_OFFICE}
    assert status(f"{address}/v1/regions/sollavik", again["sollavik"].text) == 200


def test_they_are_told_as_what_they_are(keys: dict[str, DemoKey]) -> None:
    said = in_words(list(keys.values()))
    assert said.startswith("Demo keys, for this machine only.")
    assert [key.name for key in keys.values() if key.text not in said or key.name not in said] == []


def test_a_secret_is_random_and_stays_and_one_that_was_set_goes_before_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("SERVICE_KEY_SECRET", raising=False)
    first, other = demo_secret(tmp_path / "a"), demo_secret(tmp_path / "b")
    assert len(first) >= 32 and first != other
    assert demo_secret(tmp_path / "a") == first
    monkeypatch.setenv("SERVICE_KEY_SECRET", "one that somebody set, long enough")
    assert demo_secret(tmp_path / "a") == "one that somebody set, long enough"


def test_a_service_that_makes_no_keys_is_said_in_words(
    tmp_path: Path, environment: dict[str, str], address: str
) -> None:
    without = {name: value for name, value in environment.items() if name != "SERVICE_KEY_SECRET"}
    with pytest.raises(KeysError, match="SERVICE_KEY_SECRET"):
        demo_keys(tmp_path, without, address, REGION)

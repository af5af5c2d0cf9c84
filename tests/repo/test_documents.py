"""What the documents say is run: every command and request of the README, every name of a file."""

from __future__ import annotations

import json
import re
import shlex
import signal
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import pytest

from deploy.embedded import free_port
from deploy.guard import end_with_starter
from tests.conftest import ROOT

README = (ROOT / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"```sh\n(.*?)```", README, flags=re.DOTALL)
PORT = re.compile(r"127\.0\.0\.1:8080")
KEY = re.compile(r"\$\(cat \.data/([a-z/-]+)\)")


def commands() -> list[list[str]]:
    """Every command of the README, continuation lines joined."""
    lines = [line for block in BLOCKS for line in block.replace("\\\n", " ").splitlines() if line.strip()]
    return [shlex.split(line, comments=True) for line in lines]


def requests() -> list[list[str]]:
    """The commands that ask the service."""
    return [c for c in commands() if c[0] == "curl"]


@dataclass(frozen=True)
class Started:
    """The service as a reader has it.

    Attributes:
        address: where it listens, in place of the README's 127.0.0.1:8080.
        data: its folder, in place of the README's .data.
    """

    address: str
    data: Path

    def said(self, word: str) -> str:
        """A word of a command, as the reader's shell and machine would have it."""
        return KEY.sub(lambda found: (self.data / found[1]).read_text("utf-8").strip(), PORT.sub(self.address, word))


@pytest.fixture(scope="module")
def started(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Started]:
    """The service as the README's start command starts it, in this environment, on a free port and folder."""
    start = next(c for c in commands() if c[-1] == "deploy/start.py")
    assert start[0] == "python3"
    port = free_port()
    folder = tmp_path_factory.mktemp("read me")
    # The environment is the one that start.py has made by then; making it is tested beside it.
    process = subprocess.Popen(
        [sys.executable, "deploy/demo.py", "--port", str(port), "--data-dir", str(folder)],
        cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
        preexec_fn=end_with_starter,  # noqa: PLW1509  # no thread of ours runs meanwhile
    )
    assert process.stdout is not None
    try:
        said = ""
        for line in process.stdout:
            said += line
            if "serving until" in line:
                break
        else:
            raise AssertionError(said)
        yield Started(f"127.0.0.1:{port}", folder)
    finally:
        for how in (signal.SIGTERM, signal.SIGKILL):
            process.send_signal(how)
            with suppress(subprocess.TimeoutExpired):
                process.communicate(timeout=60.0)
                break


def ask(command: list[str], started: Started) -> tuple[int, bytes]:
    """What the service answers to a curl command of the README."""
    url, body, headers, method = "", None, {}, None
    words = iter(started.said(word) for word in command[1:])
    for word in words:
        if word == "-H":
            name, value = next(words).split(":", 1)
            headers[name] = value.strip()
        elif word in ("-d", "--data-binary"):
            said = next(words)
            body = (ROOT / said[1:]).read_bytes() if said.startswith("@") else said.encode()
        elif word == "-X":
            method = next(words)
        elif not word.startswith("-"):
            url = word
    request = urllib.request.Request(url, data=body, headers=headers, method=method)
    with urllib.request.urlopen(request, timeout=30.0) as answer:
        return answer.status, answer.read()


def test_every_request_of_the_readme_is_answered(started: Started) -> None:
    """A reader who copies the requests in their order gets answers, and a quote has a first plan."""
    assert requests()
    for command in requests():
        status, body = ask(command, started)

        assert status in (200, 201, 204), command
        if "/v1/quotes" in " ".join(command):
            assert json.loads(body)["defects"][0]["headline"]


def test_every_route_of_the_readme_is_there(started: Started) -> None:
    """The table of routes names what is served."""
    table = README.split("| route |")[1].split("\n\n")[0]
    for route in sorted(set(re.findall(r"`(?:GET )?(/[a-z0-9/.-]+)`", table))):
        key = "Authorization: Bearer $(cat .data/keys/head-office)"
        status, _ = ask(["curl", "-H", key, f"http://127.0.0.1:8080{route}"], started)

        assert status == 200, route


def test_the_benchmark_of_the_readme_prints_its_table() -> None:
    """It is a program and judges nothing: it runs, and prints every ratio beside its aim."""
    command = next(c for c in commands() if "tests.bench" in c)
    done = subprocess.run([sys.executable, *command[1:]], cwd=ROOT, capture_output=True, text=True, check=False)

    assert done.returncode == 0, done.stderr
    for words in ("ballpark: engine / (decode + encode)", "job of 300", "naive / engine"):
        assert words in done.stdout


def test_the_propagation_of_the_readme_prints_how_soon_replicas_quote() -> None:
    command = next(c for c in commands() if "tests.bench.propagation" in c)
    done = subprocess.run([sys.executable, *command[1:]], cwd=ROOT, capture_output=True, text=True, check=False)

    assert done.returncode == 0, done.stderr
    assert "median" in done.stdout


def test_every_command_of_the_readme_is_run_here() -> None:
    """No command stands there that no test runs."""
    run = {"deploy/start.py", "deploy/test.py", "tests.bench", "tests.bench.propagation"}

    assert [c for c in commands() if c[0] != "curl" and not run & set(c)] == []


def test_continuous_integration_runs_the_test_command_of_the_readme() -> None:
    """One command passes the tests, here and there."""
    command = next(" ".join(c) for c in commands() if c[-1] == "deploy/test.py")

    assert command in (ROOT / ".ci" / "run").read_text(encoding="utf-8")


@pytest.mark.parametrize("document", ["README.md", "DEVELOPERS.md", "fixtures/rates/README.md"])
def test_every_file_that_a_document_links_is_there(document: str) -> None:
    """No link leads nowhere."""
    path = ROOT / document
    for target in re.findall(r"\]\(([^)#:]+)\)", path.read_text(encoding="utf-8")):
        assert (path.parent / target).exists(), target


def test_every_folder_in_the_picture_of_the_layers_exists() -> None:
    """The picture in DEVELOPERS.md is of this code."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    for folder in re.findall(r"^ {4}((?:service|fixtures|deploy)/[a-z/]*)", text, flags=re.MULTILINE):
        assert Path(ROOT / folder).is_dir(), folder


def test_decisions_are_numbered_without_gaps() -> None:
    """A number of a decision is never used twice and none is lost."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").split("## Decisions")[1]
    numbers = [int(n) for n in re.findall(r"^(\d+)\. \*\*", text, flags=re.MULTILINE)]

    assert numbers == list(range(1, len(numbers) + 1))

"""The command line: python -m service serve | migrate | load | keys | audit | openapi."""

from __future__ import annotations

import signal

if __name__ == "__main__" and signal.getsignal(signal.SIGINT) is signal.default_int_handler:
    # A key press while the rest is read ends the command without a trace of where it was; `serve` listens for itself later.
    signal.signal(signal.SIGINT, signal.SIG_DFL)

import argparse
import asyncio
import getpass
import json
import os
import sys
from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy.exc import ProgrammingError
from sqlalchemy.ext.asyncio import AsyncConnection

from service import bootstrap
from service.application.access import SCOPES, at_the_command_line
from service.application.audit import AuditQuestion
from service.application.keys import (
    KeyDesk,
    KeyRecord,
    KeyWish,
    KeyWishError,
    Made,
    NoSecretError,
    NotRotatedError,
    UnknownKeyError,
)
from service.application.ports import BooksUnavailableError, NotStoredError, OutcomeUnknownError, UnknownRegionError
from service.settings import SettingsError, from_environment
from service.storage.audit_log import verify, walk
from service.storage.folders import FolderError

OPTIONS = {"per_minute": "--per-minute", "expires_at": "--expires"}
"""Options that are called otherwise than what they say of a key."""


def main(arguments: list[str]) -> int:
    """Run one command. Returns the exit status: 0; 1 for a broken audit log; 2 when something given cannot be used."""
    asked = _parser().parse_args(arguments)
    try:
        return _run(asked)
    except KeyWishError as fault:
        for path, detail in fault.faults:
            print(f"{OPTIONS.get(str(path[0]), f'--{path[0]}')}: {detail}", file=sys.stderr)
    except UnknownKeyError as fault:
        print(f"there is no key {fault}", file=sys.stderr)
    except NoSecretError:
        print("SERVICE_KEY_SECRET must be set: keys are stored under it", file=sys.stderr)
    except ProgrammingError:
        print("the database has not the schema of this service; bring it up to date: python -m service migrate", file=sys.stderr)
    except (
        SettingsError, FolderError, NotRotatedError, UnknownRegionError, BooksUnavailableError, NotStoredError,
        OutcomeUnknownError,
    ) as fault:
        print(fault, file=sys.stderr)
    return 2


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m service", description=__doc__)
    commands = parser.add_subparsers(dest="command", required=True)
    commands.add_parser("serve", help="answer requests until stopped")
    migrate = commands.add_parser("migrate", help="bring the database's schema up to date")
    migrate.add_argument("to", nargs="?", default="head", help="head, base, or a revision")
    load = commands.add_parser("load", help="load folders of regions with their books and stock")
    load.add_argument("folder", type=Path)
    commands.add_parser("openapi", help="print the API's contract")
    _add_keys(commands.add_parser("keys", help="make, list, rotate and take back keys"))
    _add_audit(commands.add_parser("audit", help="walk the audit log, or write it out"))
    return parser


def _add_audit(audit: argparse.ArgumentParser) -> None:
    does = audit.add_subparsers(dest="does", required=True)
    verify = does.add_parser("verify", help="walk the log from its first entry and say the first that is not as it was written")
    verify.add_argument(
        "--expect", action="append", default=[], type=_digest, metavar="DIGEST",
        help="a digest that was noted earlier: it must still be in the log, or its end was cut off",
    )
    export = does.add_parser("export", help="print all entries, the oldest first, one JSON object a line")
    export.add_argument("--region", help="only entries that tell of this region")


def _digest(text: str) -> str:
    if len(bytes.fromhex(text)) != 32:
        raise ValueError(text)
    return text.lower()


def _add_keys(keys: argparse.ArgumentParser) -> None:
    does = keys.add_subparsers(dest="does", required=True)
    create = does.add_parser("create", help="make a key and print it, this once")
    create.add_argument("--name", required=True, help="what people call it")
    create.add_argument("--scopes", required=True, type=_listed, help=f"with commas between: {', '.join(SCOPES)}")
    create.add_argument("--regions", required=True, type=_listed, help="codes with commas between, or all")
    create.add_argument("--sort", default="server", choices=("server", "form"), help="form: for a website, where all can read it")
    create.add_argument("--origins", default=(), type=_listed, help="websites of a form: https://www.example.com")
    create.add_argument("--per-minute", default=0, type=int, help="most requests a minute; 0 for the service's own limit")
    create.add_argument("--expires", type=_instant, help="when it ends: a day or a time, in UTC unless it says otherwise")
    does.add_parser("list", help="list all keys, without their text")
    rotate = does.add_parser("rotate", help="make a key that takes another's place, and print it, this once")
    rotate.add_argument("id")
    rotate.add_argument("--old-ends", type=_instant, help="when the old one ends (a week from now)")
    rotate.add_argument("--expires", type=_instant, help="when the new one ends (as the old one was to)")
    revoke = does.add_parser("revoke", help="take a key back, at once")
    revoke.add_argument("id")


def _listed(text: str) -> tuple[str, ...]:
    return tuple(word.strip() for word in text.split(",") if word.strip())


def _instant(text: str) -> datetime:
    """A day or a time; argparse tells of a ValueError in its own words."""
    told = datetime.fromisoformat(text)
    return told if told.tzinfo else told.replace(tzinfo=UTC)


def _run(asked: argparse.Namespace) -> int:
    if asked.command == "openapi":
        print(json.dumps(bootstrap.contract(), indent=2, ensure_ascii=False))
        return 0
    settings = from_environment(os.environ)
    if asked.command == "serve":
        bootstrap.serve(settings)
    elif asked.command == "migrate":
        asyncio.run(bootstrap.migrate(settings, asked.to))
    elif asked.command == "keys":
        asyncio.run(bootstrap.with_keys(settings, lambda desk: _keys(desk, asked)))
    elif asked.command == "audit":
        return asyncio.run(bootstrap.with_connection(settings, lambda connection: _audit(connection, asked)))
    else:
        for done in asyncio.run(bootstrap.load(settings, asked.folder)):
            print(f"{done.region}: {done.kind} of {done.rows} rows {done.outcome}")
    return 0


async def _audit(connection: AsyncConnection, asked: argparse.Namespace) -> int:
    if asked.does == "export":
        async for entry in walk(connection, AuditQuestion(region=asked.region)):
            print(json.dumps({**asdict(entry), "at": entry.at.isoformat()}, ensure_ascii=False))
        return 0
    found = await verify(connection, asked.expect)
    if found.why:
        where = "" if found.broken is None else f"entry {found.broken}: "
        print(f"{where}{found.why} ({found.entries} entries before it are whole)", file=sys.stderr)
        return 1
    print(f"{found.entries} entries, all whole; note the digest of the newest elsewhere:\n{found.newest}")
    return 0


async def _keys(desk: KeyDesk, asked: argparse.Namespace) -> None:
    asker = at_the_command_line(_user())
    if asked.does == "create":
        regions = None if asked.regions == ("all",) else asked.regions
        wish = KeyWish(
            asked.sort, asked.name, asked.scopes, regions, asked.origins, per_minute=asked.per_minute, expires_at=asked.expires
        )
        _show(await desk.make(asker, wish))
    elif asked.does == "rotate":
        _show(await desk.rotate(asker, asked.id, asked.old_ends, asked.expires))
    elif asked.does == "revoke":
        await desk.revoke(asker, asked.id)
        print(f"key {asked.id} is not valid any more", file=sys.stderr)
    else:
        after, more = None, True
        while more:
            page = await desk.several(asker.caller, after)
            for record in page:
                print(_line(record, desk.now()))
            after, more = page[-1].id if page else None, bool(page)


def _show(made: Made) -> None:
    """The key alone goes to the output, so that a script can catch it."""
    if made.old is not None and made.old.wish.expires_at is not None:
        print(f"key {made.old.id} ends {made.old.wish.expires_at:%Y-%m-%d %H:%M} UTC", file=sys.stderr)
    print(f"key {made.record.id}, shown this once:", file=sys.stderr)
    print(made.text)


def _line(record: KeyRecord, now: datetime) -> str:
    wish = record.wish
    state = "revoked" if record.revoked_at else "valid" if record.lives(now) else "expired"
    ends = f"ends {wish.expires_at:%Y-%m-%d %H:%M} UTC" if wish.expires_at else "no end"
    used = f"used {record.last_used_at:%Y-%m-%d %H:%M} UTC" if record.last_used_at else "never used"
    regions = "all" if wish.regions is None else ",".join(wish.regions)
    return "  ".join((record.id, f"{state:7}", f"{wish.sort:6}", wish.name, ",".join(wish.scopes), regions, ends, used))


def _user() -> str:
    """Who runs the command, for the audit log; a container's user may have no name."""
    try:
        return getpass.getuser()
    except (KeyError, OSError):
        return f"user {os.getuid()}"


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

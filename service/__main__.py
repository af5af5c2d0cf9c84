"""The command line: python -m service serve | migrate | load | openapi."""

from __future__ import annotations

import argparse
import asyncio
import json
import os
import sys
from pathlib import Path

from service import bootstrap
from service.settings import SettingsError, from_environment
from service.storage.folders import FolderError


def main(arguments: list[str]) -> int:
    """Run one command. Returns the exit status: 0, or 2 when settings or fixtures cannot be used."""
    parser = argparse.ArgumentParser(prog="python -m service", description=__doc__)
    commands = parser.add_subparsers(dest="command", required=True)
    commands.add_parser("serve", help="answer requests until stopped")
    migrate = commands.add_parser("migrate", help="bring the database's schema up to date")
    migrate.add_argument("to", nargs="?", default="head", help="head, base, or a revision")
    load = commands.add_parser("load", help="load folders of regions with their books and stock")
    load.add_argument("folder", type=Path)
    commands.add_parser("openapi", help="print the API's contract")
    asked = parser.parse_args(arguments)
    try:
        _run(asked)
    except (SettingsError, FolderError) as fault:
        print(fault, file=sys.stderr)
        return 2
    return 0


def _run(asked: argparse.Namespace) -> None:
    if asked.command == "openapi":
        print(json.dumps(bootstrap.contract(), indent=2, ensure_ascii=False))
        return
    settings = from_environment(os.environ)
    if asked.command == "serve":
        bootstrap.serve(settings)
    elif asked.command == "migrate":
        asyncio.run(bootstrap.migrate(settings, asked.to))
    else:
        for done in asyncio.run(bootstrap.load(settings, asked.folder)):
            print(f"{done.region}: {done.kind} of {done.rows} rows {done.outcome}")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

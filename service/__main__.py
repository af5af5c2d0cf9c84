"""The command line: python -m service serve | migrate | load | openapi."""

from __future__ import annotations

import sys

from service.bootstrap import main

sys.exit(main(sys.argv[1:]))

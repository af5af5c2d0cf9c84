"""Limits of a request, in one place: the decoder holds them, the contract and the catalogue publish them."""

from __future__ import annotations

from datetime import date

from service.application.draft_lines import MOST_LINES
from service.application.drafts import MOST_DRAFTS

BODY_BYTES = 512 * 1024
"""Longest body [B]. 300 measured defects are about 250 kB."""
DEFECTS = 300
"""Most defects in one request."""
PIECES = 200
"""Most values in a list of one value a piece."""
GROUPS = 400
"""Most groups of alike pieces in one request: each is as much work as a defect."""
FORM_GROUPS = 20
"""The same where a form asks: everybody can copy its key, and a visitor tells of a few places, not of a survey."""
CAUSES = 25
"""Most causes of one defect."""
WOOD = 50
"""Most pieces of wood on hand, of one defect or of the building."""
CODES = 16
"""Most codes in a list of codes."""
CODE_CHARACTERS = 64
"""Longest code."""
TEXT_CHARACTERS = 120
"""Longest free text."""
REVISION_CHARACTERS = 300
"""Longest name of a revision."""
WHOLE = 2_147_483_647
"""Largest whole number, either side of zero."""
NUMBER = 1_000_000.0
"""Largest bare number, either side of zero."""
WEIGHT = 10.0
"""Heaviest weight that an owner can put on a term."""
FIRST_DAY, LAST_DAY = date(2000, 1, 1), date(2099, 12, 31)
"""Days that a request may name."""
YARD = 1_000
"""Most pieces of wood in a yard."""
LINES = MOST_LINES
"""Most lines in one draft, one sheet and one request."""
OPEN_DRAFTS = MOST_DRAFTS
"""Most open drafts of a region."""
NOTE_CHARACTERS = 500
"""Longest note on a draft."""
REASON_CHARACTERS = 500
"""Longest reason of a publication."""
TOKEN_CHARACTERS = 200
"""Longest token of a confirmation."""
DECISIONS = 1_000
"""Most confirmations, or lines that are kept or taken, in one request."""
REPORTS = 500
"""Most reports of hours in one sheet."""
ERRORS = 100
"""Most faults listed in one problem."""
SUMMARY_OPTIONS = 3
"""Plans shown in the summary view."""

"""What a text of people may hold: what can be seen. Everything else deceives whoever reads a log, a sheet or a list of keys.

Refused are control characters (Unicode's general category Cc), separators of lines, the characters that turn text round
(embeddings, overrides and isolates of Unicode Standard Annex 9, section 2; a text with one reads otherwise than it is
written), and those that take no room and join nothing (zero-width space, word joiner and its neighbours, byte-order mark,
marks of annotations). Joiners and marks of direction (U+200C to U+200F) stay: some languages are written with them.
"""

from __future__ import annotations

import re
import unicodedata

UNSEEN = r"\u0000-\u001f\u007f-\u009f\u200b\u2028-\u202e\u2060-\u206f\ufeff\ufff9-\ufffb"
"""Inside of a class of a regular expression, in Python as in JSON Schema."""
_UNSEEN = re.compile(f"[{UNSEEN}]")


def unseen_in(text: str) -> str:
    """The first character of a text that cannot be seen, by its number and name; "" where there is none."""
    found = _UNSEEN.search(text)
    if found is None:
        return ""
    name = unicodedata.name(found[0], "")
    return f"U+{ord(found[0]):04X}{name and ', '}{name.lower()}"

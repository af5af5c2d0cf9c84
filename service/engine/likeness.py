"""Which known code somebody probably meant: the fewest letters to change, put in, leave out or swap."""

from __future__ import annotations

from collections.abc import Collection

MOST_SUGGESTED = 3
"""More than three suggestions are a list and no help."""


def letters_apart(one: str, other: str) -> int:
    """Letters to change, put in or leave out to get from one word to the other (Levenshtein's distance)."""
    above = list(range(len(other) + 1))
    for row, letter in enumerate(one, start=1):
        line = [row]
        for column, against in enumerate(other, start=1):
            line.append(min(above[column] + 1, line[-1] + 1, above[column - 1] + (letter != against)))
        above = line
    return above[-1]


def near_codes(said: str, known: Collection[str]) -> tuple[str, ...]:
    """Known codes that a word may stand for, the nearest first; none where nothing is near.

    Args:
        said: what was written, in any case, with spaces or hyphens.
        known: codes.
    """
    word = "_".join(said.lower().replace("-", " ").split())
    if not word:
        return ()
    scored = []
    for code in known:
        apart = letters_apart(word, code)
        shares_word = bool(set(word.split("_")) & set(code.split("_")))
        if apart <= max(len(word) // 3, 1) or code.startswith(word) or word.startswith(code) or shares_word:
            scored.append((apart, code))
    return tuple(code for _, code in sorted(scored)[:MOST_SUGGESTED])

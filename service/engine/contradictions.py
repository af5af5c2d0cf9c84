"""Facts of one defect against each other: what cannot be at once, and what the worse of the two is (G01, G02, R36)."""

from __future__ import annotations

import math
from dataclasses import replace

from service.engine.knowledge import ACROSS_BOARDS, OF_BOARDS, Knowledge
from service.engine.looking import Look
from service.engine.survey import Defect, House, Span

FREEZING_DEGF = 32.0
GONE = 0.9
"""Share of the member from which decay counts as through (both faces)."""
LEAST_LOSS = 1.0 / 3.0
"""Share of depth over thickness that decay takes of the section at least, however narrow it is (J)."""
SIDING = "log_siding"
"""Member, and profile, that looks like a log and is a board on a frame."""
HEADER = "header_log"
"""Member that a wall log is where it spans an opening."""
LOADED_LOGS = ("plate_log", "keystone_log")
"""Wall logs that more lands on than the wall: they stay what they were called."""
LOOKS_SOUND = ("check", "surface", "stain", "finish", "mechanical")
"""Kinds of damage that leave sound wood behind them."""
NESTING = ("ants", "beetle_live")
"""Insects that nest in wood and leave it soft; bees bore a few round holes."""
THICKEST_BOARD_IN = 3.0
"""Thickness past which what looks like a log was measured across its face (J: log siding is 1 1/2 to 2 in) [in]."""
NEVER_ASLEEP_PCT = 28.0
"""Moisture from which decay starts; wood at or above it is never at rest (B1; common practice, no source) [%]."""


def resolve(look: Look, house: House) -> None:
    """Hold the facts of a defect against each other; what settles the damage comes first."""
    _through(look)
    _no_depth(look)
    apart = any(len(spans) > 1 for spans in look.numbers.values())
    for piece in range(look.defect.count if apart else 1):
        _depth_in_section(look, piece)
        _length_in_log(look, piece)
        _end_in_member(look, piece)
        _width_round_face(look, piece)
        _course_in_wall(look, piece)
        _loss_and_depth(look, piece)
    _unmeasured_section(look)
    _frozen_reading(look, house)
    _activity(look)
    _faces(look)


def _through(look: Look) -> None:
    """Rotted through, and a depth that says otherwise: through holds."""
    if look.defect.damage != "through":
        return
    for piece in range(look.defect.count):
        depth, section = look.span("depth", piece), look.span("section", piece)
        if depth is None:
            return
        if depth.low > 0.0 and (section is None or GONE * section.low <= depth.low <= depth.high <= section.high):
            continue
        said = _range(look, depth)
        look.drop(
            "depth", said, "it cannot be rotted through and have this depth",
            "Either it is through (leave the depth out), or name the damage pocket_deep or band and measure again.",
            "depth_against_through", piece,
        )
        look.unsure(f"Named as rotted through, with a depth of {said}: priced as rotted through until somebody looks.")


def _no_depth(look: Look) -> None:
    """Decay has a depth, and end decay a length."""
    if not look.knowledge.damages[look.defect.damage].decayed:
        return
    for name in ("depth", "from_end"):
        if name == "from_end" and look.defect.damage not in ("end_rot", "foot_rot"):
            continue
        for piece, span in enumerate(look.numbers.get(name, ())):
            if span.high <= 0.0:
                look.slip(
                    name, look.write.length(span.high), "decay that goes in by nothing is no decay",
                    "Pick the soft wood out and measure to hard wood; if there is none, it is uv_grey or a check.",
                    f"{name}_zero", piece,
                )


def _depth_in_section(look: Look, piece: int) -> None:
    depth, section = look.span("depth", piece), look.span("section", piece)
    if depth is None or section is None:
        return
    said = _range(look, depth)
    size = _range(look, section)
    if depth.high > section.high:
        swapped = depth.is_exact and section.is_exact
        right = (
            f"Swapped? Then the member is {said} thick and rotten {size} deep. Or rotted through? "
            f"Then name the damage `through`, or give {size} as the depth."
            if swapped
            else f"At most {size}: give the part of the range that can be, or name the damage `through`."
        )
        look.slip("depth", said, f"deeper than the member is thick ({size})", right, "depth_over_section", piece)
    elif depth.high > section.low:
        look.unsure(f"The depth ({said}) may be more than the thickness ({size}): measure both at the same place.")


def _loss_and_depth(look: Look, piece: int) -> None:
    """A share lost that is far less than the depth takes: the depth holds, for wood that is soft carries nothing (R31)."""
    loss, depth, section = (look.span(name, piece) for name in ("section_loss", "depth", "section"))
    if loss is None or not look.knowledge.damages[look.defect.damage].decayed:
        return
    deep = depth is not None and section is not None and loss.high < LEAST_LOSS * 100.0 * depth.high / section.high
    through = look.defect.damage == "through" and loss.high < GONE * 100.0
    if loss.high <= 0.0 or deep or through:
        look.drop(
            "section_loss", f"{loss.high:g} %", "decay like this takes more of the section",
            "Measure what is left across the whole section; until then the depth counts.", "loss_against_depth", piece,
        )


def _length_in_log(look: Look, piece: int) -> None:
    length, clear = look.span("length", piece), look.span("clear_length", piece)
    if length is None or clear is None:
        return
    said, log = _range(look, length), _range(look, clear)
    if length.high > clear.high:
        look.slip(
            "length", said, f"longer than the log is between its notches ({log})",
            "Swapped, or inches taken for feet? Or it runs on into the next piece: that is a defect of its own.",
            "length_over_clear", piece,
        )
        return
    stops = [look.span(name, piece) for name in ("stop_left", "stop_right")]
    known = [s for s in stops if s is not None]
    if len(known) == len(stops) and length.low + sum(s.low for s in known) > clear.high + 1.0:
        look.unsure(
            f"The decay and what is left each side add up to more than the log ({log}): the longer decay was taken."
        )


def _end_in_member(look: Look, piece: int) -> None:
    end = look.span("from_end", piece)
    if end is None:
        return
    height, tail = look.span("post_height", piece), look.span("tail", piece)
    if height is not None and end.high > height.high:
        look.slip(
            "from_end", _range(look, end), f"higher than the post is ({_range(look, height)})",
            "Measure from the foot up to the first hard wood; look at the unit again.", "from_end_over_height", piece,
        )
    clear = look.span("clear_length", piece)
    if tail is not None and clear is not None and end.high > tail.high + clear.high:
        look.slip(
            "from_end", _range(look, end), "longer than the tail and the log behind it",
            "Measure along the grain from the end; look at the unit again.", "from_end_over_log", piece,
        )
    elif tail is not None and end.high > tail.high:
        look.notes.append(
            f"Rot of {_range(look, end)} from the end is more than the tail ({_range(look, tail)}): "
            "it runs inside the notch, and was taken so."
        )


def _course_in_wall(look: Look, piece: int) -> None:
    course, courses = look.span("course", piece), look.span("courses", piece)
    if course is not None and courses is not None and course.low > courses.high:
        look.unsure(f"Course {course.low:.0f} of {courses.high:.0f} cannot be: count both again, from the sill as 1.")


def _width_round_face(look: Look, piece: int) -> None:
    width, section = look.span("width", piece), look.span("section", piece)
    family = look.knowledge.elements[look.defect.element].family
    of_boards = family in ACROSS_BOARDS or (family in OF_BOARDS and look.span("section_other", piece) is None)
    if width is None or section is None or of_boards:
        return
    half = half_girth_in(look, section, piece)
    if width.high > half:
        look.unsure(
            f"A width of {_range(look, width)} is more than half way round ({look.write.length(half)}): "
            "measure along the curve, and probe the other face; priced as half way round."
        )


def half_girth_in(look: Look, section: Span, piece: int) -> float:
    """Half the girth: of a circle, or of a squared member with its other side [in]."""
    other = look.span("section_other", piece)
    if other is not None:
        return section.high + other.high
    return math.pi * section.high / 2.0


def _unmeasured_section(look: Look) -> None:
    """A depth beside a thickness that nobody measured: taken as through where it is past what is usual."""
    element = look.knowledge.elements[look.defect.element]
    usual = next(
        (
            g for g in look.knowledge.first_guesses
            if g.fact == "section" and not g.of and (not g.elements or element.code in g.elements)
            and (not g.families or element.family in g.families) and (not g.damages or look.defect.damage in g.damages)
        ),
        None,
    )
    depths = look.numbers.get("depth", ())
    if usual is None or not depths or look.span("section") is not None:
        return
    deepest = max(depths, key=lambda s: s.high)
    if deepest.high > usual.likely:
        look.unsure(
            f"A depth of {_range(look, deepest)} is more than a usual {element.title} is thick "
            f"({look.write.length(usual.likely)}): taken as rotted through until the thickness is known."
        )


def _frozen_reading(look: Look, house: House) -> None:
    """A pin meter means nothing in frozen wood."""
    moisture = look.span("moisture")
    temperature = look.span("wood_temperature") or house.numbers.get("wood_temperature")
    if moisture is None or temperature is None or temperature.middle >= FREEZING_DEGF:
        return
    look.drop(
        "moisture", f"{moisture.middle:g} %", f"the wood is frozen ({look.write.temperature(temperature.middle)})",
        "Read again when it has thawed right through; this reading was not used.", "moisture_frozen",
    )


def _activity(look: Look) -> None:
    """Old and dry, and too wet to be at rest: live holds."""
    moisture = look.span("moisture")
    rot = look.knowledge.damages[look.defect.damage].kind == "rot"
    if rot and moisture is not None and moisture.low >= NEVER_ASLEEP_PCT and set(look.word("activity")) == {"old"}:
        look.words.pop("activity")
        look.unsure(f"Called old, but at {moisture.low:g} % decay is never at rest: taken as live.")


def _faces(look: Look) -> None:
    """A sound inner face, and damage that goes through or is on both faces: the worse holds."""
    sound = set(look.word("inner_face")) == {"sound"}
    if sound and (look.defect.damage == "through" or set(look.word("side")) == {"both"}):
        look.words.pop("inner_face")
        look.unsure("The inner face is called sound and the damage is on both: taken as soft until somebody drills.")
    if set(look.word("hammer")) == {"ring"} and set(look.word("softness")) & {"crumbles", "hollow"}:
        look.notes.append("The hammer rings and the awl goes in: the awl holds. One drill hole would settle it.")


def _range(look: Look, span: Span) -> str:
    low = look.write.length(span.low)
    return low if span.is_exact else f"{low} to {look.write.length(span.high)}"


def is_siding(defect: Defect, knowledge: Knowledge) -> bool:
    """Whether what was called a wall log is a board on a frame, of every piece, and can have this damage as one (B2)."""
    element, damage = knowledge.elements.get(defect.element), knowledge.damages.get(defect.damage)
    if element is None or damage is None or element.family != "wall":
        return False
    return set(defect.words.get("profile", ())) == {SIDING} and knowledge.elements[SIDING].family in damage.families


def is_header(defect: Defect, knowledge: Knowledge) -> bool:
    """Whether a wall log was said to span an opening: it bends, and no skin or patch is strength (B2, R9)."""
    element, damage = knowledge.elements.get(defect.element), knowledge.damages.get(defect.damage)
    if element is None or damage is None or element.family != "wall" or defect.element in LOADED_LOGS:
        return False
    return defect.flags.get("over_opening", False) and knowledge.elements[HEADER].family in damage.families


def as_board(defect: Defect) -> Defect:
    """The same defect, with what was measured as the size of a log as the face of the board that looks like one."""
    section = defect.numbers.get("section", ())
    if not section or min(span.low for span in section) <= THICKEST_BOARD_IN:
        return defect
    numbers = {name: spans for name, spans in defect.numbers.items() if name != "section"}
    return replace(defect, numbers={"section_other": section, **numbers})


def is_eaten(defect: Defect) -> bool:
    """Whether insects have left soft wood that somebody probed: the hole is mended like any other, after them (M40)."""
    return defect.damage in NESTING and any(span.high > 0.0 for span in defect.numbers.get("depth", ()))


def is_rotten(defect: Defect, knowledge: Knowledge) -> bool:
    """Whether what was called a crack, a stain or a surface crumbles under the awl or is hollow: then it is rot (G02, B3).

    Of two kinds of evidence the worse holds, and a probe outranks a look.
    """
    damage = knowledge.damages[defect.damage]
    found = set(defect.words.get("softness", ())) & {"crumbles", "hollow"}
    return bool(found) and damage.kind in LOOKS_SOUND and not damage.decayed


def is_split(defect: Defect, knowledge: Knowledge) -> bool:
    """Whether what was called a check is a split: through a bolt line, a loaded joint or both faces (R8).

    On truss and ledger members a missing distance to the joint means within one D (R15).
    """
    if knowledge.damages[defect.damage].kind != "check":
        return False
    if defect.flags.get("past_bolt_line") or defect.flags.get("on_loaded_joint"):
        return True
    if "both" in defect.words.get("side", ()):
        return True
    element = knowledge.elements[defect.element]
    if element.family != "truss" and element.code != "deck_ledger":
        return False
    joint, section = defect.numbers.get("to_joint"), defect.numbers.get("section")
    if joint is None:
        return True
    return section is None or min(j.low for j in joint) <= max(s.high for s in section)

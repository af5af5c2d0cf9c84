"""How urgent it is, and the sentence to read to the owner (R14, A2, B10; common practice, no source).

U0: stay off or shore today, because people could fall or something could move in ordinary use. U1: restrict its use,
repair within weeks. U2: this season. U3: it can wait.
"""

from __future__ import annotations

from service.engine.array import Truth, both, either, negate
from service.engine.case import Case
from service.engine.remains import loss_stated, remains_of

SENTENCES = {
    "U0": "Today: {stay}. {why}.",
    "U1": "Within weeks: {stay}. {why}.",
    "U2": "This season: {why}.",
    "U3": "It can wait: {why}.",
}
SAG_SHARE = 1.0 / 240.0
"""Sag over span from which a member is sagging (B3; common practice, no source)."""
LIVE_INSECTS = ("termite_sub", "termite_dry", "beetle_live", "ants", "bees")
GONE = 0.9
"""Share of the member from which decay counts as through, where the depth was said (both faces)."""
BAD_LOSS = 0.5
"""Share lost from which little is left to carry (G11)."""
ASLEEP_PCT = 18.0
"""Moisture below which decay sleeps (B1, M00; common practice, no source) [%]."""
SHALLOW = 1.0 / 3.0
"""Share of a stacked log up to which a dry spot can wait (M00; J)."""
FOOT_IN = 12.0
"""How far up a stringer may be soft and still only at its foot, below the first tread notch (R11; J) [in]."""
LEAST_CHECK_IN = 0.25
"""Narrowest check that is sealed [in] (G18; common practice, no source)."""
LOADED_LOGS = ("plate_log", "keystone_log")
"""Wall logs on which a roof or point loads land, whether anybody said so or not (B2)."""
SEATS = ("top", "bottom")
"""Sides on which a log is loaded or stands."""
LEAST_SHELL_IN = 2.0
"""Thinnest shell round a hollow that still carries (B3; common practice, no source) [in]."""
FLOORS = ("girder", "floor_joist")
"""Members under a floor, where no snow lies."""
SMALL_LOSS = 0.1
"""Share of the section lost from which bending and tension members go to the engineer (G14)."""

SOFT_SKIN = "soft at the surface; stop the water before it goes deeper"
HOLLOW = "hollow in its heart under a sound shell; find where the water gets in"
CHARRED = "charred at the surface; scrape it and probe what is under it"
ONLY_EXIT = "set up another way out, then close the stair; until it stands one at a time, and only to leave"
"""What is done with a soft stair that is the only way out (R33)."""
SURFACES = {
    "seal": ("U2", "rain gets into the open joint; close it before winter"),
    "finish": ("U3", "it is the finish and not the wood"),
    "surface": ("U3", "it is the surface and not the wood"),
    "stain": ("U3", "it is a stain on firm wood"),
}
"""Damage that lies on the wood and not in it."""

Verdict = tuple[str, str, str]
"""Class, what to do with the place meanwhile, why."""


def urgency_of(case: Case) -> tuple[str, str]:
    """Class and sentence for one group, in the world as stated.

    Returns:
        "U0" to "U3", and the sentence that is read to the owner.
    """
    urgency, stay, why = _failing(case) or _not_decay(case) or _by_family(case)
    if stay:
        why = why[:1].upper() + why[1:]
    return urgency, SENTENCES[urgency].format(stay=stay, why=why)


def _failing(case: Case) -> Verdict | None:
    """What fails already, whatever the damage is called."""
    title = case.element.name
    if case.flag("ornamental_only"):
        return None
    if case.flag("bearing_failed") or (case.damage.code == "crush" and case.element.structural):
        return "U0", f"stay away from the {title} and shore it", "its bearing has failed and what it carries can move"
    if _joint_open(case):
        return "U0", f"stay out from under the {title} and shore it", "the joint or bolt line it hangs on is not whole"
    if _sagging(case):
        return "U0", f"stay off and out from under the {title}, and shore it", "it sags, and nobody knows yet why"
    return None


def _joint_open(case: Case) -> bool:
    """Damage at a loaded joint: rot within one D of it, or any crack or split that runs into it (G15, R8, R15)."""
    if case.element.family not in ("truss", "beam", "header"):
        return False
    into_joint = case.flag("past_bolt_line") or case.flag("on_loaded_joint")
    if case.damage.kind == "check":
        return into_joint
    if case.damage.kind == "split":
        return into_joint or (case.element.family == "truss" and bool(case.overlaps_joint))
    if case.damage.code == "joint_decay":
        return True
    if case.element.family == "truss":
        return case.rotten and bool(case.overlaps_joint)
    return case.rotten and into_joint


def _sagging(case: Case) -> bool:
    """A member in bending that hangs through; an old sag that stopped is no alarm."""
    if case.element.role not in ("bending", "tension", "people", "deck"):
        return False
    sag, span = float(case.sag_in), float(case.span_ft) * 12.0
    known = "sag" in case.known
    much = sag > SAG_SHARE * span if span > 0.0 else sag > 0.0
    if case.damage.code == "sag":
        return case.word("activity") != "old" and (much or not known)
    return known and much and case.rotten


def _not_decay(case: Case) -> Verdict | None:
    """Damage that takes no wood away."""
    title = case.element.name
    if case.damage.kind in SURFACES:
        urgency, why = SURFACES[case.damage.kind]
        return urgency, "", why
    match case.damage.kind:
        case "check":
            return _crack(case)
        case "split":
            return _split(case)
        case "movement":
            if case.damage.code == "sag":
                return "U2", "", f"the sag in the {title} looks old; set a mark and read it again"
            return "U2", "", f"the wall hangs on the {title} and cannot settle: doors and windows get squeezed"
        case "insect":
            return _insects(case)
        case "mechanical" if not case.rotten:
            return _cut_into(case)
        case _:
            return None


def _cut_into(case: Case) -> Verdict:
    """Wood that was knocked or cut away: a scar, or a notch where it bends."""
    title = case.element.name
    measured = "depth" in case.known or loss_stated(case)
    loss = max(float(case.section_loss), float(case.depth_ratio)) if measured else 0.0
    if case.element.role not in ("bending", "tension", "people") or loss <= SMALL_LOSS:
        return "U3", "", f"the {title} is scarred, not rotten"
    if loss > BAD_LOSS:
        return "U0", f"stay off and out from under the {title}, and shore it", "more than half of it is cut away"
    return "U1", f"keep load off the {title}", "it is cut into where it has to carry"


def _crack(case: Case) -> Verdict:
    title = case.element.name
    if case.damage.code == "check_up" and "check_width" in case.known and float(case.check_width_in) < LEAST_CHECK_IN:
        return "U3", "", f"the drying crack in the {title} faces up but is too fine to seal; finish goes in with the next coat"
    if case.damage.code == "check_up":
        return "U2", "", f"an ordinary drying crack in the {title}, but it faces up and takes in water"
    if case.structural and case.level in ("told", "photos"):
        return "U3", "", f"as told, an ordinary drying crack in the {title}; see that it runs into no bolt or joint"
    return "U3", "", f"an ordinary drying crack in the {title}; it takes no strength that counts"


def _split(case: Case) -> Verdict:
    title = case.element.name
    if case.element.family in ("guard", "stair") or case.element.code in ("deck_ledger", "flyway_log"):
        return "U0", f"stay off the {title} and what hangs on it", "it is split, and people fall when it gives way"
    if case.structural or case.element.role == "column":
        return "U1", f"keep load off the {title}", "a split right through is not a drying crack"
    return "U2", "", f"the {title} is split, and water gets in"


def _insects(case: Case) -> Verdict | None:
    title = case.element.name
    if case.damage.code not in LIVE_INSECTS or case.word("activity") == "old":
        if case.rotten:
            return None
        return "U3", "", f"the holes in the {title} are old; nobody lives in them"
    if case.damage.code.startswith("termite") and case.element.structural:
        if case.rotten and case.element.family not in ("wall", "sill", "notch", "tail"):
            return None
        return "U1", f"put no new load on the {title}", "live termites eat on, and what they leave is hollow"
    if case.damage.code == "ants":
        return "U2", "", f"live ants are in the {title}, and where they nest it is wet"
    return "U2", "", f"live insects are in the {title}, and they go on until they are treated"


def _by_family(case: Case) -> Verdict:
    """Decay, by what the member does."""
    title = case.element.name
    gone = _gone(case)
    if case.flag("ornamental_only"):
        return "U2", "", f"only the part of the {title} that carries nothing is soft"
    match case.element.family:
        case "guard":
            return "U0", f"nobody leans on the {title}; block it off", "people fall when a soft guard gives way"
        case "deck":
            return _deck(case, gone=gone)
        case "stair":
            return _stair(case, gone=gone)
        case "post":
            return _post(case, gone=gone)
        case "truss":
            return "U1", f"no snow and no load on the {title}", "a truss member has wood to spare only on paper"
        case "beam" | "header":
            return _beam(case, gone=gone)
        case _:
            return _wall(case, gone=gone)


def _gone(case: Case) -> bool:
    """Whether next to nothing of the member is left, where its depth or its loss was said."""
    if case.damage.code == "through" or ("depth" in case.known and float(case.depth_ratio) >= GONE):
        return True
    left = remains_of(case) if "depth" in case.known or loss_stated(case) else None
    return left is not None and float(left.rest.area_in2) <= (1.0 - GONE) * float(left.whole.area_in2)


def _post(case: Case, *, gone: bool) -> Verdict:
    title = case.element.name
    loss = 0.0
    if "depth" in case.known or loss_stated(case):
        loss = float(case.section_loss) if loss_stated(case) else float(case.share_gone)
    if gone or loss > BAD_LOSS or _thin_shell(case):
        return "U0", f"stay out from under it and shore it beside the {title}", "too little sound post is left"
    away = "heavy things and crowds" if case.element.code == "post_interior" else "crowds and snow"
    where = "its foot is soft" if case.damage.code == "foot_rot" else "it is hollow" if case.hollow else "it is soft"
    return "U1", f"keep {away} off what the {title} carries", f"{where}, and what it carries stands on it"


def _thin_shell(case: Case) -> bool:
    """Whether what is sound round a measured hollow is too thin to carry much (B3)."""
    measured = case.hollow and "depth" in case.known
    return measured and (min(float(case.section_in), float(case.other_in)) - float(case.depth_in)) / 2.0 < LEAST_SHELL_IN


def _deck(case: Case, *, gone: bool) -> Verdict:
    title = case.element.name
    if case.element.code == "deck_ledger":
        return "U0", "close the deck, nobody on it or under it", "a soft ledger lets a whole deck go at once"
    if case.boards_only:
        why = "a soft board lets a foot through"
        return "U0" if gone else "U1", "nobody steps on the soft boards; block them off", why
    if gone:
        return "U0", "close the deck", f"the {title} is rotten through"
    if float(case.of) > 0.0 and case.batch >= 0.5 * float(case.of):
        return "U0", "close the deck", "half of what carries it is soft"
    return "U1", "no crowds on the deck", f"the {title} is soft and carries people"


def _stair(case: Case, *, gone: bool) -> Verdict:
    title = case.element.name
    far_up = "from_end" in case.known and float(case.from_end_in) > FOOT_IN
    if case.element.code == "tread" or case.flag("tread_notch") or (gone and case.damage.code != "foot_rot") or far_up:
        close = ONLY_EXIT if case.flag("only_exit") else "close the stair"
        return "U0", close, f"the {title} is soft where people step"
    notches = "its notches are sound" if case.flags.get("tread_notch") is False else "probe every tread notch today"
    return "U1", "one person at a time on the stair, nothing heavy", f"the {title} is soft; {notches}"


def _beam(case: Case, *, gone: bool) -> Verdict:
    title = case.element.name
    if case.element.code == "flyway_log":
        return "U0", f"nobody on or under what the {title} carries; shore it", "a log that sticks out has no help"
    if case.in_the_tail_only:
        return "U2", "", f"only the tail of the {title} is soft; it carries nothing, but the rot runs inwards"
    if gone:
        return "U0", f"stay out from under the {title} and shore it", "it is rotten through"
    loss = max(float(case.section_loss), float(case.depth_ratio))
    if case.hollow and not loss_stated(case):
        loss = BAD_LOSS if _thin_shell(case) else float(case.share_gone)
    if loss > SMALL_LOSS:
        off = "heavy things and crowds" if case.element.code in FLOORS else "snow and storage"
        return "U1", f"keep {off} off what the {title} carries", "it has lost wood where it bends"
    skin = CHARRED if case.damage.kind == "fire" else HOLLOW if case.hollow else SOFT_SKIN
    return "U2", "", f"the {title} is {skin}"


def seat_soft(case: Case) -> Truth:
    """Whether the face is soft on which a stacked log is loaded from above, or stands on below; between seats it is not."""
    if case.element.role != "bearing" or case.word("side") not in SEATS:
        return False
    landed = either(bool(set(case.bears) - {"wall"}), case.point_loads > 0.0, case.joists > 0.0)
    loaded = either(case.element.family == "sill" or case.element.code in LOADED_LOGS, landed)
    clear = case.to_joint_in > case.section_in if "to_joint" in case.known else False
    return both(loaded, negate(clear))


def _past_the_bearing(case: Case) -> bool:
    """Whether rot from a free end was measured to run in past the wall."""
    measured = {"from_end", "tail"} <= case.known and float(case.from_end_in) > float(case.tail_in)
    return measured or case.flag("past_notch") or case.damage.code == "notch_rot"


def _wall(case: Case, *, gone: bool) -> Verdict:
    """Stacked logs, sills, corners, tails and everything that carries little."""
    title = case.element.name
    if case.element.family == "roof_deck" and gone:
        return "U1", "nobody walks on that roof", "the roof boards are rotten through"
    if case.element.code == "rafter_tail" and _past_the_bearing(case):
        return "U1", "nobody and no snow on that eave", "the rot has run in to where the rafter bears"
    if case.element.family == "tail" and set(case.bears) - {"wall"}:
        return "U1", f"put no load on what the {title} carries", "an end that sticks out has no help"
    if case.element.family == "tail":
        return "U2", "", f"the {title} is soft and drinks; the rot runs inwards"
    if not case.element.structural:
        return "U2", "", f"the {title} is soft and lets water through to what lies behind it"
    carries = bool(case.bears) or float(case.point_loads) > 0.0 or float(case.joists) > 0.0
    dropped = "floor_drop" in case.known and float(case.floor_drop_in) > 0.0
    if seat_soft(case):
        return "U1", f"put no new load above the {title}", "its seat is soft, and what lands on it stands on that face"
    loaded = carries or case.element.family in ("sill", "notch") or case.element.code in LOADED_LOGS
    if dropped or (gone and loaded):
        return "U1", f"put no new load above the {title}", "what stands on it begins to settle"
    if case.adjacent_courses > 1 and (gone or float(case.depth_ratio) > BAD_LOSS):
        return "U1", "put no new load above that wall", "several logs on top of each other have lost more than half"
    at_rest = None if gone else _at_rest(case)
    return at_rest or ("U2", "", f"the {title} loses more wood every wet month")


def _at_rest(case: Case) -> Verdict | None:
    """Decay that does not go on, in a log of which something is left."""
    title = case.element.name
    asleep = "moisture" in case.known and float(case.moisture_pct) < ASLEEP_PCT and float(case.depth_ratio) <= SHALLOW
    if asleep and case.word("activity") != "live":
        return "U3", "", f"the soft spot in the {title} is dry and shallow; it sleeps as long as it stays dry"
    if case.damage.kind == "fire" and float(case.depth_ratio) > BAD_LOSS:
        return "U2", "", f"more than half of the {title} is burnt away"
    if case.damage.kind == "fire":
        return "U3", "", f"the {title} is charred and not rotten; what is under the char is sound"
    if case.word("activity") != "old":
        return None
    if float(case.depth_ratio) > BAD_LOSS:
        return "U2", "", f"the rot in the {title} is old, but more than half of it is gone"
    return "U3", "", f"the rot in the {title} is old and dry; look again next year"

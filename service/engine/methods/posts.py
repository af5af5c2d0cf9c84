"""Post feet: cast in epoxy (M16), on a pedestal (M17), spliced (M18), and the whole post (M19)."""

from __future__ import annotations

from service.engine.array import Number, Truth, both, either, maximum, minimum, negate
from service.engine.case import Case
from service.engine.gates import Gates
from service.engine.method import Method
from service.engine.methods import components as parts
from service.engine.methods.framing import decay_up_in, letter_where, section_area_in2, wood_form
from service.engine.work import LEAD_CARPENTER, LEAD_HELPER, Work

LETTER_FROM_LB = 5000.0
"""Axial load above which an engineer looks at a post, and above which no foot is cast [lb] (M16, M17, B2)."""
CAST_UP_TO_IN = 6.0
"""Highest decay that a cast foot replaces, and least post size it suits [in] (M16)."""
PEDESTAL_UP_TO_IN = 24.0
"""Highest decay that a pedestal replaces [in] (M17)."""
SPLICE_UP_TO = 1.0 / 3.0
"""Share of the height up to which a new foot is spliced on (M18)."""
MARGIN_IN = 3.0
"""Sound wood taken above the decay of a post foot [in] (J: 5 to 9 in of rot and a lap make about 3.5 ft of 8 x 8)."""
LAP_SIZES = 4.0
"""Length of the half-lap in post widths (M18: at least 3 to 4)."""
RODS_IN_A_FOOT = "post_foot.rods"


def _out(case: Case) -> tuple[float, float]:
    """What a shored post takes out of use: the room inside, or the porch (room, load)."""
    return (1.0, 0.0) if case.element.code == "post_interior" else (0.0, 1.0)


def _rods(case: Case, work: Work, surface_ft2: Number) -> None:
    """Rods and a brushed coat on the cut end of the post that stays (E5)."""
    rods = case.book.likely("norms", RODS_IN_A_FOOT)
    parts.borate(work, rods=rods, surface_ft2=surface_ft2, wood_ft3=section_area_in2(case) / 144.0)


def _sign_off(case: Case, work: Work) -> None:
    """A letter above 5 kip; in snow country also where nobody knows the load (M17)."""
    unknown = case.flag("snow_country") and "load" not in case.known
    letter_where(work, either(case.load_lb > LETTER_FROM_LB, unknown))


def _common_notes(work: Work) -> None:
    work.note("Shore one post at a time or a full line of posts: never all of them unsupported at once.")
    work.note("Shore loads, positions and pads: for the engineer. Take the load only, do not lift the roof.")
    work.note("The foot ends on a stand-off at least 1 in clear of the slab, anchored against uplift and side push.")
    work.note("Keep another way out while the porch is closed; clear snow off the roof first.")


def _tips(case: Case) -> bool:
    return case.flag("free_standing")


def _off_the_foot(case: Case) -> Truth:
    """Whether the soft place was seen at the top, or higher up the post than a new foot reaches (M18)."""
    if case.damage.code == "foot_rot" or not case.rotten or "from_end" in case.known:
        return False
    if case.word("side") == "top":
        return True
    if "height" not in case.known:
        return False
    # Measured from the ground: higher than the post is tall, the post itself stands up there.
    up = 12.0 * case.height_ft
    return both(up > SPLICE_UP_TO * case.post_height_in, up <= case.post_height_in)


def _all_hollow(case: Case) -> bool:
    """Whether the heart is hollow and nobody has drilled for its end: then it is no matter of the foot (J)."""
    return case.hollow and not {"from_end", "length"} & case.known


def _foot_only(case: Case, gate: Gates, number: str) -> None:
    gate.cannot(
        number, _all_hollow(case),
        "The heart is hollow, and nobody has said how far up: a new foot would stand under a shell.",
    )
    gate.cannot(number, _off_the_foot(case), "The soft place is not at the foot: a new foot would leave it where it is.")


# ---- M16 ---------------------------------------------------------------------------------------------------------


def _epoxy_foot_fits(case: Case, gate: Gates) -> None:
    up = decay_up_in(case)
    _foot_only(case, gate, "M16")
    gate.cannot(
        "M16",
        up > CAST_UP_TO_IN,
        "The foot is soft {up:length} up; a cast foot is good for 6 in at most.",
        up=up,
    )
    gate.cannot(
        "M16",
        minimum(case.section_in, case.other_in) < CAST_UP_TO_IN,
        "A post of less than 6 in has no room for the rods that a cast foot hangs on.",
    )
    gate.cannot(
        "M16",
        case.load_lb > LETTER_FROM_LB,
        "The post carries about {load:load}; a cast foot is for up to 5,000 lb.",
        load=case.load_lb,
    )
    gate.cannot("M16", _tips(case), "Nothing holds the top of this post: a cast foot would break in bending.")


def _epoxy_foot_scope(case: Case, work: Work) -> None:
    room, load = _out(case)
    cast_in3 = (decay_up_in(case) + 1.0) * section_area_in2(case)
    waste = 1.0 + case.book.likely("norms", "waste.epoxy_paste")
    work.stage("post_epoxy_foot", LEAD_HELPER)
    work.labour_first("post_epoxy_foot.each", "post_epoxy_foot.next")
    _rods(case, work, section_area_in2(case) / 144.0)
    work.task(
        "Shore the beam beside the post to solid ground and take the load, no lifting", 0.25, room=room, load=load
    )
    work.task("Cut the soft foot off to sound wood", 0.15, room=room, load=load)
    work.task(
        "Hold point: sound all across within 6 in? If not, a pedestal or a spliced foot",
        0.05,
        room=room,
        load=load,
        hold=True,
    )
    parts.dry_down(case, work, parts.behind_the_cut_pct(case))
    work.task("Rods up into sound wood at least 8 diameters, stand-off, form", 0.3, room=room, load=load)
    work.task(
        "Cast filled epoxy in lifts of 1 1/2 in at most, so that it does not overheat", 0.15, room=room, load=load
    )
    cure = case.book.likely("waits", "cure.epoxy.load")
    work.wait("cure", "The foot cures before it carries; shores stay", cure, room=room, load=load)
    work.task("Strip the form, pass the load slowly, shores out, seal the joint with a drip", 0.1, room=room, load=load)
    work.buy("post_epoxy_foot.rods")
    work.buy("epoxy_casting", cast_in3 / 231.0 * waste)
    work.cure("epoxy")
    work.sound_wood_ft3 = section_area_in2(case) / 1728.0
    _sign_off(case, work)
    _common_notes(work)


# ---- M17 ---------------------------------------------------------------------------------------------------------


def _pedestal_fits(case: Case, gate: Gates) -> None:
    up = decay_up_in(case)
    _foot_only(case, gate, "M17")
    gate.cannot(
        "M17",
        up > PEDESTAL_UP_TO_IN,
        "The foot is soft {up:length} up; a pedestal taller than 24 in is a pier, not a foot.",
        up=up,
    )
    gate.cannot("M17", _tips(case), "Nothing holds the top of this post: on a pedestal it would tip.")
    gate.cannot("M17", case.heritage, "A pedestal changes how the post looks, and the look is protected here.")


def _pedestal_scope(case: Case, work: Work) -> None:
    room, load = _out(case)
    work.stage("post_pedestal", LEAD_CARPENTER)
    work.labour_first("post_pedestal.each", "post_pedestal.next")
    _rods(case, work, section_area_in2(case) / 144.0)
    work.task(
        "Shore the beam beside the post to solid ground and take the load, no lifting", 0.25, room=room, load=load
    )
    work.task("Cut the post square above the rot and seal the end", 0.15, room=room, load=load)
    work.task("Hold point: sound all across within 24 in? If not, a new post", 0.05, room=room, load=load, hold=True)
    if case.flags.get("frost_footing") is False:
        work.labour("post_pedestal.footing")
        work.buy("post_pedestal.footing")
        work.note("No frost footing under it: a footing first, else the pedestal heaves with the slab.")
    elif "frost_footing" not in case.flags:
        work.note("Check that a frost footing lies under the slab; if not, a footing comes first and costs more.")
    work.task("Form and pour or set the pedestal, stand-off and anchors in it", 0.4, room=room, load=load)
    cure = case.book.likely("waits", "cure.concrete.load")
    work.wait("cure", "Concrete gains strength before it carries; shores stay", cure, room=room, load=load)
    work.task("Pass the load slowly, bolt the stand-off, shores out", 0.15, room=room, load=load)
    work.buy("post_pedestal.materials")
    work.cure("concrete")
    work.sound_wood_ft3 = MARGIN_IN * section_area_in2(case) / 1728.0
    _sign_off(case, work)
    _common_notes(work)


# ---- M18 ---------------------------------------------------------------------------------------------------------


def splice_length_in(case: Case) -> Number:
    """Length of a new foot [in]: decay, a little sound wood and a lap of four widths (M18)."""
    return decay_up_in(case) + MARGIN_IN + LAP_SIZES * minimum(case.section_in, case.other_in)


def _past_a_third(case: Case) -> Truth:
    return decay_up_in(case) > SPLICE_UP_TO * case.post_height_in


def _splice_fits(case: Case, gate: Gates) -> None:
    _foot_only(case, gate, "M18")
    gate.cannot(
        "M18",
        _past_a_third(case),
        "The rot goes {up:length} up a post of {height:length}, past a third: too little is left to splice to.",
        up=decay_up_in(case),
        height=case.post_height_in,
    )
    gate.cannot("M18", _tips(case), "Nothing holds the top of this post: a splice in its foot would bend open.")


def _splice_scope(case: Case, work: Work) -> None:
    room, load = _out(case)
    length_in = splice_length_in(case)
    work.stage("post_foot_splice", LEAD_CARPENTER)
    work.labour_first("post_foot_splice.each", "post_foot_splice.next")
    _rods(case, work, section_area_in2(case) / 72.0)
    work.task("Shore the beam beside the post to solid ground and take the load, no lifting", 0.2, room=room, load=load)
    work.task("Cut the soft foot off; cut the half-lap or bridle in sound wood", 0.25, room=room, load=load)
    work.task("Hold point: sound all along the lap? If not, a new post", 0.05, room=room, load=load, hold=True)
    parts.dry_down(case, work, parts.behind_the_cut_pct(case), 20.0)
    work.task("Fit the new dry foot, bolts or a hidden plate, stand-off below", 0.4, room=room, load=load)
    work.task("Take the load at once, shores out, plug and blend", 0.1, room=room, load=load)
    work.buy("post_foot_splice.fixings")
    work.wood(
        "post foot",
        wood_form(case),
        thickness_in=case.section_in,
        width_in=case.other_in,
        length_in=length_in,
        net_ft3=section_area_in2(case) * length_in / 1728.0,
        waste="waste.timber",
        treated=True,
    )
    work.sound_wood_ft3 = (length_in - decay_up_in(case)) / 2.0 * section_area_in2(case) / 1728.0
    _sign_off(case, work)
    _common_notes(work)
    work.note("Keep the joint away from where a rail ties in or people lean.")


# ---- M19 ---------------------------------------------------------------------------------------------------------


def _replace_fits(case: Case, gate: Gates) -> None:
    foot_only = case.rotten and not _tips(case)
    gate.more_than_it_needs(
        "M19",
        both(foot_only, not _all_hollow(case), negate(_past_a_third(case)), negate(_off_the_foot(case))),
        "Only the foot is soft, {up:length} up; a new foot or a pedestal keeps the rest of the post.",
        up=decay_up_in(case),
    )


def _replace_scope(case: Case, work: Work) -> None:
    room, load = _out(case)
    height_in = maximum(case.post_height_in, decay_up_in(case))
    work.stage("post_replace", LEAD_CARPENTER)
    work.labour_first("post_replace.each", "post_replace.next")
    work.task(
        "Shore the beam on both sides of the post to solid ground; note its height; no lifting",
        0.25,
        room=room,
        load=load,
    )
    work.task("Free the top hardware and the rails; post out", 0.2, room=room, load=load)
    work.task("Hold point: is the beam over it sound, and the base?", 0.05, room=room, load=load, hold=True)
    work.task("Base and stand-off, new dry post sealed at both ends, anchors", 0.35, room=room, load=load)
    work.task("Pass the load slowly, shores out, rails back", 0.15, room=room, load=load)
    work.buy("post_replace.hardware")
    work.wood(
        "post",
        wood_form(case),
        thickness_in=case.section_in,
        width_in=case.other_in,
        length_in=height_in,
        net_ft3=section_area_in2(case) * height_in / 1728.0,
        waste="waste.timber",
    )
    rotten_in = decay_up_in(case) if case.rotten else 0.0 * height_in
    work.sound_wood_ft3 = maximum(height_in - rotten_in, 0.0) * section_area_in2(case) / 1728.0
    _sign_off(case, work)
    _common_notes(work)
    work.note("Free of heart centre where it can be had; green wood would check open here.")


METHODS = (
    Method("post_epoxy_foot", _epoxy_foot_fits, _epoxy_foot_scope),
    Method("post_pedestal", _pedestal_fits, _pedestal_scope),
    Method("post_foot_splice", _splice_fits, _splice_scope),
    Method("post_replace", _replace_fits, _replace_scope),
)

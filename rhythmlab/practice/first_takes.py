"""What is said after a take on the first panel, which has words and hands, but no tempo, loop or counts."""

from rhythmlab.practice.causes import causes
from rhythmlab.practice.feedback import FOUND, lane_name, limb_of, never, rest_name
from rhythmlab.practice.finding import Feedback, Finding
from rhythmlab.practice.measure import Measures
from rhythmlab.practice.moved import Cause
from rhythmlab.practice.next_step import CYCLES, Next
from rhythmlab.practice.take import Take
from rhythmlab.text import numbers, sentences
from rhythmlab.text.sentences import say

#: Causes after which one hand is clapped alone.
ONE_HAND = ("parted", "locked", "silent")


def first_feedback(take: Take, measures: Measures) -> Feedback:
    """Say why a take was off, or that it was not, and one thing to do that the first panel can do.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> from rhythmlab.core.tempo import Tempo
    >>> from rhythmlab.practice.measure import measure
    >>> take = Take(cycle=Polyrhythm(3, 2).cycle(), tempo=Tempo(45, pulse=1), cycles=4, start=0, stop=6,
    ...             mode="both pulses", lanes=(0, 1), tap_lanes=[], tap_times=[], limbs="hands")
    >>> first_feedback(take, measure(take))
    ['No stroke was heard: next, say the words aloud for two cycles, then clap along.']
    """
    why = causes(take, measures)
    if why and why[0].kind != "unsure":
        return Feedback([cause_found(take, why[0])])
    again = _again(take)
    if not measures.matched:
        return Feedback([Finding(say("first.nothing"), say("first_do.say_then_clap"), again)])
    if measures.matched < FOUND * measures.meant:
        one = _alone(take, take.lanes[0])
        return Feedback([Finding(say("first.few"), say("first_do.one_hand"), one)])
    strokes = numbers.plural(measures.meant, "stroke")
    found = say("first.in_place", matched=measures.matched, strokes=strokes)
    return Feedback([Finding(found, say("first_do.four_more"), again)])


def _again(take: Take) -> Next:
    """Clap the same again."""
    return Next("again", take.start, take.stop, None, take.lanes, CYCLES, say("button.again"))


def _alone(take: Take, lane: int) -> Next:
    """Clap one hand alone."""
    said = say("button.lane_as_is", lane=_who(take, lane))
    return Next("lane", take.start, take.stop, None, (lane,), CYCLES, said)


def cause_said(take: Take, cause: Cause) -> str:
    """Say a cause in the words of the first panel, with one thing to do.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> from rhythmlab.core.tempo import Tempo
    >>> take = Take(cycle=Polyrhythm(3, 2).cycle(), tempo=Tempo(45, pulse=1), cycles=4, start=0, stop=6,
    ...             mode="both pulses", lanes=(0, 1), tap_lanes=[], tap_times=[], limbs="hands")
    >>> cause_said(take, Cause("missing", 0, tick=2, cycle=1, count=4))
    'The right hand left out the second stroke of the 3: next, play four more cycles, saying the words aloud.'
    """
    return str(cause_found(take, cause))


def cause_found(take: Take, cause: Cause) -> Finding:
    """Return a cause in the words of the first panel, with one thing to do and its value."""
    found, do = _found_and_do(take, cause)
    then = _again(take)
    if cause.kind == "unmeasured":
        said = say("button.calibrate")
        then = Next("calibrate", take.start, take.stop, None, take.lanes, 0, said)
    elif cause.kind in ONE_HAND and cause.lane is not None and not (cause.line and cause.line.pair):
        then = _alone(take, cause.lane)
    elif cause.kind == "evened":
        said = say("button.listen_as_is")
        then = Next("listen", take.start, take.stop, None, take.lanes, 0, said)
    return Finding(found, do, then)


def _found_and_do(take: Take, cause: Cause) -> tuple[str, str]:
    """Say what was found, and what to do."""
    line = cause.line
    late, cycle, who = cause.us > 0, cause.cycle, sentences.capital(_who(take, cause.lane))
    stroke, rest = _stroke(take, cause), rest_name(take)
    first = sentences.capital(stroke)
    heard = numbers.plural(cause.count, "stroke")
    again, follow, alone = say("first_do.again"), say("first_do.follow"), say("first_do.hand_alone")
    more, go_with, copy = say("first_do.four_more"), say("first_do.go_with"), say("first_do.listen_clap")
    slipped = say("first.slipped", cycle=cycle)
    changed = say("first.changed_slower" if late else "first.changed_faster", cycle=cycle)
    waited = say("first.waited" if late else "first.hurried", cycle=cycle)
    return {
        "spoiled": (say("cause.spoiled", strokes=heard), say("do.close_else"))
        if cause.count
        else (say("cause.interrupted"), say("do.close")),
        "count_in": (say("first.count_in"), say("first_do.after_count_in")),
        "doubled": (say("first.doubled", who=_who(take, cause.lane)), say("first_do.middle")),
        "began": (say("first.began"), say("first_do.from_together")),
        "ended": (say("first.ended"), say("first_do.to_the_end")),
        "one_key": (say("first.one_key"), say("first_do.own_keys")),
        "swapped": (say("first.swapped"), say("do.swap_back")),
        "shifted": (say("first.shifted"), say("first_do.begin_together")),
        "unmeasured": (say("first.unmeasured"), say("do.calibrate")),
        "slipped": (slipped, again),
        "tempo": (say("first.slower" if late else "first.faster"), go_with),
        "waited": (waited, again),
        "changed": (changed, follow),
        "parted": (say("first.parted_slow" if late else "first.parted_fast", who=who, rest=rest), alone),
        "stretch": (say("first.stretch_dragged" if late else "first.stretch_rushed"), again),
        "rushed": (say("first.dragged" if cause.then_us > cause.us else "first.rushed"), follow),
        "locked": (_another(take, line.pair), copy)
        if line and line.pair
        else (say("first.locked", who=who), alone),
        "another": (_another(take, cause.pulses), copy),
        "evened": (say("first.evened"), say("first_do.long_short")),
        "silent": (say("first.never", who=who), say("first_do.then_rest", rest=rest))
        if never(take, cause)
        else (say("first.silent", who=who, rest=rest), say("first_do.then_both")),
        "missing": (say("first.missing", who=who, stroke=stroke), more),
        "added": (say("first.added", who=who, stroke=stroke), more),
        "hand": (
            say("first.hand_late" if late else "first.hand_early", who=who, rest=rest),
            say("first_do.as_one"),
        ),
        "looser": (say("first.looser", cycle=cycle), say("first_do.tight")),
        "place": (say("first.place_late" if late else "first.place_early", stroke=first), more),
    }[cause.kind]


def _another(take: Take, pulses: tuple[int, ...]) -> str:
    """Say which other pair was played; nothing where it is not known."""
    if len(pulses) != 2:
        return ""
    first, second = (len(lane.onsets) for lane in take.cycle.lanes)
    meant = say("name.pair", first=first, second=second)
    return say("first.another", played=say("name.pair", first=pulses[0], second=pulses[1]), meant=meant)


def _who(take: Take, lane: int | None) -> str:
    """Name who plays a lane."""
    if lane is None:
        return say("name.line")
    limb = limb_of(take, lane)
    return say("name.limb", limb=limb) if limb else lane_name(take.cycle, lane)


def _stroke(take: Take, cause: Cause) -> str:
    """Name the stroke that a cause is about, or the last one before its place."""
    if cause.lane is None:
        return say("first.a_stroke")
    onsets = take.cycle.lanes[cause.lane].onsets
    before = max(int((onsets <= cause.tick).sum()) - 1, 0)
    return say("first.stroke", nth=numbers.nth(before), lane=lane_name(take.cycle, cause.lane))

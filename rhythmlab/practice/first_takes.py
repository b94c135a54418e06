"""What is said after a take on the first panel, which has words and hands, but no tempo, loop or counts."""

from rhythmlab.practice.causes import causes
from rhythmlab.practice.feedback import FOUND, lane_name, limb_of, never, rest_name
from rhythmlab.practice.measure import Measures
from rhythmlab.practice.moved import Cause
from rhythmlab.practice.take import Take
from rhythmlab.text import numbers, sentences
from rhythmlab.text.sentences import say


def first_feedback(take: Take, measures: Measures) -> list[str]:
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
        return [cause_said(take, why[0])]
    if not measures.matched:
        return [say("first.nothing")]
    if measures.matched < FOUND * measures.meant:
        return [say("first.few")]
    return [say("first.in_place", matched=measures.matched, strokes=numbers.plural(measures.meant, "stroke"))]


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
    line = cause.line
    late, cycle, who = cause.us > 0, cause.cycle, sentences.capital(_who(take, cause.lane))
    stroke, rest = _stroke(take, cause), rest_name(take)
    first = sentences.capital(stroke)
    heard = numbers.plural(cause.count, "stroke")
    return {
        "spoiled": say("cause.spoiled", strokes=heard) if cause.count else say("cause.interrupted"),
        "doubled": say("first.doubled", who=_who(take, cause.lane)),
        "began": say("first.began"),
        "ended": say("first.ended"),
        "one_key": say("first.one_key"),
        "swapped": say("first.swapped"),
        "shifted": say("first.shifted"),
        "unmeasured": say("first.unmeasured"),
        "slipped": say("first.slipped", cycle=cycle),
        "tempo": say("first.slower" if late else "first.faster"),
        "waited": say("first.waited" if late else "first.hurried", cycle=cycle),
        "changed": say("first.changed_slower" if late else "first.changed_faster", cycle=cycle),
        "parted": say("first.parted_slow" if late else "first.parted_fast", who=who, rest=rest),
        "stretch": say("first.stretch_dragged" if late else "first.stretch_rushed"),
        "rushed": say("first.dragged" if cause.then_us > cause.us else "first.rushed"),
        "locked": _another(take, line.pair) if line and line.pair else say("first.locked", who=who),
        "another": _another(take, cause.pulses),
        "evened": say("first.evened"),
        "silent": say("first.never", who=who, rest=rest)
        if never(take, cause)
        else say("first.silent", who=who, rest=rest),
        "missing": say("first.missing", who=who, stroke=stroke),
        "added": say("first.added", who=who, stroke=stroke),
        "hand": say("first.hand_late" if late else "first.hand_early", who=who, rest=rest),
        "looser": say("first.looser", cycle=cycle),
        "place": say("first.place_late" if late else "first.place_early", stroke=first),
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

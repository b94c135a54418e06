"""What to say to a player after a take, one finding with one thing to do, and where to go when lost."""

import math
from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np

from rhythmlab.core.check import a, index, whole
from rhythmlab.core.composite import composite
from rhythmlab.core.cycle import Cycle
from rhythmlab.core.display import Sentences
from rhythmlab.core.feel import Groups, OwnGroups, own_groups, own_row, places
from rhythmlab.core.public import public
from rhythmlab.core.rhythm import Rhythm, as_cycle
from rhythmlab.core.tempo import Tempo
from rhythmlab.playing.limits import Limits, limits_or
from rhythmlab.playing.metre import lane_places
from rhythmlab.practice.causes import LEAST_HAND_S, causes, part, rest_of
from rhythmlab.practice.doubled import without_doubles
from rhythmlab.practice.finding import Feedback, Finding
from rhythmlab.practice.measure import MOST_SOUNDS, Measures, Simpler, first_missed, measure
from rhythmlab.practice.moved import Cause
from rhythmlab.practice.next_step import CYCLES, Next, at_share, part_round
from rhythmlab.practice.take import Take
from rhythmlab.text import counts, numbers, sentences
from rhythmlab.text.sentences import say

_HANDS = ("right hand", "left hand")
#: Causes that are told as they are: no figure says from what on.
_AS_IS = ("spoiled", "count_in", "doubled", "began", "ended")
#: Own choices: tempo of slow work as a share, share of strokes that must be found, and share that may be
#: missed or be extra.
SLOW, FOUND, STRAY = Fraction(3, 4), 0.25, 0.03
#: From how many percent on it is said at which tempo a take was; and how near so many times another is.
FAR_PERCENT, NEARLY = 12, 0.02
#: From how many percent of the way to even places on strokes are called evenly spaced (own choice).
ALL_EVEN = 80
#: Longest take that a player is sent to, in cycles: the longest that a panel offers.
LONGEST = 16
#: From which share on strokes are called each of them (own choice).
NEARLY_ALL = 0.9
_LOST = "practice.when_lost((4, 3), 5)"
_EXAMPLE = 'practice.feedback(practice.take_from_midi("kit.mid", (7, 4), 72))'


# Names of lanes, limbs and ticks


def lane_name(cycle: Cycle, lane: int) -> str:
    """Return the name of a lane in a sentence; lanes of the same name are numbered.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> lane_name(Polyrhythm(4, 3).cycle(), 1), lane_name(Polyrhythm(3, 3).cycle(), 1)
    ('the 3', 'the second 3')
    """
    names = [row.name for row in cycle.lanes]
    name = names[lane]
    if names.count(name) == 1:
        return say("name.lane", lane=name) if name else say("name.unnamed_lane", nth=lane + 1)
    which = numbers.nth(names[:lane].count(name))
    return say("name.nth_lane", nth=which, lane=name) if name else say("name.nth_unnamed_lane", nth=which)


def limb_of(take: Take, lane: int) -> str:
    """Return the limb that plays a lane: the lane's own, or its share of the limbs of the take, or ``""``.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> from rhythmlab.core.tempo import Tempo
    >>> take = Take(cycle=Polyrhythm(4, 3).cycle(), tempo=Tempo(84, pulse=1), cycles=1, start=0, stop=12,
    ...             mode="both pulses", lanes=(0, 1), tap_lanes=[], tap_times=[], limbs="right hand and foot")
    >>> limb_of(take, 0), limb_of(take, 1)
    ('right hand', 'foot')
    """
    own = take.cycle.lanes[lane].limb
    if own:
        return own
    if take.limbs == "hands":
        parts = list(_HANDS) if len(take.cycle.lanes) == 2 else []
    else:
        parts = take.limbs.replace(",", " and ").split(" and ")
        if len(parts) == 1 and take.lanes == (lane,):
            return parts[0].strip()
    return parts[lane].strip() if len(parts) == len(take.cycle.lanes) > 1 else ""


def never(take: Take, silent: Cause) -> bool:
    """Whether a lane that fell silent was not played from the beginning on."""
    return silent.cycle == 1 and silent.tick == int(take.ticks(silent.lane)[0])


def rest_name(take: Take) -> str:
    """Name all lanes but one: of two that hands play, the other hand.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> from rhythmlab.core.tempo import Tempo
    >>> take = Take(cycle=Polyrhythm(4, 3).cycle(), tempo=Tempo(84, pulse=1), cycles=1, start=0, stop=12,
    ...             mode="both pulses", lanes=(0, 1), tap_lanes=[], tap_times=[], limbs="hands")
    >>> rest_name(take)
    'the other hand'
    """
    if len(take.lanes) != 2:
        return say("name.rest")
    return say(
        "name.other_hand"
        if {limb_of(take, lane) for lane in take.lanes} == set(_HANDS)
        else "name.other_lane"
    )


def tick_name(cycle: Cycle, tick: int, groups: OwnGroups = ()) -> str:
    """Return the name of a tick as its picture has it: by the word said there, of several bars in its bar.

    Parameters
    ----------
    cycle : Cycle
        What is played.
    tick : int
        A tick of it.
    groups : tuple
        The reader's own groups of a beat of five parts or more.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> tick_name(Polyrhythm(4, 3).cycle(), 4), tick_name(Polyrhythm(4, 3).cycle(), 3)
    ('beat 2', 'the a of 1')
    >>> tick_name(Polyrhythm(7, 4).cycle(), 12), tick_name(Polyrhythm(7, 4).cycle(), 12, ((3, 4),))
    ('the ta e of 2', 'the ta & of 2')
    """
    if not len(cycle.beats):
        return say("place.tick", tick=tick)
    rows = [lane.onsets for lane in cycle.lanes if tick in lane.onsets] or [np.array([tick], np.int64)]
    edges = [0, *cycle.bars.tolist(), cycle.ticks]
    end = next(edge for edge in edges if edge > tick)
    start = max(edge for edge in edges if edge <= tick)
    place = min((lane_places(cycle, row, start, end)[tick] for row in rows), key=lambda one: one.parts)
    if len(cycle.bars) and place.part > 1:  # in bars one line of the picture counts all lanes
        place = _told_apart(cycle, place.beat, (start, end), groups).get(tick, place)
    beat = int(cycle.beats[place.beat - 1])
    firsts = [bar for bar in cycle.bars.tolist() if bar <= beat]
    first = int(np.searchsorted(cycle.beats, firsts[-1])) if firsts else 0
    counted, row = replace(place, beat=place.beat - first), own_row(groups, place.parts)
    name = counts.said_in_row(counted, row)
    if counted.part == 1:
        name = say("place.beat", beat=counted.beat)
    elif counts.part_words(counted.parts, counted.longest, row):
        name = say("place.part", part=name)
    return say("place.in_bar", place=name, bar=len(firsts)) if len(cycle.bars) > 1 and firsts else name


def _told_apart(cycle: Cycle, beat: int, ends: tuple[int, int], groups: OwnGroups) -> counts.Beat:
    """Return the strokes of a beat as they are counted together, if their parts stay as they are."""
    together: counts.Beat = {}
    for lane in cycle.lanes:
        for tick, place in lane_places(cycle, lane.onsets, *ends).items():
            finer = tick in together and place.parts >= together[tick].parts
            if place.beat == beat and place.part > 1 and not finer:
                together[tick] = place
    told, unsaid = counts.told_apart(together, groups)
    known = {place.parts for place in together.values()}
    return told if not unsaid and {place.parts for place in told.values()} <= known else {}


# Where to go when lost


@dataclass(frozen=True, slots=True)
class ComeIn:
    """A place where whoever is lost can come in.

    Attributes
    ----------
    cycle : Cycle
        What is played.
    tick : int
        Where.
    ahead : int
        In how many ticks, at least 1.
    one : bool
        Whether it is beat 1, the "one" of the cycle.
    shared : bool
        Whether strokes meet there.
    later : bool
        Whether another place to come in is nearer.
    groups : tuple
        The reader's own groups of a beat of five parts or more.
    """

    cycle: Cycle
    tick: int
    ahead: int
    one: bool
    shared: bool
    later: bool = False
    groups: OwnGroups = ()

    def describe(self) -> str:
        """Say it as a sentence, with the beats to it; where nothing is counted, with the sounds to it.

        Examples
        --------
        >>> from rhythmlab.core.polyrhythm import Polyrhythm
        >>> place = come_in(Polyrhythm(7, 4).cycle(), 0)[0]
        >>> place.tick, place.ahead, place.describe()
        (0, 28, 'Come in on the next one, beat 1, 4 beats on: the strokes meet there.')
        """
        counted = len(self.cycle.beats) > 0
        steps = self.cycle.beats if counted else composite(self.cycle).onsets
        round_ = np.concatenate([steps - self.cycle.ticks, steps])
        many = int(((round_ > self.tick - self.ahead) & (round_ <= self.tick)).sum())
        on = say("lost.on", count=numbers.plural(many, "beat" if counted else "sound"))
        when = on if many else say("lost.in_this_beat")
        if not self.one:
            if not counted:
                return say("lost.meeting", when=when)
            return say("lost.shared", place=tick_name(self.cycle, self.tick, self.groups), when=when)
        if self.shared:
            return say("lost.meet", when=when)
        return say("lost.or_beat_1" if self.later else "lost.beat_1", when=when)


def come_in(cycle: Cycle, now: int, held: int | None = None) -> list[ComeIn]:
    """Return where to come in after a tick: at the next shared stroke, and at the next beat 1.

    Parameters
    ----------
    cycle : Cycle
        What is played.
    now : int
        A tick of it.
    held : int, optional
        The lane that still holds; the other lanes come in where they meet it.

    Returns
    -------
    list of ComeIn
        One or two, the nearest first.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> [(place.tick, place.ahead, place.one) for place in come_in(Polyrhythm(6, 4).cycle(), 1)]
    [(6, 5, False), (0, 11, True)]
    """
    line = composite(cycle)
    meet = line.pulses.sum(axis=1) > 1
    if held is not None:
        meet &= line.pulses[:, held]
    shared = line.onsets[meet]
    one = int(cycle.beats[0]) if len(cycle.beats) else 0
    to_one = (one - now - 1) % cycle.ticks + 1
    if not len(shared):
        return [ComeIn(cycle, one, to_one, one=True, shared=False)]
    ahead = (shared - now - 1) % cycle.ticks + 1
    tick, first = int(shared[ahead.argmin()]), int(ahead.min())
    if tick == one:
        return [ComeIn(cycle, one, to_one, one=True, shared=True)]
    return [
        ComeIn(cycle, tick, first, one=False, shared=True),
        ComeIn(cycle, one, to_one, one=True, shared=False, later=True),
    ]


@public(_LOST, cycle="what")
def when_lost(what: Rhythm, tick: int, lane: int | None = None, *, groups: Groups = ()) -> list[str]:
    """Say where to go when lost: the next shared stroke, the next beat 1, and what to drop to.

    Parameters
    ----------
    what : Polyrhythm, Cycle or pair such as (7, 4)
        What is played.
    tick : int
        Where the player is, at least 0; past the end it goes round.
    lane : int, optional
        The lane that still holds; the other lanes come in where they meet it.
    groups : str or sequence of int
        How a beat of five parts or more is said, as for `Feel`.

    Returns
    -------
    list of str
        Two or three sentences, the nearest place first.

    Raises
    ------
    ValueError, IndexError
        If the tick is not a whole number of at least 0, or there is no such lane.

    Examples
    --------
    >>> for sentence in when_lost((6, 4), 1): print(sentence)
    Come in on the next shared stroke, beat 3, 2 beats on.
    Or wait for the next one, beat 1, 4 beats on.
    Until then drop to the home pulse alone: only the 4 beats.
    """
    cycle = as_cycle(what, "what", _LOST)
    now = whole(tick, "tick", _LOST, least=0) % cycle.ticks
    held = None if lane is None else index(lane, len(cycle.lanes), "lane", "lanes")
    own = own_groups(groups, f'{_LOST[:-1]}, groups="2+3")')
    advice = Sentences(replace(place, groups=own).describe() for place in come_in(cycle, now, held))
    if held is not None:
        advice.append(say("lost.keep", lane=lane_name(cycle, held)))
    elif len(cycle.beats):
        advice.append(say("lost.drop", beats=numbers.plural(len(cycle.beats), "beat")))
    else:
        advice.append(say("lost.tap"))
    return advice


# After a take


def _ms(value: float) -> str:
    """Write milliseconds, without their sign."""
    return say("unit.ms", count=numbers.number(abs(value), 0))


def _faster(us: int, turn: Fraction) -> float:
    """Return by how many percent a tempo is faster whose cycle is so many microseconds longer."""
    share = us / (1_000_000 * float(turn))
    return -100 * share / (1 + share)


def _times() -> dict[Fraction, str]:
    """Return how often some shares of a tempo are called to be that tempo."""
    return {
        Fraction(4): say("speed.four_times"),
        Fraction(3): say("speed.three_times"),
        Fraction(2): say("speed.twice"),
        Fraction(3, 2): say("speed.three_halves"),
        Fraction(4, 3): say("speed.four_thirds"),
        Fraction(3, 4): say("speed.three_quarters"),
        Fraction(2, 3): say("speed.two_thirds"),
        Fraction(1, 2): say("speed.half"),
        Fraction(1, 3): say("speed.third"),
        Fraction(1, 4): say("speed.quarter"),
    }


def _percent(value: float) -> str:
    """Write percent, without their sign."""
    return say("unit.percent", count=numbers.number(abs(value), 1))


@dataclass(frozen=True, slots=True)
class _TakeSentences:
    """Sentences about one take."""

    take: Take
    measures: Measures
    home: int
    limits: Limits
    asked: int = 0  # cycles, where fewer were played
    groups: OwnGroups = ()
    left_out: int = 0  # cycles before those that are judged
    step: Tempo | None = None  # the tempo to go on at, where a ladder says it

    def at(self, tick: int) -> str:
        """Name a tick as the picture of the take has it."""
        return tick_name(self.take.cycle, tick, self.groups)

    def who(self, lane: int | None, full: bool = True) -> str:
        """Name a lane with its limb."""
        if lane is None:
            return say("name.line")
        limb, name = limb_of(self.take, lane), lane_name(self.take.cycle, lane)
        if not limb:
            return name
        known = self.take.cycle.lanes[lane].name in (limb, "hands", "feet")  # a name that adds nothing
        if known or not full:
            return say("name.limb", limb=limb)
        return say("name.limb_and_lane", limb=limb, lane=name)

    def tempo(self, tempo: Tempo | None = None) -> str:
        """Name a tempo, or that of the take."""
        tempo = tempo or self.take.tempo
        text = numbers.number(tempo.bpm, 0 if tempo.bpm >= 1 else 2)
        if tempo.pulse is None:
            return say("tempo.bpm", bpm=text)
        return say("tempo.of", bpm=text, pulse=lane_name(self.take.cycle, tempo.pulse))

    def slow(self) -> Tempo:
        """Return the tempo of slow work."""
        return at_share(self.take.tempo, SLOW)

    # What to do next, as words and as a value

    def next(
        self,
        kind: str,
        button: str,
        *,
        tempo: Tempo | None = None,
        part: tuple[int, int] | None = None,
        lanes: tuple[int, ...] = (),
        cycles: int = 0,
    ) -> Next:
        """Make a next step; of all of the slice and of all lanes played where nothing else is said."""
        start, stop = part or (self.take.start, self.take.stop)
        return Next(kind, start, stop, tempo, lanes or self.take.lanes, cycles, button)

    def again(self, cycles: int = 0) -> Next:
        """Play the same again, for as many cycles as before or for others."""
        many = cycles or self.asked or self.take.cycles
        said = say("button.cycles", cycles=numbers.plural(cycles, "cycle")) if cycles else say("button.again")
        return self.next("again", said, cycles=many)

    def whole(self, tempo: Tempo | None = None, cycles: int = 0) -> Next:
        """Play a take of all of it at another tempo."""
        tempo, many = tempo or self.slow(), cycles or self.few()
        bpm = bpm_text(tempo.bpm)
        said = say("button.whole", cycles=numbers.plural(many, "cycle"), bpm=bpm)
        return self.next("whole", said, tempo=tempo, cycles=many)

    def few(self) -> int:
        """Return for how many cycles a take at another tempo goes: four, or as many as were asked for."""
        return min(CYCLES, self.asked or self.take.cycles)

    def lane(self, lane: int, tempo: Tempo | None = None) -> Next:
        """Play a take of one lane alone."""
        name = lane_name(self.take.cycle, lane)
        said = say("button.lane", lane=name, bpm=bpm_text((tempo or self.take.tempo).bpm))
        return self.next("lane", said, tempo=tempo, lanes=(lane,), cycles=self.few())

    def listen(self) -> Next:
        """Let one cycle sound, slowly."""
        slow = self.slow()
        return self.next("listen", say("button.listen", bpm=bpm_text(slow.bpm)), tempo=slow)

    def part(self, tick: int, before: int = 1, start: int | None = None) -> tuple[str, Next]:
        """Play the beats round a tick and rest out the cycle; all of it where that is no part of it.

        A cut seam would make another rhythm, so nothing is looped.
        """
        cycle, slow = self.take.cycle, self.slow()
        part = part_round(cycle, tick, before) if self.take.stop - self.take.start == cycle.ticks else None
        if part is not None and start is not None:
            part = (start, part[1])
        if part is None or part[1] - part[0] == cycle.ticks:
            cycles = numbers.plural(self.few(), "cycle")
            return say("do.cycles", cycles=cycles, tempo=self.tempo(slow)), self.whole(slow)
        beats, landing = self.beats(*part), self.at(part[1] % cycle.ticks)
        do = say("do.part", beats=beats, tempo=self.tempo(slow), landing=landing)
        said = say("button.part", beats=beats, bpm=bpm_text(slow.bpm))
        return do, self.next("part", said, tempo=slow, part=part)

    def beats(self, start: int, stop: int) -> str:
        """Name the beats of a window."""
        beats = self.take.cycle.beats
        first, last = (int(np.searchsorted(beats, tick)) + 1 for tick in (start, stop))
        if first == last - 1:
            return self.at(start)
        if len(self.take.cycle.bars) > 1:
            return say("button.from_to", first=self.at(start), last=self.at(int(beats[last - 2])))
        if first == last - 2:
            return say("button.two_beats", first=first, last=last - 1)
        return say("button.beats", first=first, last=last - 1)

    def counting(self) -> tuple[str, Next]:
        """Play all of it slowly, counting aloud."""
        slow = self.slow()
        play = say("do.cycles", cycles=numbers.plural(self.few(), "cycle"), tempo=self.tempo(slow))
        return say("do.counting", play=play), self.whole(slow)

    def nothing(self) -> Finding:
        """Say that no stroke was found."""
        if not len(self.take.tap_times):
            heard = say("take.none_heard", cycles=numbers.plural(self.take.cycles, "cycle"))
        else:
            taps = numbers.plural(len(self.take.tap_times), "tap")
            heard = say("take.none_near", taps=taps, strokes=numbers.plural(self.measures.meant, "stroke"))
        do = say("do.say_aloud", home=lane_name(self.take.cycle, self.home))
        return Finding(heard, do, self.lane(self.home), apart=True)

    def lost_track(self) -> Finding:
        """Say that most strokes were not found."""
        m, slow = self.measures, self.slow()
        home = lane_name(self.take.cycle, self.home)
        found = say("take.few_near", near=m.matched, strokes=numbers.plural(m.meant, "stroke"))
        do = say("do.home_alone", tempo=self.tempo(slow), home=home)
        return Finding(found, do, self.lane(self.home, slow), apart=True)

    def symptom(self) -> Finding | None:
        """Return the most useful symptom."""
        found = [
            *(self.gap(), self.reentry(), self.broke(), self.wrong_hand(), self.missed(), self.extra()),
            *(self.common(), self.came_back()),
        ]
        return next((self.based(one) for one in found if one), None)

    def even(self) -> Finding:
        """Say how even it was, and what to do next; where a stroke was left out, that."""
        if self.measures.missed:
            return self.based(self.missed_some())
        return (self.spread() if self.measures.played_instead is None else None) or self.based(self.praise())

    def noticed_ms(self) -> float:
        """Return the smallest shift in the merged line that is mentioned, in milliseconds.

        It is displacement_jnd at the mean interval of the line, from displacement_jnd_fast to order.
        """
        interval = 1000 * float(self.take.turn) / max(1, len(self.take.ticks(None)))
        slow, fast = (float(self.limits[key].value) for key in ("displacement_jnd", "displacement_jnd_fast"))
        return min(max(fast, interval * slow / 100), float(self.limits["order"].value))

    def spread_ms(self) -> float:
        """Return the spread of the least even lane, in milliseconds."""
        return max((x.spread_ms for x in self.measures.lanes if x.spread_ms is not None), default=0.0)

    def cause(self, cause: Cause) -> Finding:
        """Say a cause, and the one thing to do about it."""
        said = {
            **{
                "spoiled": self.spoiled,
                "count_in": self.count_in,
                "swapped": self.swapped,
                "shifted": self.shifted,
            },
            **{"slipped": self.slipped, "tempo": self.another_tempo, "rushed": self.rushed},
            **{"locked": self.locked, "hand": self.hand, "looser": self.looser, "place": self.place},
            **{"unsure": self.unsure, "ended": self.ended, "silent": self.silent},
            **{"missing": self.habit, "added": self.habit, "unmeasured": self.unmeasured},
            **{"doubled": self.doubled, "began": self.began, "one_key": self.one_key},
            **{"evened": self.evened, "another": self.another, "waited": self.waited},
            **{"changed": self.changed, "parted": self.parted, "stretch": self.stretch},
        }
        finding = said[cause.kind](cause)
        return finding if cause.kind in _AS_IS else self.based(finding, cause)

    def based(self, finding: Finding, cause: Cause | None = None) -> Finding:
        """Say with a finding from what on it is told, and whose figure that is."""
        if finding.plain:
            return finding
        smallest = self.limits["displacement_jnd_fast"]
        if cause is None or cause.kind not in ("hand", "place"):
            return replace(finding, basis=say("told.own", found=finding.found))
        ms, source = _ms(1000 * LEAST_HAND_S), smallest.named
        return replace(finding, basis=say("told.heard", found=finding.found, ms=ms, source=source))

    def nth(self, cycle: int) -> int:
        """Return the number of a cycle among all that were asked for."""
        return cycle + self.left_out

    def began(self, cause: Cause) -> Finding:
        """Say from which cycle on it is judged, since nothing was played before."""
        return Finding(say("cause.began", cycle=cause.cycle, cycles=cause.count))

    def ended(self, cause: Cause) -> Finding:
        """Say after how many cycles nothing was played any more."""
        last, cycles = self.nth(cause.cycle), self.nth(cause.count)
        if not cause.cycle:
            slow = self.slow()
            found = say("cause.ended_in_first", cycle=last + 1, cycles=cycles)
            return Finding(found, say("take.one_whole", tempo=self.tempo(slow)), self.whole(slow, cycles=1))
        if cause.tick == self.first():
            return Finding(say("cause.ended_after", cycle=last, cycles=cycles))
        return Finding(say("cause.ended_in", cycle=last + 1, cycles=cycles, last=last))

    def first(self) -> int:
        """Return the first tick of the cycle at which a stroke was meant."""
        return min(int(ticks[0]) for lane in self.take.lanes if len(ticks := self.take.ticks(lane)))

    def play_all(self) -> tuple[str, Next] | None:
        """Play as many cycles as were asked for; nothing where they were."""
        cycles = numbers.plural(self.asked, "cycle")
        do = say("take.play_all", cycles=cycles, tempo=self.tempo())
        return (do, self.again(self.asked)) if self.asked else None

    def spoiled(self, cause: Cause) -> Finding:
        """Say why the take counts for nothing."""
        if not cause.count:
            return Finding(say("cause.interrupted"), say("do.close"), self.again())
        found = say("cause.spoiled", strokes=numbers.plural(cause.count, "stroke"))
        return Finding(found, say("do.close_else"), self.again())

    def count_in(self, cause: Cause) -> Finding:
        """Say that it was played in the count-in."""
        return Finding(say("cause.count_in"), say("do.after_count_in"), self.again())

    def doubled(self, cause: Cause) -> Finding:
        """Say whose strokes came twice, and what to do about the pad."""
        who = sentences.listed([self.who(lane, full=False) for lane in cause.lanes])
        taps = int(np.isin(self.take.tap_lanes, cause.lanes).sum())
        key = "cause.doubled" if cause.count > (taps - cause.count) * NEARLY_ALL else "cause.mostly_doubled"
        return Finding(say(key, who=who, ms=_ms(cause.us / 1000)))

    def one_key(self, cause: Cause) -> Finding:
        """Say that all lanes were played on the key of one."""
        found = say("cause.one_key", lane=lane_name(self.take.cycle, cause.lane or 0))
        return Finding(found, say("do.own_keys"), self.again())

    def swapped(self, cause: Cause) -> Finding:
        """Say which hand or key played which lane."""
        played = []
        for lane, instead in zip(self.take.lanes, cause.lanes, strict=True):
            if lane != instead:
                name = lane_name(self.take.cycle, lane)
                limb = limb_of(self.take, lane)
                who = say("name.limb", limb=limb) if limb else say("cause.key_of", lane=name)
                played.append(say("cause.played", who=who, lane=lane_name(self.take.cycle, instead)))
        if cause.cycle:
            found = say("cause.swapped_in", cycle=self.nth(cause.cycle), played=sentences.listed(played))
            return Finding(found, say("do.swap_back_on"), self.again())
        found = say("cause.swapped", played=sentences.listed(played))
        return Finding(found, say("do.swap_back"), self.again())

    def amount(self, cause: Cause) -> str:
        """Say a shift in beats and half beats, in a stroke of a lane, or in parts of a beat."""
        cycle, turn = self.take.cycle, self.take.stop - self.take.start
        tick_us = 1_000_000 * float(self.take.tempo.tick_seconds(cycle))
        half_ticks = round(2 * abs(cause.us) / tick_us)
        ticks = half_ticks // 2
        beats = set(np.diff(cycle.beats).tolist()) or {turn}
        beat = beats.pop() if len(beats) == 1 else 0
        if beat and half_ticks == beat:
            return say("cause.half_beat")
        if beat and not half_ticks % (2 * beat):
            return numbers.plural(ticks // beat, "beat")
        for lane in self.take.lanes:
            if not half_ticks % 2 and {ticks} == set(np.diff(self.take.ticks(lane)).tolist()):
                return say("cause.stroke_of", lane=lane_name(cycle, lane))
        if beat and not half_ticks % beat:
            return say("cause.and_half", count=ticks // beat)
        if half_ticks % 2 or not beat or len(cycle.beats) < 2:
            return _ms(cause.us / 1000)
        return numbers.plural(ticks, "beat_part")

    def shifted(self, cause: Cause) -> Finding:
        """Say how early or late all was; where nobody measured the delay, on which place the 1 was put."""
        by, do = self.amount(cause), say("do.come_in")
        if self.take.calibrated:
            found = say("cause.shifted_early" if cause.us < 0 else "cause.shifted_late", by=by)
            return Finding(found, do, self.again())
        place, cycle = self.put(cause), self.take.cycle
        if not place:
            return Finding(say("cause.shifted_on", by=by), do, self.again())
        beat = int(np.diff(cycle.beats, append=cycle.beats[0] + cycle.ticks).min())
        beat_us = 1_000_000 * beat * float(self.take.tempo.tick_seconds(cycle))
        if 0 < cause.us < 0.99 * beat_us:
            return self.calibrate(say("cause.put_or_delay", place=place, by=by))
        return Finding(say("cause.put", place=place, by=by), do, self.again())

    def calibrate(self, found: str) -> Finding:
        """Measure the delay of the device."""
        return Finding(found, say("do.calibrate"), self.next("calibrate", say("button.calibrate")))

    def put(self, cause: Cause) -> str:
        """Name the place that the 1 was put on; nothing where a take does not begin on it."""
        cycle, turn = self.take.cycle, self.take.stop - self.take.start
        if not len(cycle.beats) or self.take.start != cycle.beats[0]:
            return ""
        halves = round(2 * cause.us / (1_000_000 * float(self.take.tempo.tick_seconds(cycle)))) % (2 * turn)
        if not halves % 2:
            tick = self.take.start + halves // 2
            row = np.array([tick], dtype=np.int64)
            known = tick in cycle.beats or places(cycle, row)
            return say("place.on", place=self.at(tick)) if known else ""
        before = int(np.searchsorted(2 * (cycle.beats - self.take.start), halves)) - 1
        first, then = (int(cycle.beats[i % len(cycle.beats)]) for i in (before, before + 1))
        return say("place.between", first=self.at(first), then=self.at(then))

    def unmeasured(self, cause: Cause) -> Finding:
        """Say that all was off by what may be a delay of the device."""
        return self.calibrate(say("cause.unmeasured", ms=_ms(cause.us / 1000)))

    def slipped(self, cause: Cause) -> Finding:
        """Say where how much was dropped or added."""
        place = self.at(cause.tick)
        dropped = "cause.dropped_or_twice" if cause.then_us else "cause.dropped"
        key = dropped if cause.us < 0 else "cause.added"
        found = say(key, by=self.amount(cause), place=place, cycle=self.nth(cause.cycle))
        return Finding(found, *self.counting())

    def waited(self, cause: Cause) -> Finding:
        """Say before which stroke how long a wait was, or how much too soon one came."""
        key = "cause.waited" if cause.us > 0 else "cause.hurried"
        place, cycle = self.at(cause.tick), self.nth(cause.cycle)
        return Finding(say(key, ms=_ms(cause.us / 1000), place=place, cycle=cycle), *self.counting())

    def changed(self, cause: Cause) -> Finding:
        """Say from which cycle on the tempo was another one."""
        percent = _faster(cause.us, self.take.turn)
        key = "cause.changed_faster" if percent > 0 else "cause.changed_slower"
        do = say("do.foot_begin", home=lane_name(self.take.cycle, self.home))
        return Finding(say(key, cycle=self.nth(cause.cycle), percent=_percent(percent)), do, self.again())

    def parted(self, cause: Cause) -> Finding:
        """Say which lane went at another tempo than the others, and how far it was from them by the end."""
        key = "cause.parted_slow" if cause.us > 0 else "cause.parted_fast"
        other = rest_name(self.take) if cause.other is None else self.who(cause.other, full=False)
        found = say(
            key,
            who=sentences.capital(self.who(cause.lane)),
            percent=_percent(_faster(cause.us, self.take.turn)),
            other=other,
            ms=_ms(cause.then_us / 1000),
        )
        return self.own_pulse(found, cause.lane or 0)

    def own_pulse(self, found: str, lane: int) -> Finding:
        """Play a lane alone, slowly, until it keeps its own pulse."""
        slow = self.slow()
        do = say("do.own_pulse", lane=lane_name(self.take.cycle, lane), tempo=self.tempo(slow))
        return Finding(found, do, self.lane(lane, slow))

    def stretch(self, cause: Cause) -> Finding:
        """Say up to which place each cycle was rushed or dragged."""
        key = "cause.stretch_dragged" if cause.us > 0 else "cause.stretch_rushed"
        first, place = self.at(self.take.start), self.at(cause.tick)
        play, then = self.part(cause.tick, start=self.take.start)
        found = say(key, first=first, place=place, ms=_ms(cause.us / 1000))
        return Finding(found, say("do.counting", play=play), then)

    def another_tempo(self, cause: Cause) -> Finding:
        """Say how much faster or slower than its tempo all was."""
        percent, do = _faster(cause.us, self.take.turn), say("do.begin_in")
        if abs(percent) > FAR_PERCENT:
            speed = 1 + percent / 100
            times = _times()
            near = min(times, key=lambda share: abs(speed / share - 1))
            nearly = abs(speed / near - 1) < NEARLY
            way = "speed.faster" if percent > 0 else "speed.slower"
            how = times[near] if nearly else say(way, percent=_percent(percent))
            bpm = near if nearly else Fraction(speed).limit_denominator(1000)
            asked = numbers.number(self.take.tempo.bpm, 0 if self.take.tempo.bpm >= 1 else 2)
            played = self.tempo(at_share(self.take.tempo, bpm))
            return Finding(say("cause.played_at", played=played, how=how, asked=asked), do, self.again())
        key = "cause.faster" if percent > 0 else "cause.slower"
        return Finding(say(key, percent=_percent(percent), tempo=self.tempo()), do, self.again())

    def rushed(self, cause: Cause) -> Finding:
        """Say how much faster or slower the take became."""
        percent = _faster(cause.then_us, self.take.turn) - _faster(cause.us, self.take.turn)
        found = say("cause.rushed" if percent > 0 else "cause.dragged", percent=_percent(percent))
        home = lane_name(self.take.cycle, self.home)
        return Finding(found, say("do.foot_wait" if percent > 0 else "do.foot_go", home=home), self.again())

    def locked(self, cause: Cause) -> Finding:
        """Say which simpler rhythm was played."""
        if cause.line is not None:
            return self.simpler(cause.line)
        who, cycle, lane = sentences.capital(self.who(cause.lane)), self.take.cycle, cause.lane or 0
        meant = len(self.take.ticks(cause.lane))
        other = next((lane for lane in (self.home, *self.take.lanes) if lane != cause.lane), None)
        if other is None:
            return self.own_pulse(say("cause.locked", who=who, count=cause.count, meant=meant), lane)
        against = len(self.take.ticks(other))
        if cause.count == against:
            to = lane_name(cycle, other)
            found = say("cause.locked_onto", who=who, other=to, count=against, meant=meant)
            return self.own_pulse(found, lane)
        common = math.gcd(cause.count, against)
        pair = say("name.pair", first=cause.count // common, second=against // common)
        found = say("cause.locked_to", who=who, count=cause.count, meant=meant, pair=pair)
        return self.own_pulse(found, lane)

    def another(self, cause: Cause) -> Finding:
        """Say which other pair was played."""
        first, second = (len(self.take.ticks(lane)) for lane in self.take.lanes)
        meant = say("name.pair", first=first, second=second)
        played = say("name.pair", first=cause.pulses[0], second=cause.pulses[1])
        return self.copy(say("cause.another", played=played, meant=meant))

    def copy(self, found: str) -> Finding:
        """Listen to the line, slowly, and copy it."""
        do = say("do.copy", line=self.line()[1], tempo=self.tempo(self.slow()))
        return Finding(found, do, self.listen())

    def evened(self, cause: Cause) -> Finding:
        """Say that the sounds were evenly spaced, or nearly, and how they are meant."""
        sounds = self.line()[0]
        if cause.count >= ALL_EVEN:
            return self.copy(say("cause.evened", sounds=sounds))
        return self.copy(say("cause.nearly_evened", sounds=sounds))

    def line(self) -> tuple[str, str]:
        """Return the sounds of a cycle, and how far apart they are, where they are not too many."""
        onsets = np.unique(np.concatenate([self.take.ticks(lane) for lane in self.take.lanes]))
        steps = np.diff(np.append(onsets, onsets[0] + self.take.cycle.ticks))
        written = " ".join(map(str, (steps // np.gcd.reduce(steps)).tolist()))
        line = say("cause.line_steps", steps=written) if len(steps) <= MOST_SOUNDS else say("cause.line_long")
        return numbers.plural(len(onsets), "sound"), line

    def simpler(self, found: Simpler) -> Finding:
        """Say which simpler line was played."""
        meant, what = " ".join(map(str, found.meant)), " ".join(map(str, found.intervals))
        if found.even:
            what = say("take.even_strokes", count=len(found.intervals))
        elif found.name:
            what = say("take.line_of", line=what, pair=found.name)
        said = say(
            "take.really",
            played=what,
            played_off=_ms(found.rms_ms),
            meant=meant,
            meant_off=_ms(found.meant_rms_ms),
        )
        return Finding(said, say("do.say_line", meant=meant, tempo=self.tempo(self.slow())), self.listen())

    def hand(self, cause: Cause) -> Finding:
        """Say by how much a lane is late or early against another, or against all the others."""
        rows = [set(self.take.ticks(lane).tolist()) for lane in self.take.lanes]
        both = sorted(set.intersection(*rows))
        play, then = self.part(both[0] if both else self.take.start, before=0)
        who, limb = sentences.capital(self.who(cause.lane)), self.who(cause.lane, full=False)
        ms = _ms(cause.us / 1000)
        if cause.other is None and cause.us <= 0:
            found = say("take.early_of_all", who=who, ms=ms)
            return Finding(found, say("do.back", play=play, limb=limb), then)
        found = say("take.late_of_all", who=who, ms=ms)
        if cause.other is not None:
            found = say("take.late", who=who, ms=ms, other=self.who(cause.other, full=False))
        return Finding(found, say("do.forward", play=play, limb=limb), then)

    def looser(self, cause: Cause) -> Finding:
        """Say from which cycle on it was looser."""
        tight = cause.cycle - 1
        after, before = _ms(cause.then_us / 1000), _ms(cause.us / 1000)
        found = say("cause.looser", cycle=self.nth(cause.cycle), after=after, before=before)
        do = say("do.tight", cycles=numbers.plural(tight, "cycle"))
        return Finding(found, do, self.again(tight))

    def silent(self, cause: Cause) -> Finding:
        """Say from where on a lane was not played any more."""
        who, slow = sentences.capital(self.who(cause.lane)), self.slow()
        rest, then = rest_name(self.take), self.lane(cause.lane or 0, slow)
        if never(self.take, cause):
            do = say("do.alone", tempo=self.tempo(slow), rest=rest)
            return Finding(say("cause.never", who=who), do, then)
        found = say(
            "cause.silent", who=who, place=self.at(cause.tick), cycle=self.nth(cause.cycle), rest=rest
        )
        return Finding(found, say("do.keep_alone", tempo=self.tempo(slow), rest=rest), then)

    def habit(self, cause: Cause) -> Finding:
        """Say which stroke was left out, or added, again and again, and from which cycle on."""
        who, first = self.who(cause.lane), cause.cycle
        place, cycles = self.at(cause.tick), self.take.cycles - cause.cycle + 1
        often = say("cause.each_cycle")
        if cause.count < cycles:
            often = say("cause.some_cycles", many=cause.count, cycles=numbers.plural(cycles, "cycle"))
        missing = cause.kind == "missing"
        play, then = self.part(cause.tick, before=1 if missing else 0)
        do = say("do.every_time", play=play, place=place) if missing else say("do.counting", play=play)
        nth = self.nth(first)
        if first == 1:  # of what is judged
            who = sentences.capital(who)
            found = say("cause.added_stroke", who=who, place=place, often=often)
            if missing:
                found = say("cause.missing", who=who, place=place, often=often)
        elif missing:
            found = say("cause.missing_from", first=nth, who=who, place=place, often=often)
        else:
            found = say("cause.added_from", first=nth, who=who, place=place, often=often)
        return Finding(found, do, then)

    def place(self, cause: Cause) -> Finding:
        """Say which place was early or late, or where lanes meet, how far apart they were."""
        for pair in self.measures.apart:
            meet = set(self.take.ticks(pair.first)) & set(self.take.ticks(pair.second))
            if cause.lane in (pair.first, pair.second) and meet == {cause.tick} and pair.mean_ms:
                late = pair.first if pair.leads == pair.second else pair.second
                play, then = self.part(cause.tick, before=0)
                who, first = self.who(late), self.who(pair.leads, full=False)
                found = say("take.apart", who=who, ms=_ms(pair.mean_ms), first=first)
                return Finding(found, say("do.as_one", play=play), then)
        key = "cause.late_place" if cause.us > 0 else "cause.early_place"
        found = say(key, place=self.at(cause.tick), who=self.who(cause.lane), ms=_ms(cause.us / 1000))
        return Finding(found, *self.part(cause.tick))

    def unsure(self, cause: Cause) -> Finding:
        """Say that it cannot be told yet."""
        do, then = self.play_all() or (say("take.four_more"), self.again(CYCLES))
        strokes = numbers.plural(self.measures.matched, "stroke")
        return Finding(say("cause.unsure", strokes=strokes, ms=_ms(max(1.0, cause.us / 1000))), do, then)

    def gap(self) -> Finding | None:
        """Say where the gaps of a gap cycle first go wrong."""
        curve = self.measures.gap
        if self.take.mode != "gap cycle" or curve is None or curve.rms_ms is None:
            return None
        if curve.first_wrong is None:
            found = say("take.gaps_right", ms=_ms(curve.rms_ms))
            return Finding(found, say("do.lead_aloud"), self.again())
        ticks = self.take.ticks(curve.of)
        cycle, stroke = divmod(curve.first_wrong, len(ticks))
        found = say(
            "take.gaps_wrong",
            stroke=stroke + 1,
            limb=self.who(curve.of, full=False),
            cycle=self.nth(cycle) + 1,
            place=self.at(int(ticks[stroke])),
            ms=_ms(curve.rms_ms),
        )
        return Finding(found, *self.part(int(ticks[stroke])))

    def broke(self) -> Finding | None:
        """Say where it broke and how long the way back was."""
        broke = self.measures.broke
        if broke is None:
            return None
        place, home = self.at(broke.tick), lane_name(self.take.cycle, self.home)
        if broke.lane is None:
            broken = say("take.broke", place=place, cycle=self.nth(broke.cycle))
        else:
            limb = self.who(broke.lane, full=False)
            broken = say("take.broke_in", place=place, cycle=self.nth(broke.cycle), limb=limb)
        play, then = self.part(broke.tick)
        do = say("do.lost", play=play, home=home)
        if broke.strokes is None or broke.seconds is None:
            return Finding(say("take.no_way_back", broke=broken), do, then)
        strokes, took = numbers.plural(broke.strokes, "stroke"), numbers.seconds(broke.seconds)
        return Finding(say("take.way_back", broke=broken, strokes=strokes, seconds=took), do, then)

    def wrong_hand(self) -> Finding | None:
        """Say how often another lane's stroke was played."""
        row = max(self.measures.lanes, key=lambda x: x.wrong_hand)
        if row.wrong_hand <= max(1, STRAY * row.meant):
            return None
        who, strokes = sentences.capital(self.who(row.lane)), numbers.plural(row.wrong_hand, "stroke")
        return Finding(say("take.wrong_hand", who=who, strokes=strokes), say("do.hand_aloud"), self.whole())

    def missed(self) -> Finding | None:
        """Say how many strokes were missed, and by whom."""
        m, row = self.measures, max(self.measures.lanes, key=lambda x: x.missed)
        if m.missed <= max(1, STRAY * m.meant):
            return None
        strokes, slow = numbers.plural(m.meant, "stroke"), self.slow()
        do, then = say("do.every_stroke", tempo=self.tempo(slow)), self.whole(slow)
        if len(m.lanes) == 1:
            return Finding(say("take.missed", missed=m.missed, strokes=strokes), do, then)
        many = say("take.all") if row.missed == m.missed else say("take.some", many=row.missed)
        limb = self.who(row.lane, full=False)
        found = say("take.missed_by", missed=m.missed, strokes=strokes, many=many, limb=limb)
        return Finding(found, do, then)

    def missed_some(self) -> Finding:
        """Say which stroke was left out, the first of a few, however even the others were."""
        lane, tick, cycle = first_missed(self.take, self.measures)
        who, place = sentences.capital(self.who(lane)), self.at(tick)
        strokes = numbers.plural(self.measures.meant, "stroke")
        found = say(
            "take.left_out",
            who=who,
            place=place,
            cycle=self.nth(cycle),
            missed=self.measures.missed,
            strokes=strokes,
        )
        play, then = self.part(tick)
        return Finding(found, say("do.every_time", play=play, place=place), then)

    def extra(self) -> Finding | None:
        """Say how many taps were too many."""
        m, row = self.measures, max(self.measures.lanes, key=lambda x: x.extra)
        extra = m.extra + m.elsewhere
        if extra <= max(1, STRAY * m.meant):
            return None
        strokes, do = numbers.plural(extra, "stroke"), say("do.one_lane")
        if len(m.lanes) == 1 or not row.extra:
            then = self.again() if len(self.take.lanes) == 1 else self.lane(self.take.lanes[0])
            return Finding(say("take.extra", strokes=strokes, meant=m.meant), do, then)
        many = say("take.all") if row.extra == extra else say("take.some", many=row.extra)
        limb = self.who(row.lane, full=False)
        found = say("take.extra_by", strokes=strokes, meant=m.meant, many=many, limb=limb)
        return Finding(found, do, self.lane(row.lane or 0))

    def worst_reentry(self) -> tuple[str, float] | None:
        """Return after how many silences a stroke was there, and how far off the furthest was."""
        known = [ms for ms in self.measures.reentry_ms if not math.isnan(ms)]
        return (numbers.plural(len(known), "silence"), max(known, key=abs)) if known else None

    def reentry(self) -> Finding | None:
        """Say how far off the strokes after a silence were, where they were."""
        missing = sum(map(math.isnan, self.measures.reentry_ms))
        if missing:
            found = say("take.no_reentry", silences=numbers.plural(missing, "silence"))
            return Finding(found, say("do.one_silent"), self.again())
        worst = self.worst_reentry()
        if worst is None or abs(worst[1]) < max(2 * self.noticed_ms(), 3 * self.spread_ms()):
            return None
        key = "take.reentry_late" if worst[1] > 0 else "take.reentry_early"
        return Finding(say(key, silences=worst[0], ms=_ms(worst[1])), say("do.foot_silent"), self.again())

    def came_back(self) -> Finding | None:
        """Say that the strokes after a silence were right."""
        worst = self.worst_reentry()
        if worst is None:
            return None
        found = say("take.reentry_right", silences=worst[0], ms=_ms(max(1.0, abs(worst[1]))))
        return Finding(found, say("do.one_more"), self.again())

    def common(self) -> Finding | None:
        """Say, only when calibrated, that all was late, or earlier than the usual lead."""
        m, lead = self.measures, float(self.limits["tap_lead"].high)
        if not m.calibrated or m.common_ms is None:
            return None
        sure = 4 * self.spread_ms() / math.sqrt(m.matched)
        if -lead - sure <= m.common_ms <= max(self.noticed_ms(), sure):
            return None
        if m.common_ms > 0:
            return Finding(say("take.all_late", ms=_ms(m.common_ms)), say("do.earlier"), self.again())
        return Finding(say("take.all_early", ms=_ms(m.common_ms)), say("do.wait"), self.again())

    def spread(self) -> Finding | None:
        """Say how even the least even lane was, beside published figures, and what to do next."""
        rows = [
            (100 * off / x.interval_ms, x)
            for x in self.measures.lanes
            if x.steady_ms is not None and x.matched > 4
            if (off := x.steady_ms if x.drifts else x.spread_ms) is not None
        ]
        if not rows:
            return None
        percent, row = max(rows, key=lambda pair: pair[0])
        limits = [self.limits[key] for key in ("tap_sd_trained", "tap_sd_novice")]
        trained, novice = (float(limit.value) for limit in limits)
        named = limits[0].named
        m = self.measures
        strokes = numbers.plural(m.meant, "stroke")
        there = "" if m.missed or m.extra else say("take.all_there", strokes=strokes)
        ms = _ms(percent * row.interval_ms / 100)
        head = say(
            "take.least_even" if len(rows) > 1 else "take.spread",
            who=self.who(row.lane),
            ms=ms,
            percent=_percent(percent),
        )
        if percent <= trained and len(rows) > 1:  # the least even of all is no fault
            head = say("take.even", ms=ms, percent=_percent(percent))
        if percent <= trained:
            judged = say("take.as_trained", head=head, trained=_percent(trained), source=named)
            plain, tempo = say("even.trained", there=there), at_share(self.take.tempo, Fraction(104, 100))
            cycles = numbers.plural(self.few(), "cycle")
            do, then = say("do.cycles", cycles=cycles, tempo=self.tempo(tempo)), self.whole(tempo)
        elif percent <= novice:
            judged = say(
                "take.as_between", head=head, trained=_percent(trained), novice=_percent(novice), source=named
            )
            plain = say("even.between", there=there)
            do, then = say("take.stay", tempo=self.tempo()), self.again()
        else:
            judged = say("take.as_novices", head=head, novice=_percent(novice), source=named)
            plain, slow = say("even.novices", who=self.who(row.lane, full=False), there=there), self.slow()
            do, then = say("take.until_even", tempo=self.tempo(slow)), self.whole(slow)
        no_faster = percent > novice  # who is not even at this tempo is not sent to a faster one
        do, then = self.play_all() or self.at_step(no_faster=no_faster) or (do, then)
        return Finding(say("take.judged", judged=judged, there=there), do, then, plain)

    def at_step(self, *, no_faster: bool = False) -> tuple[str, Next] | None:
        """Go on at the step of a ladder, where there is one; if asked, one no faster than what was played."""
        if self.step is None:
            return None
        cycle = self.take.cycle
        if no_faster and self.step.cycle_seconds(cycle) < self.take.tempo.cycle_seconds(cycle):
            return None
        return say("take.at_step", tempo=self.step_name()), self.whole(self.step)

    def step_name(self) -> str:
        """Name the tempo of a step, exactly."""
        step = self.step or self.take.tempo
        pulse = lane_name(self.take.cycle, step.pulse or 0)
        return say("tempo.of", bpm=numbers.number(step.bpm), pulse=pulse)

    def praise(self) -> Finding:
        """Say how many strokes were in place, where there is nothing else to say."""
        m = self.measures
        longer = min(LONGEST, 2 * self.take.cycles)
        do, then = self.play_all() or self.at_step() or (say("take.longer"), self.again(longer))
        found = say("take.in_place", matched=m.matched, strokes=numbers.plural(m.meant, "stroke"))
        return Finding(found, do, then)


def bpm_text(bpm: Fraction) -> str:
    """Write a tempo on a button, in whole bpm where it is not slow.

    Examples
    --------
    >>> bpm_text(Fraction(54)), bpm_text(Fraction(1, 3))
    ('54', '0.33')
    """
    return numbers.number(bpm, 0 if bpm >= 1 else 2)


@public(_EXAMPLE, "home", "limits", bounds="limits")
def feedback(
    take: Take,
    measures: Measures | None = None,
    *,
    home: int | None = None,
    limits: Limits | None = None,
    groups: Groups = (),
) -> Feedback:
    """Say why a take was off, or how even it was, and one thing to do next.

    Parameters
    ----------
    take : Take
        What was played.
    measures : Measures, optional
        From `measure`; measured here when left out.
    home : int, optional
        Index of the lane felt as the beat; that of the take when left out.
    limits : Limits, optional
        The limits to use: tap_sd_trained, tap_sd_novice, tap_lead, displacement_jnd,
        displacement_jnd_fast and order.
    groups : str or sequence of int
        How a beat of five parts or more is said, as for `Feel`: places are named as the picture has them.

    Returns
    -------
    Feedback
        A list of str: the first cause of the take with its next step, and where the take is not calibrated,
        that; not where all of it was shifted, since that is told.  Its ``found`` and ``do`` are the finding
        and what to do as sentences, its ``next`` is the same as a value.

    Raises
    ------
    ValueError, IndexError
        If it is not a `Take`, or there is no such lane.

    Examples
    --------
    >>> from rhythmlab.core.polyrhythm import Polyrhythm
    >>> from rhythmlab.core.tempo import Tempo
    >>> cycle, tempo = Polyrhythm(4, 3).cycle(), Tempo(84, pulse=1)
    >>> take = Take(cycle=cycle, tempo=tempo, cycles=1, start=0, stop=12, mode="both pulses", lanes=(0, 1),
    ...             tap_lanes=[], tap_times=[], limbs="hands")
    >>> feedback(take)
    ['No stroke was heard in 1 cycle.', 'Next: say the rhythm aloud for two cycles, then tap the 3 alone.']
    """
    a(Take, take, "take", _EXAMPLE)
    limits = limits_or(limits, f"{_EXAMPLE[:-1]}, limits=limits(order=30))")
    measures = measure(take, limits=limits) if measures is None else measures
    a(Measures, measures, "measures", _EXAMPLE)
    beat = take.home if home is None else index(home, len(take.cycle.lanes), "home", "lanes")
    own = own_groups(groups, f'{_EXAMPLE[:-1]}, groups="3+4")')
    about = _TakeSentences(take, measures, beat or 0, limits, groups=own)  # a take always has its home
    return _told(about)


def feedback_at(take: Take, measures: Measures, groups: OwnGroups, step: Tempo | None) -> Feedback:
    """Say what `feedback` says, with the tempo to go on at as a ladder has it, where there is one."""
    return _told(_TakeSentences(take, measures, take.home or 0, limits_or(None), groups=groups, step=step))


def _told(about: _TakeSentences) -> Feedback:
    """Say what was found in a take, where a stroke was meant."""
    if not about.measures.meant:
        return Feedback([Finding(say("take.nothing_meant"), say("do.choose_slice"), apart=True)])
    return Feedback(*_said(about, causes(about.take, about.measures, every=False)))


def _said(about: _TakeSentences, why: tuple[Cause, ...]) -> tuple[list[Finding], list[str]]:
    """Return what was found in a take, and what is not judged.

    Of one that began late or ended early, that first, and then the rest; and of one whose strokes came twice,
    that first, and then what is found without the second ones.
    """
    take, measures = about.take, about.measures
    rest = None
    if why and why[0].kind == "began":
        played = rest_of(take, why[0].cycle - 1)
        judged = measure(played, limits=about.limits)
        rest = replace(about, take=played, measures=judged, asked=why[0].count, left_out=why[0].cycle - 1)
    elif why and why[0].kind == "ended" and why[0].cycle:
        played = part(take, why[0].cycle)
        judged, asked = measure(played, limits=about.limits), about.nth(why[0].count)
        rest = replace(about, take=played, measures=judged, asked=asked)
    elif why and why[0].kind == "doubled" and (without := without_doubles(take)) is not None:
        rest = replace(about, take=without[1], measures=measure(without[1], limits=about.limits))
    if rest is not None:
        found, notes = _said(rest, why[1:])
        return [about.cause(why[0]), *found], notes
    if why and why[0].kind in ("ended", "spoiled", "count_in", "shifted", "unmeasured"):
        return [about.cause(why[0])], []  # a shift tells where the whole take lay
    if not measures.matched and not why:
        return [about.nothing()], []
    notes = [] if take.calibrated else [say("take.not_calibrated")]
    if why and why[0].kind != "unsure":
        return [about.cause(why[0])], notes
    if measures.matched < FOUND * measures.meant:
        return [about.based(about.lost_track())], notes
    return [about.symptom() or (about.cause(why[0]) if why else about.even())], notes

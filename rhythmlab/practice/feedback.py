"""What to tell a player after a take, in at most three sentences; where to go when lost is in `where`.

What all lanes share is device delay and the player's own lead: without calibration it is named but never
judged, and the lanes are told against each other.
"""

import math
from dataclasses import dataclass
from fractions import Fraction

from rhythmlab import words
from rhythmlab.core.call import public
from rhythmlab.core.check import FASTEST, SLOWEST, a, index
from rhythmlab.playing.limits import Limits, limits_or
from rhythmlab.practice.measure import measure
from rhythmlab.practice.measures import LaneMeasure, Measures
from rhythmlab.practice.take import Take
from rhythmlab.practice.where import lane_said, limb_of, lost, place_said

__all__ = ["feedback", "lost"]

_EXAMPLE = 'feedback(take_from_midi("kit.mid", (7, 4), 72))'
#: Own choices: tempo of slow work, share of strokes that must be found, share that may be missed or be
#: extra, and the smallest change of tempo that is told, in percent.
SLOW, FOUND, STRAY, TEMPO = Fraction(3, 4), 0.25, 0.03, 0.5


@public(_EXAMPLE, bounds="limits")
def feedback(
    take: Take, measures: Measures | None = None, *, home: int | None = None, limits: Limits | None = None
) -> list[str]:
    """Say what was early or late, what to change, and what to do next: three sentences at most.

    Parameters
    ----------
    take : Take
        What was played.
    measures : Measures, optional
        From `measure`; measured here when left out.
    home : int, optional
        Lane felt as the beat; that of the take when left out.
    limits : Limits, optional
        The limits to use: tap_sd_trained, tap_sd_novice, tap_lead, displacement_jnd,
        displacement_jnd_fast and order.

    Returns
    -------
    list of str
        The most useful first.

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
    home = take.home if home is None else index(home, len(take.cycle.lanes), "home", "lanes")
    teller = _Teller(take, measures, home, limits)
    if not measures.meant:
        return ["No stroke was meant in this slice.", "Next: choose a slice that holds a stroke."]
    if not measures.matched:
        return teller.nothing()
    shared = [] if take.calibrated else [teller.not_calibrated()]
    if measures.matched < FOUND * measures.meant:
        return [*teller.lost_track(), *shared]
    return [*teller.findings(3 - len(shared)), *shared]


@dataclass(frozen=True, slots=True)
class _Teller:
    """Sentences about one take."""

    take: Take
    measures: Measures
    home: int
    limits: Limits

    def who(self, lane: int | None, full: bool = True) -> str:
        """Name a lane with its limb."""
        if lane is None:
            return "the line"
        limb, name = limb_of(self.take, lane), lane_said(self.take.cycle, lane)
        if not limb:
            return name
        return f"the {limb}, {name}," if full else f"the {limb}"

    def tempo(self, share: Fraction = Fraction(1)) -> str:
        """Name the tempo of the take, or a share of it that can be set: from 1 to 1,000."""
        tempo = self.take.tempo
        of = "" if tempo.pulse is None else f" of {lane_said(self.take.cycle, tempo.pulse)}"
        bpm = tempo.bpm * share
        if share != 1:
            bpm = max(min(bpm, max(FASTEST, tempo.bpm)), min(SLOWEST, tempo.bpm))
        return f"{words.number(bpm, 0 if bpm >= 1 else 2)} bpm{of}"

    def nothing(self) -> list[str]:
        """Say that no stroke was found."""
        cycles = words.plural(self.take.cycles, "cycle")
        if not len(self.take.tap_times):
            heard = f"No stroke was heard in {cycles}."
        else:
            taps = words.plural(len(self.take.tap_times), "tap")
            heard = f"None of {taps} was near one of the {words.plural(self.measures.meant, 'stroke')} meant."
        home = lane_said(self.take.cycle, self.home)
        return [heard, f"Next: say the rhythm aloud for two cycles, then tap {home} alone."]

    def lost_track(self) -> list[str]:
        """Say that most strokes were not found."""
        m = self.measures
        home = lane_said(self.take.cycle, self.home)
        return [
            f"{m.matched} of {words.plural(m.meant, 'stroke')} were near their places, too few to say more.",
            f"Next: {self.tempo(SLOW)}, {home} alone first, then add one lane.",
        ]

    def not_calibrated(self) -> str:
        """Name what is not judged, and why."""
        common, lead = self.measures.common_ms or 0.0, self.limits["tap_lead"]
        low, high = words.number(lead.low), words.number(lead.high)
        usual = f"{low} to {high} ms before a click are usual ({lead.named})"
        if abs(common) < 1:
            return f"Not calibrated, so how early or late all strokes are together is not judged; {usual}."
        return (
            f"Not calibrated: all strokes together were {_ms(common)} {_way(common)}, which is device delay "
            f"and your own lead and is not judged; {usual}."
        )

    def findings(self, most: int) -> list[str]:
        """Return what is worth telling, the most useful first, and how even it was where there is room."""
        told = [
            *(self.apart(), self.really(), self.gap(), self.broke(), self.wrong_hand(), self.missed()),
            *(self.extra(), self.drift(), self.reentry(), self.common()),
        ]
        told = [sentence for sentence in told if sentence][:most]
        if len(told) < most and self.measures.really_played is None:
            told.append(self.spread(alone=not told))
        return [sentence for sentence in told if sentence] or [self.praise()]

    def noticed_ms(self) -> float:
        """Smallest shift in the merged line that is told.

        displacement_jnd at the mean interval of the line, at least displacement_jnd_fast, at most order.
        """
        interval = 1000 * float(self.take.turn) / max(1, len(self.take.ticks(None)))
        slow, fast = (float(self.limits[key].value) for key in ("displacement_jnd", "displacement_jnd_fast"))
        return min(max(fast, interval * slow / 100), float(self.limits["order"].value))

    def apart(self) -> str:
        """Say which lane is late against the other: on all strokes, else on the shared ones."""
        rows = [set(self.take.ticks(lane).tolist()) for lane in self.take.lanes]
        both = sorted(set.intersection(*rows))
        loop = "loop one cycle"
        if both:
            loop = f"loop {place_said(self.take.cycle, both[0])}, where they meet, and the stroke after it"
        then = f"next, {loop} at {self.tempo(SLOW)}"
        known = [x for x in self.measures.lanes if x.lane is not None and x.spread_ms is not None]
        if len(known) > 1:
            lane, other, by = _late(known)
            unsure = 2 * math.hypot(*(x.spread_ms / math.sqrt(x.matched) for x in known))
            if abs(by) >= max(self.noticed_ms(), unsure):
                them, it = ("the others", "them") if other is None else (self.who(other, full=False), "it")
                after, move = ("after", "forward") if by > 0 else ("before", "back")
                return (
                    f"{_upper(self.who(lane))} came {_ms(by)} {after} {them} on average, so it is {_way(by)} "
                    f"against {it}: {then}, and bring {self.who(lane, full=False)} {move} until both sound "
                    "as one."
                )
        for pair in self.measures.apart:
            if pair.strokes > 2:
                unsure = 3 * pair.spread_ms / math.sqrt(pair.strokes)
                if abs(pair.mean_ms) >= max(self.noticed_ms(), unsure):
                    late = pair.first if pair.leads == pair.second else pair.second
                    return (
                        f"Where they meet, {self.who(late)} came {_ms(pair.mean_ms)} after "
                        f"{self.who(pair.leads, full=False)}: {then} until both sound as one."
                    )
        return ""

    def really(self) -> str:
        """Say which simpler rhythm was played."""
        found = self.measures.really_played
        if found is None:
            return ""
        meant, what = " ".join(map(str, found.meant)), " ".join(map(str, found.intervals))
        if found.name == "even":
            what = f"{len(found.intervals)} even strokes a cycle"
        elif found.name:
            what += f", which is {found.name}"
        return (
            f"From stroke to stroke you played nearer to {what} ({_ms(found.rms_ms)} off) than to {meant} "
            f"({_ms(found.meant_rms_ms)} off): next, say {meant} aloud at {self.tempo(SLOW)} and clap that "
            "line before you split it."
        )

    def gap(self) -> str:
        """Say where the gaps of a gap cycle first go wrong."""
        curve = self.measures.gap
        if self.take.mode != "gap cycle" or curve is None or curve.rms_ms is None:
            return ""
        if curve.first_wrong is None:
            return (
                f"The gaps opened and closed as meant, {_ms(curve.rms_ms)} off on average: next, name the "
                "leading hand aloud while you play."
            )
        ticks = self.take.ticks(curve.of)
        cycle, stroke = divmod(curve.first_wrong, len(ticks))
        rms = "" if curve.rms_ms is None else f" (all gaps: {_ms(curve.rms_ms)} off)"
        return (
            f"The gaps went wrong from stroke {stroke + 1} of {self.who(curve.of, full=False)} in cycle "
            f"{cycle + 1}, at {place_said(self.take.cycle, int(ticks[stroke]))}{rms}: next, loop the two "
            f"beats round that place at {self.tempo(SLOW)}."
        )

    def broke(self) -> str:
        """Say where it broke and how long the way back was."""
        broke = self.measures.broke
        if broke is None:
            return ""
        lane = "" if broke.lane is None else f" in {self.who(broke.lane, full=False)}"
        back = "did not come back"
        if broke.strokes is not None:
            took = words.seconds(broke.seconds)
            back = f"was back after {words.plural(broke.strokes, 'stroke')}, {took}"
        return (
            f"It broke at {place_said(self.take.cycle, broke.tick)} of cycle {broke.cycle}{lane} and {back}: "
            "next, begin one beat before that place, and when lost drop to "
            f"{lane_said(self.take.cycle, self.home)} until beat 1."
        )

    def wrong_hand(self) -> str:
        """Say how often another lane's stroke was played."""
        row = max(self.measures.lanes, key=lambda x: x.wrong_hand)
        if row.wrong_hand <= max(1, STRAY * row.meant):
            return ""
        return (
            f"{_upper(self.who(row.lane))} played {words.plural(row.wrong_hand, 'stroke')} of another lane: "
            "next, say the name of the hand with each stroke, slowly."
        )

    def missed(self) -> str:
        """Say how many strokes were missed, and by whom."""
        m, row = self.measures, max(self.measures.lanes, key=lambda x: x.missed)
        if m.missed <= max(1, STRAY * m.meant):
            return ""
        most = f", {row.missed} of them by {self.who(row.lane, full=False)}" if len(m.lanes) > 1 else ""
        return (
            f"{m.missed} of {words.plural(m.meant, 'stroke')} were missed{most}: next, play at "
            f"{self.tempo(SLOW)} until a whole take has every stroke."
        )

    def extra(self) -> str:
        """Say how many taps were too many."""
        m, row = self.measures, max(self.measures.lanes, key=lambda x: x.extra)
        extra = m.extra + m.elsewhere
        if extra <= max(1, STRAY * m.meant):
            return ""
        most = f", {row.extra} of them by {self.who(row.lane, full=False)}" if len(m.lanes) > 1 else ""
        return (
            f"{words.plural(extra, 'stroke')} came beside the {m.meant} meant{most}: next, play one lane "
            "alone and let the others sound."
        )

    def drift(self) -> str:
        """Say that the tempo ran away or fell behind."""
        rows = [x for x in self.measures.lanes if x.drifts and abs(x.tempo_percent) >= TEMPO]
        if not rows:
            return ""
        row = max(rows, key=lambda x: abs(x.tempo_percent))
        way, by = ("faster", "earlier") if row.tempo_percent > 0 else ("slower", "later")
        return (
            f"{_upper(self.who(row.lane))} went {_percent(row.tempo_percent)} {way}, "
            f"{_ms(row.drift_ms_per_cycle)} {by} each cycle: next, listen to the home pulse through each "
            "long interval before you play on."
        )

    def reentry(self) -> str:
        """Say how far off the strokes after a silence were."""
        known = [ms for ms in self.measures.reentry_ms if not math.isnan(ms)]
        missing = len(self.measures.reentry_ms) - len(known)
        if missing:
            return (
                f"After {words.plural(missing, 'silence')} no stroke was near the first one meant: next, one "
                "silent cycle only, with the foot going on."
            )
        worst = max(known, key=abs, default=0.0)
        if not known:
            return ""
        if abs(worst) < 2 * self.noticed_ms():
            return (
                f"After {words.plural(len(known), 'silence')} you came back within "
                f"{_ms(max(1.0, abs(worst)))} of the rest of the take: next, one silent cycle more."
            )
        times = words.plural(len(known), "silence")
        return (
            f"After {times} you came back up to {_ms(worst)} {_way(worst)} against the rest of the take: "
            "next, keep the home pulse going with the foot while it is silent."
        )

    def common(self) -> str:
        """Say, only when calibrated, that all was late, or earlier than the usual lead."""
        m, lead = self.measures, float(self.limits["tap_lead"].high)
        if not m.calibrated or m.common_ms is None or -lead <= m.common_ms <= self.noticed_ms():
            return ""
        what = "play a little earlier" if m.common_ms > 0 else "wait for the sound"
        return (
            f"All strokes were {_ms(m.common_ms)} {_way(m.common_ms)} on average: next, {what}, or calibrate "
            "again."
        )

    def spread(self, alone: bool) -> str:
        """Say how even the least even lane was, against published figures; `alone` with what to do next."""
        rows = [
            (100 * (x.steady_ms if x.drifts else x.spread_ms) / x.interval_ms, x)
            for x in self.measures.lanes
            if x.steady_ms is not None and x.matched > 4
        ]
        if not rows:
            return ""
        percent, row = max(rows, key=lambda pair: pair[0])
        limits = [self.limits[key] for key in ("tap_sd_trained", "tap_sd_novice")]
        trained, novice = (float(limit.value) for limit in limits)
        named = limits[0].named
        m = self.measures
        there = "" if m.missed or m.extra else f", with all {words.plural(m.meant, 'stroke')} in place"
        head = (
            f"{_upper(self.who(row.lane))} was {'the least even, ' if len(rows) > 1 else ''}spread by "
            f"{_ms(percent * row.interval_ms / 100)}, {_percent(percent)} of its interval{there}"
        )
        if percent <= trained:
            judged = f"as even as the best trained tappers (about {_percent(trained)}, {named})"
            flip = (
                ", or the other home"
                if self.take.tempo.pulse is not None and len(self.take.cycle.lanes) > 1
                else ""
            )
            then = f"{self.tempo(Fraction(104, 100))}{flip}"
        elif percent <= novice:
            judged = (
                f"between trained tappers (about {_percent(trained)}, {named}) and novices (about "
                f"{_percent(novice)}, {named})"
            )
            then = f"stay at {self.tempo()} for another take"
        else:
            judged = f"more than novices against a click (about {_percent(novice)}, {named})"
            then = f"{self.tempo(SLOW)} until it is even"
        return f"{head}, {judged}: next, {then}." if alone else f"{head}, {judged}."

    def praise(self) -> str:
        """Say with numbers what was there, where there is too little to say more."""
        m = self.measures
        return f"{m.matched} of {words.plural(m.meant, 'stroke')} were in place: next, a longer take."


def _late(known: list[LaneMeasure]) -> tuple[int, int | None, float]:
    """Return the lane to tell of, the one it is told against (``None``: the others), and by how much."""
    if len(known) == 2:
        early, late = sorted(known, key=lambda x: x.mean_ms)
        return late.lane, early.lane, late.mean_ms - early.mean_ms
    total = sum(x.mean_ms for x in known)
    offs = [x.mean_ms - (total - x.mean_ms) / (len(known) - 1) for x in known]
    most = max(range(len(known)), key=lambda i: abs(offs[i]))
    return known[most].lane, None, offs[most]


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]


def _ms(value: float) -> str:
    return f"{words.number(abs(value), 0)} ms"


def _percent(value: float) -> str:
    return f"{words.number(abs(value), 1)} %"


def _way(value: float) -> str:
    return "late" if value > 0 else "early"

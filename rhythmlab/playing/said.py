"""What a tempo makes of a rhythm, in sentences: zones, pull, parts, beats, meetings and landmarks."""

import math

from rhythmlab import words
from rhythmlab.core.feel import Feel, Place
from rhythmlab.core.gaps import landmarks
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.core.tempo import Tempo
from rhythmlab.playing.hearing import Run, Zones, flams_from, pull
from rhythmlab.playing.limits import Limits, limits_or
from rhythmlab.sentences import say


def zones_said(z: Zones) -> str:
    """Say how the gaps are heard, zone by zone, or from which tempo they flam at all.

    Parameters
    ----------
    z : Zones
        From `zones`.

    Examples
    --------
    >>> from rhythmlab.core.gaps import phase_gaps
    >>> from rhythmlab.playing.hearing import zones
    >>> gaps = phase_gaps((16, 15), of=0, against=1)
    >>> zones_said(zones(gaps, Tempo(100, pulse=1)))
    'At 100 bpm of the 15, one tick is 37.5 ms and the 16 plays: 1 together, 1 flam before, 5 open flams \
before, 3 alternating, 5 open flams after, 1 flam after.'
    """
    gaps, p = z.gaps, z.gaps.polyrhythm
    home, moving = words.pulse_name(p, gaps.against), words.pulse_name(p, gaps.of)
    bpm = z.tempo.bpm_of(p, gaps.against)
    tick_ms = words.number(1000 * z.tempo.tick_seconds(p), 1)
    runs = z.runs
    if len(runs) > 9:
        parts = [_some_strokes(zone, count) for zone, count in z.counts.items() if count]
    else:
        parts = [_run_said(run) for run in runs]
    heard = ", ".join(parts)
    text = say("heard.zones", bpm=words.number(bpm), home=home, ms=tick_ms, moving=moving, zones=heard)
    start = flams_from(p, gaps.of, gaps.against, z.flam_ms)
    narrowest_ms = 1000 * z.tempo.tick_seconds(p) * math.gcd(p.step(gaps.of), gaps.step)
    narrowest = words.number(narrowest_ms, 1)
    if start is not None and bpm < start:
        return words.sentences(text, say("heard.open", ms=narrowest, bpm=words.number(start), home=home))
    if start is not None and narrowest_ms < z.order_ms:
        return words.sentences(text, say("heard.no_order", ms=narrowest, least=words.number(z.order_ms)))
    return text


def _some_strokes(zone: str, count: int) -> str:
    return words.plural(count, zone) if zone in ("flam", "open flam") else f"{count} {zone}"


def _run_said(run: Run) -> str:
    strokes = _some_strokes(run.zone, run.strokes)
    return f"{strokes} {run.side}" if run.side else strokes


def pull_said(p: Polyrhythm, tempo: Tempo, pulses: tuple[int, int] = (0, 1)) -> str:
    """Say which of two pulses tends to pull as the beat, and where it changes over.

    Examples
    --------
    >>> pull_said(Polyrhythm(7, 4), Tempo(50, pulse=1))
    'Other things equal, the 7 tends to pull as the beat here; from about 65 to 91 bpm of the 4 it \
changes over, and faster than that the 4 tends to pull.'
    """
    found = pull(p, tempo, of=pulses[0], against=pulses[1])
    faster, slower = (words.pulse_name(p, i) for i in (found.faster, found.slower))
    if found.low is None or found.high is None:
        return say("pull.alike", faster=words.capital(faster), slower=slower)
    band = say(
        "pull.band",
        low=f"{found.low:.0f}",
        high=f"{found.high:.0f}",
        pulse=say("pull.beat") if tempo.pulse is None else words.pulse_name(p, tempo.pulse),
    )
    if found.pulse is None:
        return say("pull.inside", band=band, faster=faster, slower=slower)
    if found.pulse == found.faster:
        return say("pull.faster", faster=faster, band=band, slower=slower)
    return say("pull.slower", faster=faster, band=band, slower=slower)


def part_said(feel: Feel, tempo: Tempo, limits: Limits | None = None) -> str:
    """Say how long one part of a beat lasts, and whether it is too fast to count.

    Parts of 2, 3 or 4 to a beat are held against the limit ``part_heard``, five and more against
    ``part_uneven``; both are published for other tasks than counting aloud, so it is a rule of thumb.

    Examples
    --------
    >>> part_said(Feel(Polyrhythm(7, 4), home=0), Tempo(126, pulse=0))
    'Counting the 4 from the 7 takes 4 parts to a beat, 119 ms each.'
    """
    p, rows = feel.polyrhythm, limits_or(limits)
    said = []
    for i in range(len(p.pulses)):
        parts = feel.parts(i)
        if i == feel.home or parts == 1:
            continue
        part_ms = 1000 * tempo.tick_seconds(p) * feel.beat_ticks / parts
        even = parts <= 4
        least = rows["part_heard"].value if even else 1000 / rows["part_uneven"].value
        names = words.pulse_name(p, i), words.pulse_name(p, feel.home)
        takes = say("part.takes", pulse=names[0], home=names[1], parts=parts, ms=words.number(part_ms, 0))
        if part_ms >= least:
            said.append(say("part.counted", takes=takes))
        elif even:
            said.append(say("part.hard", takes=takes, ms=words.number(least, 0)))
        else:
            said.append(say("part.hard_uneven", takes=takes, ms=words.number(least, 0)))
    return " ".join(said)


def beat_said(feel: Feel, tempo: Tempo, limits: Limits | None = None) -> str:
    """Say that home is too fast or too slow to be felt as a beat, where it is.

    Examples
    --------
    >>> beat_said(Feel(Polyrhythm(7, 4), home=0), Tempo(350, pulse=0))
    'The 7 at 350 bpm is faster than any pulse felt as a beat (about 300 bpm).'
    """
    felt = limits_or(limits)["beat"]
    bpm = tempo.bpm_of(feel.polyrhythm, feel.home)
    name = words.capital(words.pulse_name(feel.polyrhythm, feel.home))
    fastest, slowest = 60_000 / felt.low, 60_000 / felt.high
    if bpm > fastest:
        return say("beat.too_fast", pulse=name, bpm=words.number(bpm), bound=words.number(fastest))
    if bpm < slowest:
        return say("beat.too_slow", pulse=name, bpm=words.number(bpm), bound=words.number(slowest))
    return ""


def meet_said(p: Polyrhythm, tempo: Tempo, pulses: tuple[int, int], limits: Limits | None = None) -> str:
    """Say when two pulses next meet, and whether that is too long to be felt as one bar.

    Examples
    --------
    >>> meet_said(Polyrhythm(16, 15), Tempo(100, pulse=1), (0, 1))
    'The pulses meet every 9 seconds, longer than anything felt as one bar (about 5.5 seconds): go by \
landmarks.'
    """
    every = tempo.tick_seconds(p) * p.meet(*pulses)
    bar = limits_or(limits)["bar_longest"].value / 1000
    if every > bar:
        return say("meet.too_long", seconds=words.seconds(every), longest=words.seconds(bar))
    return say("meet.every", seconds=words.seconds(every))


def landmarks_said(feel: Feel, moving: int) -> str:
    """Say which strokes of a moving pulse fall on the e, the & or the a of a home beat.

    Examples
    --------
    >>> landmarks_said(Feel(Polyrhythm(16, 15), home=1), moving=0)
    'Landmarks by ear: the 16 falls on a of 4, & of 8, e of 12.'
    """
    p, step = feel.polyrhythm, feel.beat_ticks
    ticks = landmarks(p, moving, feel.home)
    if not ticks:
        return ""
    where = [words.place_name(Place(tick // step + 1, tick % step * 4 // step + 1, 4)) for tick in ticks]
    return say("room.landmarks", pulse=words.pulse_name(p, moving), places=words.some(where))

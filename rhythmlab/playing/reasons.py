"""Why a way works at some tempos and not at others: values first, and sentences made of them last."""

from dataclasses import dataclass
from fractions import Fraction

from rhythmlab import words
from rhythmlab.core.call import public_class
from rhythmlab.core.gaps import NearRatio
from rhythmlab.core.polyrhythm import Polyrhythm
from rhythmlab.playing.limits import Limit
from rhythmlab.playing.steps import bpm_text, tempo_said
from rhythmlab.sentences import say

_REASON = "approach((7, 4), 72).recommended.causes[1]"


@public_class(_REASON, said=f"{_REASON}.said(of=False)", body=f"{_REASON}.body(of=False)")
@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """What was reckoned, the limit that it is held against, and the tempos that follow.

    What a kind of reason has no use for is left as it is.

    Attributes
    ----------
    kind : str
        What was reckoned, such as ``"apart"``: how close two sounds of the line are.
    limit : Limit or None
        What it is held against; ``None`` where that is no borrowed number.
    floor, ceiling : Fraction or None
        From which and up to which tempo the limit is kept, in beats a minute of home.
    at : Fraction or None
        Another tempo that it tells of, such as the one from which the narrowest gap is a flam.
    ms : Fraction
        The time reckoned, in milliseconds.
    count, most : int
        The number reckoned, and the number that it is held against.
    moved : bool
        Whether that number is the reader's own.
    polyrhythm : Polyrhythm or None
        What is learned; ``None`` for bars, whose beat is no pulse.
    home, pulse : int
        Indices of the pulse that tempos are of, and of the one that it tells of.
    ratio : NearRatio or None
        The simple ratio that two pulses slip around.
    limb : str
        Whose strokes they are.
    feet : bool
        Whether a limit of hands is taken for feet.
    """

    kind: str
    limit: Limit | None = None
    floor: Fraction | None = None
    ceiling: Fraction | None = None
    at: Fraction | None = None
    ms: Fraction = Fraction(0)
    count: int = 0
    most: int = 0
    moved: bool = False
    polyrhythm: Polyrhythm | None = None
    home: int = -1
    pulse: int = -1
    ratio: NearRatio | None = None
    limb: str = ""
    feet: bool = False

    @property
    def source(self) -> str:
        """Key of its source in ``data/sources.csv``; empty where the number is not borrowed."""
        return self.limit.source if self.limit is not None and self.limit.status != "moved" else ""

    def __str__(self) -> str:
        return self.said()

    def said(self, *, of: bool = True) -> str:
        """Say it as a sentence.

        Parameters
        ----------
        of : bool
            Whether each tempo is said with the pulse that it is of.

        Examples
        --------
        >>> from rhythmlab.core.tempo import Tempo
        >>> from rhythmlab.playing.approach import approach
        >>> reason = approach(Polyrhythm(7, 4), Tempo(72, pulse=1)).recommended.causes[1]
        >>> reason.kind, reason.limit.key, reason.floor
        ('once through', 'bar_longest', Fraction(480, 11))
        >>> reason.said(of=False)
        'One time through takes 3.3 seconds; up to 5.5 seconds are felt as one bar (London 2012): \
from 43.6 bpm.'
        """
        if self.ratio is not None and self.polyrhythm is not None:
            return words.slips(self.polyrhythm, self.ratio)
        why = self.body(of=of)
        if self.floor is not None and self.ceiling is not None:
            once = self.polyrhythm is None  # bars say the unit once
            low = bpm_text(self.floor) if once else self._tempo(self.floor, of)
            return say("end.from_up_to", why=why, floor=low, ceiling=self._tempo(self.ceiling, of))
        if self.floor is not None:
            return say("end.from", why=why, floor=self._tempo(self.floor, of))
        if self.ceiling is not None:
            return say("end.up_to", why=why, ceiling=self._tempo(self.ceiling, of))
        return say("end.none", why=why)

    def body(self, *, of: bool = True) -> str:
        """Say what was reckoned and the limit, without the tempos that follow and without a full stop.

        Examples
        --------
        >>> from rhythmlab.playing.limits import limits
        >>> Reason(kind="one hand", limit=limits()["hand_sustained"], ceiling=Fraction(90)).body()
        'One hand keeps up 167 ms (Fujii, Kudo, Ohtsuki & Oda 2009)'
        """
        if self.limit is None:
            return self._counted()
        limit, source, time = self.limit, by(self.limit), ms_text(self.ms)
        value = "" if limit.number is None else words.number(limit.number)
        round_ = words.seconds(self.ms / 1000)
        match self.kind:
            case "once through":
                return say("why.once_through", time=round_, longest=_longest(limit), source=source)
            case "apart":
                return say("why.apart", time=time, limit=value, source=source)
            case "hand to hand":
                hand = "why.hand_two" if limit.key == "hand_two" else "why.hand_average"
                key = "why.hand_three" if limit.key == "hand_three" else hand
                return say(key, time=time, limit=value, source=source)
            case "parts":
                return self._parts(value, source, time)
            case "helps":
                return say("why.helps", limit=value, source=source, tempo=self._tempo(self.at, of))
            case "slow part":
                return say("why.slow_part", longest=_longest(limit), source=source)
            case "ones apart":
                return say("why.ones_apart", time=round_, longest=_longest(limit), source=source)
            case "ones strokes":
                strokes = words.plural(self.count, "stroke")
                return say("why.ones_strokes", strokes=strokes, most=value, source=source)
            case "ones hand":
                return say("why.ones_hand", time=time, limit=value, source=source)
            case "flam" if self.at is not None:
                tempo = self._tempo(self.at, of, 2)
                return say("why.open", time=time, limit=value, source=source, tempo=tempo)
            case "flam":
                return say("why.flams", time=time, limit=value, source=source)
            case "beat":
                shortest = words.seconds((limit.low or 0) / 1000)
                return say("why.beat", shortest=shortest, longest=_longest(limit), source=source)
            case "one hand":
                return say("why.one_hand", limit=value, source=source)
            case "landmarks":
                return say("why.landmarks", time=round_, longest=_longest(limit), source=source)
            case "bar":
                return say("why.bar", time=round_, longest=_longest(limit), source=source)
        return self._limb(limit, source)

    def _counted(self) -> str:
        """Say what is held against a number that is not borrowed."""
        source = say("limit.own") if self.moved else say("limit.choice")
        p = self.polyrhythm
        if self.kind == "sounds":
            many = self.count > self.most and p is not None and len(p.pulses) > 2
            key = "why.at_least" if many else "why.few"
            return say(key, sounds=words.plural(self.count, "sound"), most=self.most, source=source)
        none = "why.not_two" if p is not None and len(p.pulses) > 2 else "why.no_ratio"
        return say(none, groups=self.most, source=source, pair="" if p is None else words.pair(p))

    def _parts(self, value: str, source: str, time: str) -> str:
        pulse = words.capital(self._name(self.pulse))
        if self.count > 4:
            key = "why.uneven_parts"
            return say(key, pulse=pulse, parts=self.count, time=time, limit=value, source=source)
        if self.count > 1:
            return say("why.parts", pulse=pulse, parts=self.count, time=time, limit=value, source=source)
        return say("why.on_beats", pulse=pulse, time=time, limit=value, source=source)

    def _limb(self, limit: Limit, source: str) -> str:
        """Say how close the strokes of a limb are in bars."""
        if self.feet:
            source = say("limit.feet", source=source)
        hand = "why.limb_two" if limit.key == "hand_two" else "why.limb_four"
        key = "why.limb_three" if limit.key == "hand_three" else hand
        time, value = (words.number(ms, 0) for ms in (self.ms, limit.value))
        return say(key, limb=self.limb, time=time, limit=value, source=source)

    def _tempo(self, bpm: Fraction | None, of: bool, digits: int = 1) -> str:
        bpm = bpm or Fraction(0)
        if self.polyrhythm is None:
            return say("tempo.bpm", bpm=bpm_text(bpm, digits))
        return tempo_said(self.polyrhythm, self.home, bpm, digits, of=of)

    def _name(self, pulse: int) -> str:
        return "" if self.polyrhythm is None else words.pulse_name(self.polyrhythm, pulse)


def by(limit: Limit) -> str:
    """Name the source of a limit.

    Examples
    --------
    >>> from rhythmlab.playing.limits import limits
    >>> by(limits()["hand_two"]), by(limits(flam=30)["flam"])
    ('common practice of drummers and teachers', 'your own limit')
    """
    if limit.status == "moved":
        return say("limit.own")
    return limit.named.lower() if limit.status == "common practice" else limit.named


def ms_text(ms: Fraction) -> str:
    """Write a time that is known in milliseconds, in seconds from 1 on.

    Examples
    --------
    >>> ms_text(Fraction(75, 2)), ms_text(Fraction(5500))
    ('37.5 ms', '5.5 seconds')
    """
    return words.seconds(ms / 1000) if ms >= 1000 else f"{words.number(ms, 0 if ms >= 100 else 1)} ms"


def _longest(limit: Limit) -> str:
    """Write the longest time of a limit: its value, or the end of its range."""
    ms = limit.high if limit.number is None else limit.number
    return words.seconds((ms or 0) / 1000)

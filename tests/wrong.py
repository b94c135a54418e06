"""What a reader may get wrong: a working call of every public name, and values that do not belong there."""

import inspect
import os
import re
import signal
import types
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from decimal import Decimal
from fractions import Fraction
from functools import cache

import numpy as np

import rhythmlab as rl
from rhythmlab.refusal import Refusal
from tests.refusals import works

#: Longest that a call may run without having said so, in seconds.
MOST_S = 10
#: What every panel of a pair takes.
PANEL = {"*": (7, 4), "bpm": 72, "home": 1, "guess": None, "tries": None}

P, T = rl.Polyrhythm(7, 4), rl.Tempo(72, pulse=1)


class Odd:
    """Something that a reader never means, whose every use fails."""

    def __repr__(self) -> str:
        return "<odd>"

    def __eq__(self, other: object) -> bool:
        raise RuntimeError("compared")

    __hash__ = None


def endless() -> Iterator[int]:
    """Yield numbers without end."""
    number = 1
    while True:
        yield number
        number += 1


#: By name, so that a failing case can be read; made afresh for each call, since iterators are used up.
VALUES: dict[str, Callable[[], object]] = {
    "None": lambda: None,
    "True": lambda: True,
    "0": lambda: 0,
    "-1": lambda: -1,
    "1": lambda: 1,
    "1.5": lambda: 1.5,
    "nan": lambda: float("nan"),
    "inf": lambda: float("inf"),
    "1e-300": lambda: 1e-300,
    "10**7": lambda: 10**7,
    "10**30": lambda: 10**30,
    "10**5000": lambda: 10**5000,
    "1/3": lambda: Fraction(1, 3),
    "sNaN": lambda: Decimal("sNaN"),
    "numpy 7": lambda: np.int64(7),
    "numpy nan": lambda: np.float64("nan"),
    "complex": lambda: 1 + 2j,
    "empty text": lambda: "",
    "text": lambda: "seven",
    "digits": lambda: "7",
    "zero byte": lambda: "x\0y",
    "surrogate": lambda: "\ud800",
    "long text": lambda: "x" * 1_000_000,
    "bytes": lambda: b"x..x",
    "empty list": list,
    "[1]": lambda: [1],
    "[None]": lambda: [None],
    "['x']": lambda: ["x"],
    "(7, 4)": lambda: (7, 4),
    "(10**30,)": lambda: (10**30, 10**30 + 1),
    "[[]]": lambda: [[]],
    "dict": lambda: {"a": object()},
    "{7: 4}": lambda: {7: 4},
    "set": lambda: {1, 2},
    "object": object,
    "odd": Odd,
    "class": lambda: int,
    "call": lambda: lambda *_: None,
    "array": lambda: np.array([0.5, np.nan]),
    "table": lambda: np.zeros((2, 2)),
    "endless": endless,
    "polyrhythm": lambda: rl.Polyrhythm(3, 2),
    "other polyrhythm": lambda: rl.Polyrhythm(10**9 + 7, 10**9 + 6),
    "cycle": lambda: rl.Cycle(4, [], beats=[]),
    "tempo": lambda: rl.Tempo(10**12, pulse=0),
    "far tempo": lambda: rl.Tempo(60, pulse=9),
}


def _take() -> rl.practice.Take:
    from tests.practice.simulate import pair, played

    return played(pair(4, 3), np.random.default_rng(7), spread_ms=8)


#: For each public name the arguments of a call that works; "*" holds those without a name.
CALLS: dict[str, Callable[[], dict[str, object]]] = {
    "Cycle": lambda: {"ticks": 4, "lanes": [rl.Lane("a", [0, 2])], "beats": [0, 2], "bars": [0]},
    "Feel": lambda: {"what": P, "home": 1, "groups": "3+4"},
    "practice.Ladder": lambda: {"now": 60, "goal": 96, "step": 4, "pulse": 1},
    "Lane": lambda: {
        "name": "a",
        "onsets": [0, 2],
        "limb": "",
        "sound": "click",
        "accents": [0],
        "ghosts": [2],
        "hands": "RL",
    },
    "Mix": lambda: {
        "levels": [0.5, 0.5],
        "sides": [0, 0],
        "sounds": [None, "bell"],
        "home": 0.4,
        "ticks": 0.0,
        "count_in": 0.4,
    },
    "Polyrhythm": lambda: {"*": (7, 4)},
    "practice.Take": lambda: {
        "cycle": rl.Polyrhythm(4, 3).cycle(),
        "tempo": T,
        "cycles": 2,
        "start": 0,
        "stop": 12,
        "mode": "both pulses",
        "lanes": (0, 1),
        "tap_lanes": [0, 1],
        "tap_times": [0.02, 0.98],
        "offset_ms": -38.5,
        "limbs": "hands",
        "when": "2030-05-04T18:30:00+02:00",
        "silent": (1, 1),
        "id": "t1",
        "home": 1,
        "late": 0,
        "input": "keys",
        "interrupted": False,
    },
    "Tempo": lambda: {"bpm": 72, "pulse": 1, "ticks": None},
    "playing.accents": lambda: {
        "metre": "7/8",
        "every": 5,
        "first": 0,
        "pulse": "beats",
        "filled": True,
        "hands": "RLRRL",
        "bars": 5,
        "from_bar": 1,
    },
    "pages.first_rhythms": lambda: {"left_handed": True},
    "pages.answer": lambda: {"id": "01-exercise"},
    "classroom.answer_key": lambda: {"name": "grid-and-composite", "seats": 2, "ids": None},
    "approach": lambda: {
        "what": P,
        "tempo": T,
        "home": 1,
        "limits": None,
        "line_sounds": 12,
        "left_handed": True,
        "groups": "3+4",
    },
    "classroom.assignment": lambda: {"name": "grid-and-composite", "seat": 7, "mode": "practice"},
    "playing.changeover": lambda: {"what": P, "of": 0, "against": 1, "limits": None},
    "pages.exercise": lambda: {"id": "01-exercise"},
    "pages.check": lambda: {"id": "01-exercise", "answer": 30},
    "playing.check_sticking": lambda: {"hands": "RLRR", "tempo": 120, "ms": None, "limits": None},
    "composite": lambda: {"what": P, "start": 0, "stop": 28},
    "playing.count_phrases": lambda: {"n": 31, "allowed": (2, 3, 4), "fixed": ()},
    "pictures.filmed": lambda: {"what": P, "tempo": T, "home": 1, "cycles": 2, "counted": True, "mix": None},
    "cue": lambda: {
        "what": P,
        "tempo": T,
        "home": 1,
        "cycles": 2,
        "count_in": True,
        "mono": False,
        "mix": None,
        "rate": 48_000,
    },
    "drift": lambda: {"what": P, "of": 0, "against": 1},
    "playing.euclid": lambda: {"strokes": 3, "ticks": 8, "name": "", "limb": "", "sound": "click"},
    "fill": lambda: {
        "metre": "4/4",
        "tempo": 96,
        "beats": 4,
        "lands": 1,
        "pairs": None,
        "most": 5,
        "best": 1,
        "bars": 4,
        "feet": "x..x..x.x..x..x.",
        "sticking": "RLRRL",
        "limits": None,
    },
    "playing.flams_from": lambda: {"what": P, "of": 0, "against": 1, "flam_ms": 40},
    "grid": lambda: {"what": P, "home": 1, "start": 0, "stop": 28},
    "playing.hand_to_hand": lambda: {"what": P, "lead": "R", "home": 1},
    "handout": lambda: {
        "what": P,
        "tempo": T,
        "home": 1,
        "paper": "A4",
        "limits": None,
        "title": "Seat 4",
        "groups": "3+4",
        "left_handed": False,
        "spoken": (),
    },
    "pictures.homes": lambda: {"what": P, "tempo": T, "start": 0, "stop": 28, "groups": "3+4"},
    "playing.landmarks": lambda: {"what": P, "of": 0, "against": 1},
    "limits": lambda: {"flam": 30},
    "practice.when_lost": lambda: {
        "what": rl.Polyrhythm(4, 3).cycle(),
        "tick": 5,
        "lane": None,
        "groups": "2+3",
    },
    "playing.meetings": lambda: {
        "first": rl.pattern("x..x"),
        "second": rl.pattern("x.x.x."),
        "start": None,
        "stop": None,
    },
    "metre": lambda: {"what": "7/8", "groups": (2, 2, 3), "parts": None},
    "midi": lambda: {"what": P, "tempo": T, "home": 1, "cycles": 1, "count_in": False},
    "playing.midway": lambda: {"what": P, "of": 0, "against": 1},
    "playing.modulation": lambda: {"bpm": 84, "old": 3, "new": 2, "beats": 4},
    "playing.near_ratios": lambda: {"what": P, "of": 0, "against": 1},
    "playing.learning_order": lambda: {"pairs": [P, rl.Polyrhythm(3, 2)]},
    "ostinato": lambda: {"feet": "x..x..x.", "hands": "x.x.xx", "metre": "4/4", "bars": None, "from_bar": 1},
    "playing.other_words": lambda: {"what": P, "tempo": 72, "home": 1},
    "pattern": lambda: {
        "text": "x..x..x.x..x..x.",
        "metre": "4/4",
        "bars": 1,
        "name": "feet",
        "limb": "",
        "sound": "click",
    },
    "phase_gaps": lambda: {"what": P, "of": 0, "against": 1, "start": 0, "stop": 28},
    "phrases": lambda: {"n": 31, "allowed": (2, 3, 4), "fixed": (), "most": 10},
    "playing.nothing_new": lambda: {"what": P},
    "playing.prepare": lambda: {"what": P},
    "playing.pull": lambda: {"what": P, "tempo": T, "of": 0, "against": 1, "limits": None},
    "pages.question": lambda: {"id": "01-exercise"},
    "classroom.question_bank": lambda: {"skill": None, "level": None},
    "playing.resolve": lambda: {
        "crash": True,
        "pair": (7, 4),
        "metre": "4/4",
        "bars": 4,
        "beats": None,
        "lands": 1,
        "feet": None,
        "sticking": "RLRRLRL",
    },
    "score": lambda: {
        "what": P,
        "tempo": 72,
        "home": 1,
        "metre": None,
        "layout": "auto",
        "grid": False,
        "start": 0,
        "stop": 28,
        "title": "Warm-up",
        "counts": True,
        "hands": True,
        "groups": "3+4",
        "left_handed": True,
        "spoken": (),
    },
    "pictures.shared_grid": lambda: {"what": P.cycle(), "start": 0, "stop": 28},
    "playing.slips_around": lambda: {"what": P, "of": 0, "against": 1},
    "sound": lambda: {
        "what": P,
        "tempo": T,
        "home": 1,
        "cycles": 2,
        "start": None,
        "stop": None,
        "count_in": 0,
        "mix": None,
        "rate": 48_000,
    },
    "playing.sentence": lambda: {
        "what": rl.Polyrhythm(3, 2),
        "text": "*hear the *har-bour",
        "home": 1,
        "groups": (),
    },
    "playing.split": lambda: {"what": P, "right": 0},
    "stick": lambda: {
        "what": (4, 3, 4, 3),
        "tempo": 120,
        "ms": None,
        "lead": "R",
        "rudiments": None,
        "limits": None,
    },
    "pictures.strip": lambda: {
        "what": P.cycle(),
        "start": 0,
        "stop": 28,
        "width": 880,
        "groups": "3+4",
    },
    "strokes": lambda: {"what": P, "tempo": T, "home": 1},
    "pictures.ways": lambda: {"what": P, "tempo": T, "limits": None, "home": 1, "line_sounds": 12},
    "pages.workshop_plan": lambda: {"minutes": 120, "level": "first time", "bpm": 72},
    "playing.zones": lambda: {"what": P, "tempo": T, "of": 0, "against": 1, "limits": None},
    "pictures.figure": lambda: {"scene": rl.pictures.strip(P.cycle())},
    "pictures.gap_cycle": lambda: {
        **{"what": P, "tempo": T, "of": 0, "against": 1, "limits": None, "width": 880},
    },
    "pages.choose_home": lambda: {**PANEL, "groups": "3+4"},
    "pages.choose_way": lambda: {**PANEL},
    "pages.find_grid": lambda: {**PANEL},
    "pages.follow_gaps": lambda: {**PANEL, "*": (16, 15), "flam": 40},
    "pages.merge_pulses": lambda: {**PANEL, "groups": "3+4"},
    "pages.two_numbers": lambda: {**PANEL, "groups": "3+4"},
    "pages.wall": lambda: {"*": (7, 4), "bpm": 72, "home": 1, "hall": None, "groups": "3+4"},
    "pages.write_down": lambda: {**PANEL, "groups": "3+4"},
    "pages.practise": lambda: {
        "*": (7, 4),
        "now": 60,
        "goal": 96,
        "minutes": 20,
        "home": 1,
        "guess": None,
        "journal": None,
        "groups": "3+4",
    },
    "pages.feet_against_hands": lambda: {
        "feet": "x..x..x.",
        "hands": "x.x.xx",
        "metre": "4/4",
        "bpm": 96,
        "tries": None,
    },
    "pages.land_in_bars": lambda: {
        "first": 7,
        "second": 4,
        "metre": "4/4",
        "bpm": 96,
        "guess": None,
        "tries": None,
    },
    "pages.move_accent": lambda: {"metre": "2+2+3/8", "every": 5, "bpm": 180, "guess": None, "tries": None},
    "pages.phrase_and_stick": lambda: {"number": 31, "bpm": 96, "guess": None, "tries": None},
    "pages.dictation": lambda: {"seed": 1},
    "pages.predict": lambda: {"id": "00-guess"},
    "pages.set_list": lambda: {"path": "a-list.json", "hall": None},
    "practice.Journal": lambda: {"path": "a-journal.jsonl", "clock": None},
    "practice.measured_limits": lambda: {"journal": None},
    "classroom.gradebook": lambda: {
        "folder": "returned",
        "name": "grid-and-composite",
        "ids": None,
        "due": None,
        "counts": None,
        "marks": None,
        "progress": None,
    },
    "classroom.demo_class": lambda: {"folder": "a-class"},
    "classroom.write_assignment": lambda: {
        "name": "grid-and-composite",
        "folder": "handed-out",
        "ids": None,
        "seats": [1, 2],
        "mode": "practice",
        "title": "",
        "progress": None,
    },
    "classroom.handout_pack": lambda: {"rhythms": [(P, T)], "folder": "pack", "paper": "A4", "limits": None},
    "practice.take_from_midi": lambda: {
        "file": "kit.mid",
        "what": P,
        "tempo": T,
        "notes": None,
        "cycles": None,
        "begins": 0,
        "offset_ms": -38.5,
        "lanes": (0, 1),
        "limbs": "hands",
        "home": 1,
        "when": "2030-05-04T18:30:00+02:00",
        "id": "t1",
    },
    "practice.measure": lambda: {"take": _take(), "limits": None},
    "practice.feedback": lambda: {
        "take": _take(),
        "measures": None,
        "home": None,
        "limits": None,
        "groups": "3+4",
    },
    "classroom.taps_of": lambda: {"take": _take()},
    "pictures.progress": lambda: {"rows": [], "goal": None, "pulse": None},
}
#: Public names that take no argument.
BARE = {"pages.my_hands", "playing.ready_patterns"}
#: Kinds of values that are made by calls and never by hand, and what is raised.
MADE = {"playing.Limit", "Refusal"}


@cache
def _score() -> object:
    return rl.score(P)


@cache
def _handout() -> object:
    return rl.handout(P, T)


def _played() -> object:
    return rl.classroom.assignment("week 9", 7).question("play-take")


def _standing() -> object:
    return rl.practice.Ladder(60, 96).climb([])


#: For each method with arguments of what a call returns: something that has it, and arguments that work.
METHODS: dict[str, Callable[[], tuple[object, dict[str, object]]]] = {
    "Polyrhythm.step": lambda: (P, {"pulse": 0}),
    "Polyrhythm.meet": lambda: (P, {"*": (0, 1)}),
    "Polyrhythm.onsets": lambda: (P, {"pulse": 0, "start": 0, "stop": 28}),
    "Polyrhythm.cycle": lambda: (P, {"home": 1}),
    "Feel.parts": lambda: (rl.Feel(P), {"pulse": 0}),
    "Feel.places": lambda: (rl.Feel(P), {"pulse": 0, "start": 0, "stop": 28}),
    "Feel.flip": lambda: (rl.Feel(P), {"to": 0}),
    "Tempo.beat_ticks": lambda: (T, {"what": P}),
    "Tempo.tick_seconds": lambda: (T, {"what": P}),
    "Tempo.cycle_seconds": lambda: (T, {"what": P}),
    "Tempo.bpm_of": lambda: (T, {"what": P, "pulse": 0}),
    "Tempo.in_pulse": lambda: (T, {"what": P, "pulse": 0}),
    "Gaps.ms": lambda: (rl.phase_gaps(P, 0, 1), {"tempo": T}),
    "Metre.tempo": lambda: (rl.metre("7/8"), {"bpm": 210}),
    "Metre.finer": lambda: (rl.metre("7/8"), {"times": 7}),
    "Metre.place": lambda: (rl.metre("7/8"), {"tick": 6}),
    "Metre.describe": lambda: (rl.metre("7/8"), {"tick": 6}),
    "Metre.starts": lambda: (rl.metre("7/8"), {"bars": 2}),
    "Metre.beats_in": lambda: (rl.metre("7/8"), {"bars": 2}),
    "Metre.cycle": lambda: (rl.metre("7/8"), {"bars": 1, "lanes": [rl.Lane("a", [0])]}),
    "Bars.seconds": lambda: (rl.metre("7/8").cycle(), {"tempo": 210}),
    "Accents.accented": lambda: (rl.playing.accents("7/8", 5), {"bar": 2}),
    "Accents.describe": lambda: (rl.playing.accents("4/4", 4), {"tempo": 60}),
    "Ostinato.describe": lambda: (rl.ostinato("x..x", "x..", metre="4/4"), {"tempo": 96}),
    "Fill.stroke_ms": lambda: (rl.playing.resolve((7, 4), "4/4"), {"tempo": 96}),
    "Fill.hand": lambda: (rl.playing.resolve((7, 4), "4/4"), {"limits": None}),
    "Fill.fastest": lambda: (rl.playing.resolve((7, 4), "4/4"), {"limits": None}),
    "Fill.describe": lambda: (rl.playing.resolve((7, 4), "4/4"), {"tempo": 96, "limits": None}),
    "Pattern.by": lambda: (rl.pattern("x..x"), {"limb": "right foot", "sound": "snare"}),
    "Phrase.spoken": lambda: (rl.phrases(31)[0], {"syllables": "beats"}),
    "Phrase.said": lambda: (rl.phrases(31)[0], {"syllables": "beats"}),
    "Phrase.cycle": lambda: (
        rl.phrases(7)[0],
        {"name": "phrase", "limb": "", "sound": "click", "hands": "RLRLRLR"},
    ),
    "Sticking.cycle": lambda: (
        rl.stick((4, 3), 120),
        {"whole": True, "name": "sticking", "sound": "click"},
    ),
    "Hand.need": lambda: (rl.stick((4, 3), 120).rules, {"nth": 2}),
    "Hand.longest": lambda: (rl.stick((4, 3), 120).rules, {"ms": 125}),
    "Soon.bpm": lambda: (rl.stick((4, 3, 4, 3), 120).bound, {"beat_ticks": 4}),
    "Problem.describe": lambda: (rl.playing.check_sticking("RRRR", ms=60).problems[0], {"strokes": 4}),
    "Way.fits_at": lambda: (rl.approach(P, T).ways[0], {"bpm": 72, "pulse": 1}),
    "Sentence.at": lambda: (rl.playing.sentence((3, 2), "*hear the *har-bour"), {"tick": 2}),
    "Way.start_of": lambda: (rl.approach(P, T).ways[0], {"pulse": 0}),
    "Way.goal_of": lambda: (rl.approach(P, T).ways[0], {"pulse": 0}),
    "Way.floor_of": lambda: (rl.approach(P, T).ways[0], {"pulse": 0}),
    "Way.ceiling_of": lambda: (rl.approach(P, T).ways[0], {"pulse": 0}),
    "Way.verdict": lambda: (rl.approach(P, T).ways[0], {"pulse": 0, "of": True}),
    "Approach.lead": lambda: (rl.approach(P, T), {"of": True}),
    "Approach.changes_text": lambda: (rl.approach(P, T), {"of": True}),
    "Change.describe": lambda: (rl.approach(P, T).changes[0], {"of": True}),
    "Reason.describe": lambda: (rl.approach(P, T).recommended.causes[1], {"of": True}),
    "Reason.body": lambda: (rl.approach(P, T).recommended.causes[1], {"of": True}),
    "Step.describe": lambda: (rl.approach(P, T).ways[0].steps[0], {"of": True, "tempo": True}),
    "Journal.append": lambda: (rl.practice.Journal("a.jsonl"), {"entry": {"kind": "note", "text": "slow"}}),
    "Journal.export_csv": lambda: (rl.practice.Journal("a.jsonl"), {"path": "a.csv"}),
    "Journal.takes": lambda: (rl.practice.Journal("a.jsonl"), {"pair": (7, 4), "limbs": "hands"}),
    "Ladder.climb": lambda: (
        rl.practice.Ladder(60, 96),
        {"takes": [], "pair": (7, 4), "limbs": "hands", "spread": 4, "missed": 0.05},
    ),
    "Ladder.climb_each": lambda: (rl.practice.Ladder(60, 96), {"takes": [], "spread": 4, "missed": 0.05}),
    "Ladder.days": lambda: (rl.practice.Ladder(60, 96), {"standing": _standing()}),
    "Ladder.plan": lambda: (
        rl.practice.Ladder(60, 96),
        {"minutes": 30, "standing": _standing(), "yesterday": 25, "limits": None, "today": None},
    ),
    "Scene.x": lambda: (rl.pictures.strip(P.cycle()), {"tick": 14}),
    "Scene.strokes": lambda: (rl.pictures.strip(P.cycle()), {"lane": 0}),
    "Scene.write": lambda: (rl.pictures.strip(P.cycle()), {"path": "a.svg", "replace": True}),
    "Score.svg": lambda: (_score(), {"page": 1}),
    "Score.write": lambda: (_score(), {"path": "a.musicxml", "page": None}),
    "Sound.onsets": lambda: (rl.sound(P, T), {"row": "7"}),
    "Sound.blocks": lambda: (rl.sound(P, T), {"size": 65_536}),
    "Sound.write": lambda: (rl.sound(P, T), {"path": "a.wav", "bits": 16}),
    "Row.shapes": lambda: (rl.sound(P, T).rows[0], {"rate": 48_000}),
    "Film.tick": lambda: (rl.pictures.filmed(P, T), {"frame": 30}),
    "Film.write": lambda: (rl.pictures.filmed(P, 240, cycles=1), {"path": "a.webm", "replace": True}),
    "Midi.write": lambda: (rl.midi(P, T), {"path": "a.mid", "replace": True}),
    "Strokes.write": lambda: (rl.strokes(P, T), {"path": "a.csv", "replace": True}),
    "Handout.write": lambda: (_handout(), {"path": "a.pdf", "replace": True}),
    "Question.judge": lambda: (rl.pages.question("01-exercise"), {"answer": ["x.x.x.", "x..x.."]}),
    "Question.judge_typed": lambda: (rl.pages.question("00-exercise"), {"text": "7, 90"}),
    "Question.unread": lambda: (rl.pages.question("01-exercise"), {"answer": ["x.x.x.", "x..x.."]}),
    "TakeQuestion.judge": lambda: (_played(), {"answer": [[0, 0.01], [1, 0.02]], "find": None}),
    "TakeQuestion.unread": lambda: (_played(), {"answer": [[0, 0.01], [1, 0.02]]}),
    "Template.shows": lambda: (
        rl.classroom.question_bank()[0],
        {"numbers": rl.classroom.question_bank()[0].versions[0]},
    ),
    "Template.make": lambda: (
        rl.classroom.question_bank()[0],
        {"*": rl.classroom.question_bank()[0].versions[0]},
    ),
    "Work.question": lambda: (rl.classroom.assignment("grid-and-composite", 7), {"id": "grid-ticks"}),
    "Work.ask": lambda: (rl.classroom.assignment("grid-and-composite", 7), {"id": "grid-ticks"}),
    "Work.reply": lambda: (
        rl.classroom.assignment("grid-and-composite", 7),
        {"id": "grid-ticks", "answer": [12]},
    ),
    "Gradebook.by": lambda: (rl.classroom.gradebook("returned"), {"what": "skill"}),
    "Gradebook.write": lambda: (rl.classroom.gradebook("returned"), {"folder": "marks"}),
    "Take.ticks": lambda: (_take(), {"lane": 0}),
    "Take.meant": lambda: (_take(), {"lane": 0}),
    "Take.played": lambda: (_take(), {"lane": 0}),
}


def each(arguments: Callable[[], dict[str, object]]) -> Iterator[tuple[str, dict[str, object]]]:
    """Yield the arguments anew with one of them wrong, each with each value, and what was done."""
    for argument in arguments():
        for said, value in VALUES.items():
            given = arguments()
            given[argument] = (value(), *given["*"][1:]) if argument == "*" else value()
            yield f"{argument}={said}", given


def misfits(
    function: Callable, arguments: Callable[[], dict[str, object]]
) -> Iterator[tuple[str, tuple[object, ...], dict[str, object]]]:
    """Yield what was done, and arguments that no call takes: a strange name, one too many, twice, too few."""
    taken = list(inspect.signature(function).parameters.values())
    kinds = {one.kind for one in taken}
    places = [one.name for one in taken if one.kind in (one.POSITIONAL_ONLY, one.POSITIONAL_OR_KEYWORD)]

    def given(*, without: str = "") -> tuple[tuple[object, ...], dict[str, object]]:
        named = arguments()
        return tuple(named.pop("*", ())), {name: one for name, one in named.items() if name != without}

    args, named = given()
    for strange in ("strange", "whta", "_"):
        yield f"{strange}=1", args, {**named, strange: 1}
    if inspect.Parameter.VAR_POSITIONAL not in kinds:
        args, named = given()
        first = [named.pop(name, None) for name in places]
        yield "one argument too many", (*first, 1), named
        if places and places[0] in arguments():
            args, named = given()
            yield f"{places[0]} twice", (named[places[0]],), named
    for one in taken:
        if one.default is one.empty and one.kind not in (one.VAR_KEYWORD, one.VAR_POSITIONAL):
            yield f"no {one.name}", *given(without=one.name)


class TooLong(BaseException):
    """A call that runs longer than it may; no code takes this for an error of its own."""


@contextmanager
def in_time(seconds: float = MOST_S) -> Iterator[None]:
    """Break off what runs longer than so many seconds."""

    def over(*_: object) -> None:
        raise TooLong

    before = signal.signal(signal.SIGALRM, over)
    signal.setitimer(signal.ITIMER_REAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)


def call(function: Callable, given: dict[str, object]) -> object:
    """Call with arguments by name, and those under "*" without one; look at what comes back."""
    named = dict(given)
    value = function(*named.pop("*", ()), **named)
    repr(value)
    return value


def fault(error: BaseException, function: Callable) -> str:
    """Return what is wrong with a refusal: raw, without an example, or with one that does not work."""
    kind = type(error).__name__
    if isinstance(error, TooLong):
        return f"runs longer than {MOST_S} seconds"
    if not isinstance(error, Refusal):
        return f"ends raw in {kind}: {error!s:.150}"
    example = error.example
    if not example:
        return f"{kind} without an example: {error!s:.200}"
    if len(str(error)) > 1000:
        return f"{kind} of {len(str(error))} letters: {error!s:.200}"
    wrong = unable(example, os.getcwd())
    return f"{kind} whose example {example!r} gives {wrong}" if wrong else ""


@cache
def unable(example: str, folder: str) -> str:
    """Return what keeps an example from running when it is typed in a folder; each is tried once there."""
    try:
        with in_time():
            if re.match(r"[A-Za-z_]+=(?!=)", example):
                works(f"dict({example})")
            else:
                value = works(example)
                if isinstance(value, types.GeneratorType):
                    next(value)
    except (Exception, TooLong) as wrong:
        return f"{type(wrong).__name__}: {wrong!s:.150}"
    return ""

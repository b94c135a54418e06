"""Teaching notebooks and a small exact library for polyrhythm. Public names only; each waits until used."""

from importlib import import_module as _import_module

from rhythmlab.apart import apart as _apart

_HOMES = {
    "core.polyrhythm": "Polyrhythm",
    "core.grid": "grid",
    "core.cycle": "Cycle Lane",
    "core.composite": "composite",
    "core.gaps": "phase_gaps drift midway landmarks near_ratios slips_around",
    "core.tempo": "Tempo modulate",
    "core.feel": "Feel",
    "playing.limits": "Limit limits",
    "core.plain": "plain",
    "playing.approach": "approach",
    "playing.order": "order prepare",
    "playing.phrasing": "phrases count_phrases",
    "playing.sticking": "stick check_sticking split hand_to_hand",
    "playing.metre": "metre",
    "playing.patterns": "pattern patterns euclid",
    "playing.meeting": "meetings",
    "playing.groove": "accents",
    "playing.ostinato": "ostinato",
    "playing.resolve": "resolve",
    "playing.fill": "fill",
    "playing.other_words": "other_words modulation",
    "render.ways": "ways",
    "playing.hearing": "zones flams_from pull changeover",
    "render.pictures": "strip shared_grid homes",
    "render.tide": "gap_cycle",
    "render.figure": "figure",
    "classroom.question": "check answer question",
    "classroom.assignment": "assignment answers",
    "classroom.gradebook": "gradebook",
    "classroom.handing_out": "write_assignment",
    "classroom.demo": "demo_class",
    "classroom.posed": "questions",
    "classroom.posed_play": "taps_of",
    "render.sound": "sound",
    "render.score": "score",
    "render.midi": "midi",
    "render.cue": "cue",
    "render.strokes": "strokes",
    "render.handout": "handout handouts",
    "practice.kit": "take_from_midi",
    "render.mix": "Mix",
    "panels.guess": "predict",
    "panels.pages": "first_rhythms two_numbers find_grid merge choose_home follow_gaps",
    "panels.wall": "wall",
    "panels.setlist": "set_list",
    "panels.plan": "workshop_plan",
    "panels.own": "my_hands own_limits",
    "panels.drumming": "choose_way phrase land_in_bars move_accent feet_against_hands",
    "panels.practice": "practise",
    "panels.written": "write_down dictation",
    "practice.take": "Take",
    "practice.measure": "measure",
    "practice.feedback": "feedback",
    "practice.where": "lost",
    "practice.journal": "Journal",
    "practice.ladder": "Ladder",
    "render.progress": "progress",
}
_WHERE = {name: home for home, names in _HOMES.items() for name in names.split()}
__all__ = sorted(_WHERE)


def __getattr__(name: str) -> object:
    if name == "__version__":
        return _import_module("importlib.metadata").version("rhythmlab")
    if name not in _WHERE:
        raise AttributeError(f"rhythmlab has no {name[:60]!r}; {_near(name)}it has {', '.join(__all__)}")
    with _apart():
        value = getattr(_import_module(f"rhythmlab.{_WHERE[name]}"), name)
    globals()[name] = value
    return value


def _near(name: str) -> str:
    get_close_matches = _import_module("difflib").get_close_matches
    by_small = {known.lower(): known for known in __all__}
    near = get_close_matches(name[:40].lower().replace("_", ""), [*by_small], n=1, cutoff=0.7)
    return f"did you mean {by_small[near[0]]}? If not, " if near else ""


def __dir__() -> list[str]:
    return [*__all__, "__version__"]

"""Public names and where they live: read by editors and type checkers, and by the package itself."""

from .classroom.assignment import answers as answers, assignment as assignment
from .classroom.demo import demo_class as demo_class
from .classroom.gradebook import gradebook as gradebook
from .classroom.handing_out import write_assignment as write_assignment
from .classroom.bank.catalogue import (
    answer as answer,
    check as check,
    question as question,
    questions as questions,
)
from .classroom.bank.takes import taps_of as taps_of
from .core.composite import composite as composite
from .core.cycle import Cycle as Cycle, Lane as Lane
from .core.feel import Feel as Feel
from .core.gaps import (
    drift as drift,
    landmarks as landmarks,
    midway as midway,
    near_ratios as near_ratios,
    phase_gaps as phase_gaps,
    slips_around as slips_around,
)
from .core.grid import grid as grid
from .core.nothing_new import plain as plain
from .core.polyrhythm import Polyrhythm as Polyrhythm
from .core.tempo import Tempo as Tempo, modulate as modulate
from .panels.pages_05_to_07 import (
    choose_way as choose_way,
    feet_against_hands as feet_against_hands,
    land_in_bars as land_in_bars,
    move_accent as move_accent,
    phrase as phrase,
)
from .panels.guess import predict as predict
from .panels.my_hands import my_hands as my_hands, own_limits as own_limits
from .panels.pages_00_to_04 import (
    choose_home as choose_home,
    find_grid as find_grid,
    first_rhythms as first_rhythms,
    follow_gaps as follow_gaps,
    merge as merge,
    two_numbers as two_numbers,
)
from .panels.plan import workshop_plan as workshop_plan
from .panels.page_08 import practise as practise
from .panels.set_list import set_list as set_list
from .panels.wall import wall as wall
from .panels.page_09 import dictation as dictation, write_down as write_down
from .playing.approach import approach as approach
from .playing.fill import fill as fill
from .playing.groove import accents as accents
from .playing.hearing import changeover as changeover, flams_from as flams_from, pull as pull, zones as zones
from .playing.limits import Limit as Limit, limits as limits
from .playing.ostinato import meetings as meetings
from .playing.metre import metre as metre
from .playing.learning import order as order, prepare as prepare
from .playing.ostinato import ostinato as ostinato
from .playing.modulation import modulation as modulation, other_words as other_words
from .playing.patterns import euclid as euclid, pattern as pattern, patterns as patterns
from .playing.phrasing import count_phrases as count_phrases, phrases as phrases
from .playing.fill import resolve as resolve
from .playing.sticking import (
    check_sticking as check_sticking,
    hand_to_hand as hand_to_hand,
    split as split,
    stick as stick,
)
from .practice.feedback import feedback as feedback
from .practice.journal import Journal as Journal
from .practice.midi_recording import take_from_midi as take_from_midi
from .practice.ladder import Ladder as Ladder
from .practice.measure import measure as measure
from .practice.take import Take as Take
from .practice.feedback import lost as lost
from .refusal import Refusal as Refusal
from .audio.cue import cue as cue
from .draw.figure import figure as figure
from .export.handout import handout as handout, handouts as handouts
from .export.midi import midi as midi
from .audio.mix import Mix as Mix
from .draw.pictures import homes as homes, shared_grid as shared_grid, strip as strip
from .draw.progress import progress as progress
from .notation.score import score as score
from .audio.sound import sound as sound
from .export.strokes import strokes as strokes
from .draw.gap_cycle import gap_cycle as gap_cycle
from .draw.ways import ways as ways

__version__: str

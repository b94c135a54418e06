"""Public names and where they live: read by editors and type checkers, and by the package itself."""

from .classroom.assignment import answers as answers, assignment as assignment
from .classroom.demo import demo_class as demo_class
from .classroom.gradebook import gradebook as gradebook
from .classroom.handing_out import write_assignment as write_assignment
from .classroom.posed import questions as questions
from .classroom.posed_play import taps_of as taps_of
from .classroom.question import answer as answer, check as check, question as question
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
from .core.plain import plain as plain
from .core.polyrhythm import Polyrhythm as Polyrhythm
from .core.tempo import Tempo as Tempo, modulate as modulate
from .panels.drumming import (
    choose_way as choose_way,
    feet_against_hands as feet_against_hands,
    land_in_bars as land_in_bars,
    move_accent as move_accent,
    phrase as phrase,
)
from .panels.guess import predict as predict
from .panels.own import my_hands as my_hands, own_limits as own_limits
from .panels.pages import (
    choose_home as choose_home,
    find_grid as find_grid,
    first_rhythms as first_rhythms,
    follow_gaps as follow_gaps,
    merge as merge,
    two_numbers as two_numbers,
)
from .panels.plan import workshop_plan as workshop_plan
from .panels.practice import practise as practise
from .panels.setlist import set_list as set_list
from .panels.wall import wall as wall
from .panels.written import dictation as dictation, write_down as write_down
from .playing.approach import approach as approach
from .playing.fill import fill as fill
from .playing.groove import accents as accents
from .playing.hearing import changeover as changeover, flams_from as flams_from, pull as pull, zones as zones
from .playing.limits import Limit as Limit, limits as limits
from .playing.meeting import meetings as meetings
from .playing.metre import metre as metre
from .playing.order import order as order, prepare as prepare
from .playing.ostinato import ostinato as ostinato
from .playing.other_words import modulation as modulation, other_words as other_words
from .playing.patterns import euclid as euclid, pattern as pattern, patterns as patterns
from .playing.phrasing import count_phrases as count_phrases, phrases as phrases
from .playing.resolve import resolve as resolve
from .playing.sticking import (
    check_sticking as check_sticking,
    hand_to_hand as hand_to_hand,
    split as split,
    stick as stick,
)
from .practice.feedback import feedback as feedback
from .practice.journal import Journal as Journal
from .practice.kit import take_from_midi as take_from_midi
from .practice.ladder import Ladder as Ladder
from .practice.measure import measure as measure
from .practice.take import Take as Take
from .practice.where import lost as lost
from .refusal import Refusal as Refusal
from .render.cue import cue as cue
from .render.figure import figure as figure
from .render.handout import handout as handout, handouts as handouts
from .render.midi import midi as midi
from .render.mix import Mix as Mix
from .render.pictures import homes as homes, shared_grid as shared_grid, strip as strip
from .render.progress import progress as progress
from .render.score import score as score
from .render.sound import sound as sound
from .render.strokes import strokes as strokes
from .render.tide import gap_cycle as gap_cycle
from .render.ways import ways as ways

__version__: str

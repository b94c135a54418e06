"""Public names and where they live: read by editors and type checkers, and by the package itself."""

from . import (
    classroom as classroom,
    pages as pages,
    pictures as pictures,
    playing as playing,
    practice as practice,
)
from .core.composite import composite as composite
from .core.cycle import Cycle as Cycle, Lane as Lane
from .core.feel import Feel as Feel
from .core.gaps import drift as drift, phase_gaps as phase_gaps
from .core.grid import grid as grid
from .core.polyrhythm import Polyrhythm as Polyrhythm
from .core.tempo import Tempo as Tempo
from .playing.approach import approach as approach
from .playing.fill import fill as fill
from .playing.limits import limits as limits
from .playing.metre import metre as metre
from .playing.ostinato import ostinato as ostinato
from .playing.patterns import pattern as pattern
from .playing.phrasing import phrases as phrases
from .playing.sticking import stick as stick
from .refusal import Refusal as Refusal
from .audio.cue import cue as cue
from .export.handout import handout as handout
from .export.midi import midi as midi
from .audio.mix import Mix as Mix
from .notation.score import score as score
from .audio.sound import sound as sound
from .export.strokes import strokes as strokes

__version__: str

"""Public names and where they live: read by editors and type checkers, and by the package itself."""

from ..core.gaps import (
    landmarks as landmarks,
    midway as midway,
    near_ratios as near_ratios,
    slips_around as slips_around,
)
from ..core.nothing_new import nothing_new as nothing_new
from .groove import accents as accents
from .hearing import changeover as changeover, flams_from as flams_from, pull as pull, zones as zones
from .limits import Limit as Limit
from .ostinato import meetings as meetings
from .learning import learning_order as learning_order, prepare as prepare
from .modulation import modulation as modulation, other_words as other_words
from .patterns import euclid as euclid, ready_patterns as ready_patterns
from .phrasing import count_phrases as count_phrases
from .sentence import sentence as sentence
from .fill import resolve as resolve
from .sticking import check_sticking as check_sticking, hand_to_hand as hand_to_hand, split as split

"""Public names and where they live: read by editors and type checkers, and by the package itself."""

from .feedback import feedback as feedback
from .journal import Journal as Journal
from .midi_recording import take_from_midi as take_from_midi
from .ladder import Ladder as Ladder
from .measure import measure as measure
from .measured_limits import measured_limits as measured_limits
from .take import Take as Take
from .feedback import when_lost as when_lost

"""Public names and where they live: read by editors and type checkers, and by the package itself."""

from .assignment import answer_key as answer_key, assignment as assignment
from .demo import demo_class as demo_class
from .gradebook import gradebook as gradebook
from .handing_out import write_assignment as write_assignment
from .bank.catalogue import question_bank as question_bank
from .bank.takes import taps_of as taps_of
from ..export.handout import handout_pack as handout_pack

"""Public names and where they live: read by editors and type checkers, and by the package itself."""

from .draw.figure import figure as figure
from .draw.pictures import homes as homes, shared_grid as shared_grid, strip as strip
from .draw.progress import progress as progress
from .draw.gap_cycle import gap_cycle as gap_cycle
from .draw.ways import ways as ways
from .export.film import filmed as filmed

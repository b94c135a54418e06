"""Time to import the package; run it with ``python -m pytest tests/benchmarks -s``."""

import subprocess
import sys
from statistics import median
from time import perf_counter

ROUNDS = 11


def start_python(code: str) -> float:
    """Return the seconds that a fresh interpreter takes to run a line of code and end."""
    start = perf_counter()
    subprocess.run([sys.executable, "-c", code], check=True)
    return perf_counter() - start


def test_the_import_is_a_small_part_of_importing_numpy():
    """Beyond bare Python, ``import rhythmlab`` takes at most 0.3 times as long as ``import numpy``."""
    lines = ("pass", "import rhythmlab", "import numpy")
    for line in lines:
        start_python(line)
    rounds = [[start_python(line) for line in lines] for _ in range(ROUNDS)]
    bare, ours, peer = map(median, zip(*rounds, strict=True))
    measured = (ours - bare) / (peer - bare)
    print(
        f"\nimport rhythmlab {1000 * (ours - bare):.1f} ms, import numpy {1000 * (peer - bare):.1f} ms "
        f"beyond bare Python ({1000 * bare:.1f} ms): {measured:.2f} (limit 0.3)"
    )
    assert measured <= 0.3

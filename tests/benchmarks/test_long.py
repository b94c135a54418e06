"""The long matrices, whole: what the default run and CI try in part.

Run it with ``python -m pytest tests/benchmarks/test_long.py -s``; a release runs everything so, by
``RHYTHMLAB_TESTS=long .ci/run``.
"""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
#: Every module of tests that tries a part of something.
SAMPLED = sorted(
    path.relative_to(ROOT).as_posix()
    for path in (ROOT / "tests").rglob("test_*.py")
    if path.parent != Path(__file__).parent
    and re.search(r"from tests\.profile import .*\b(?:some|LONG)\b", path.read_text(encoding="utf-8"))
)


def test_there_are_some():
    """The sweep finds the modules that try a part."""
    assert "tests/panels/test_refused.py" in SAMPLED
    assert "tests/browser/test_letters.py" in SAMPLED


@pytest.mark.parametrize("module", SAMPLED)
def test_the_whole_of_a_matrix_is_tried(module):
    """With nothing left out, every law of the module holds."""
    env = {**os.environ, "RHYTHMLAB_TESTS": "long"}
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", module], cwd=ROOT, env=env, capture_output=True, text=True
    )
    print(f"\n{module}: {done.stdout.strip().splitlines()[-1]}")
    assert done.returncode == 0, done.stdout[-5000:]

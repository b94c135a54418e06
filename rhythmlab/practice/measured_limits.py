"""How fast the reader's own steady strokes are: found in the strokes of a try, and read from the journal."""

import numpy as np

from rhythmlab.core.check import a
from rhythmlab.core.public import public
from rhythmlab.core.types import Floats
from rhythmlab.practice.history import number_of
from rhythmlab.practice.journal import Journal

#: What can be measured, and the limit that it moves.
MEASURABLE = {
    "one hand, stroke after stroke": "hand_sustained",
    "parts counted aloud, hand to hand": "part_uneven",
}
#: Intervals in a row that must be steady, and their largest spread as a share of their mean (own choices).
STEADY, EVEN = 12, 0.15


def steady_ms(times: Floats) -> tuple[float, float] | None:
    """Return the fastest steady run of strokes: mean interval in ms, and its spread as a share of it.

    Parameters
    ----------
    times : numpy.ndarray
        float64 seconds, rising.

    Returns
    -------
    (float, float) or None
        ``None`` if no twelve intervals in a row are steady.

    Examples
    --------
    >>> steady_ms(np.arange(20) * 0.15)[0]
    150.0
    """
    gaps = np.diff(times) * 1000
    found = []
    for start in range(len(gaps) - STEADY + 1):
        run = gaps[start : start + STEADY]
        share = float(run.std() / run.mean()) if run.mean() > 0 else 1.0
        if share <= EVEN:
            found.append((round(float(run.mean()), 1), share))
    return min(found, default=None)


@public("practice.measured_limits()")
def measured_limits(journal: Journal | None = None) -> dict[str, float]:
    """Return the reader's own limits from the journal: the best of the last day that each was measured.

    Parameters
    ----------
    journal : Journal, optional
        The one in the reader's folder when left out.

    Returns
    -------
    dict
        By name, as `limits` and `choose_way` take them: ``"hand_sustained"`` in milliseconds,
        ``"part_uneven"`` in strokes a second.  Empty where nothing was measured yet.

    Raises
    ------
    ValueError
        If `journal` is not a `Journal`, or its file cannot be read.

    Examples
    --------
    >>> import tempfile
    >>> journal = Journal(f"{tempfile.mkdtemp()}/journal.jsonl")
    >>> _ = journal.append({"kind": "limit", "key": "hand_sustained", "value": 140.0, "unit": "ms"})
    >>> measured_limits(journal)
    {'hand_sustained': 140.0}
    """
    if journal is not None:
        a(Journal, journal, "journal", "practice.measured_limits(rl.practice.Journal())")
    seen = (journal or Journal()).glance()
    heads = seen.of("limit")
    rows = list(zip(heads, seen.brief(heads), strict=True))
    found: dict[str, float] = {}
    for key in MEASURABLE.values():
        tries = [
            (head.day, row["value"])
            for head, row in rows
            if head.day and row.get("key") == key and _above_0(row.get("value"))
        ]
        if tries:
            last = max(day for day, _ in tries)
            values = [value for day, value in tries if day == last]
            found[key] = min(values) if key == "hand_sustained" else max(values)
    return found


def _above_0(value: object) -> bool:
    return isinstance(value, int | float) and (number_of(value) or 0) > 0

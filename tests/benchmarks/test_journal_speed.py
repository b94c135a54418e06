"""A journal of ten thousand takes: page 08 opens within a second, and a take is kept as fast as ever."""

import json
from time import process_time

import numpy as np
import pytest

import rhythmlab as rl
from rhythmlab.panels.takes import Takes, _measured, read_take
from rhythmlab.practice import journal
from rhythmlab.practice.journal import Journal
from tests.panels.test_takes import message, send

TAKES = 10_000


@pytest.fixture(scope="module")
def contents() -> bytes:
    """Return a journal of 10,000 takes of 4 against 3 over seven years, with strokes that are not even."""
    draw = np.random.default_rng(7)
    sent = message(bpm=60)
    sent["taps"] = [[lane, time + draw.normal(0, 0.01)] for lane, time in sent["taps"]]
    row, _ = _measured(read_take(sent))
    rows = [journal.journal_line({journal.HEAD: journal.VERSION})]
    for n, when in enumerate(
        np.datetime64("2023-01-01T08:00") + 6 * np.arange(TAKES) * np.timedelta64(1, "h")
    ):
        rows.append(
            journal.journal_line({"kind": "take", "id": f"t{n}", "when": f"{when}:00+02:00", **_less(row)})
        )
    return b"".join(rows)


def _less(row: dict) -> dict:
    return {key: value for key, value in row.items() if key not in ("kind", "id", "when")}


@pytest.fixture
def place(tmp_path, monkeypatch, contents):
    """Go to a folder with that journal, of which nothing is known yet."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "journal.jsonl").write_bytes(contents)
    journal._known.clear()
    return tmp_path


def seconds(call) -> float:
    start = process_time()
    call()
    return process_time() - start


def test_page_08_opens_within_a_second(place, contents):
    """The first time in a kernel it is less than a second of work, about what decoding the file takes."""
    rl.pages.find_grid(3, 2)  # everything is imported
    took, decoding = [], []
    for _ in range(5):
        journal._known.clear()
        took.append(seconds(lambda: rl.pages.practise(4, 3)))
        decoding.append(seconds(lambda: [json.loads(line) for line in contents.splitlines()]))
    print(f"\npage 08 with {TAKES:,} takes: {min(took):.2f} s; decoding the file {min(decoding):.2f} s")
    assert min(took) < 1
    assert min(took) < 1.5 * min(decoding)


def test_the_journal_in_a_cell_is_shown_at_once(place):
    """The table of the last takes reads twelve of them."""
    took = seconds(lambda: Journal()._repr_html_())
    print(f"\nthe table: {took:.2f} s")
    assert took < 0.5


def test_a_take_is_kept_without_reading_all_again(place):
    """On page 08 and on any other page, the journal being known: a tenth of what reading it takes."""
    reading = min(seconds(Journal().read) for _ in range(3))
    other = rl.pages.merge_pulses(4, 3)
    send(other.stage, message(bpm=60, id="first"))
    kept = [seconds(lambda n=n: send(other.stage, message(bpm=60, id=f"more {n}"))) for n in range(5)]
    page = rl.pages.practise(4, 3)
    there = [seconds(lambda n=n: send(page.stage, message(bpm=60, id=f"there {n}"))) for n in range(5)]
    print(f"\nreading {reading:.2f} s; a take {min(kept):.3f} s, on page 08 {min(there):.3f} s")
    assert isinstance(page.takes, Takes)
    assert min(kept) < 0.1 * reading
    assert min(there) < 0.3 * reading

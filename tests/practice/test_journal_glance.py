"""A journal at a glance says the same as one that is read, whatever has happened to the file."""

import json
import zlib
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rhythmlab.practice import journal as journal_module
from rhythmlab.practice import journal as looking
from rhythmlab.practice.journal import Journal, glance
from tests.profile import tries

PATH = Path("journal.jsonl")
LEFT_OUT = {"lanes", "tap_lanes", "tap_times", "measured", "said", "crc32"}
TEXT = 'a "quote", a [ and a ] \\ and ,"said":["x"]'
TAKE = {
    "pair": [4, 3],
    "pulse": 1,
    "bpm": "171/2",
    "limbs": TEXT,
    "lanes": [0, 1],
    "cycle": {
        "ticks": 12,
        "beats": [0, 4, 8],
        "bars": [],
        "lanes": [{"name": TEXT, "onsets": [0, 3], "limb": ""}],
    },
    "tap_lanes": [0, 1],
    "tap_times": [0.1, -2e-05],
    "missed": 0,
    "measured": [{"name": TEXT, "lane": 0}, {"name": "[", "lane": 1}],
    "said": [TEXT, "]"],
    "last": "kept",
}


def entry(number: int, kind: str = "take", **more) -> dict:
    return {"kind": kind, "id": f"n{number}", "when": f"2030-05-0{1 + number % 9}T18:30:00+02:00", **more}


ENTRIES = [
    entry(1, **TAKE),
    entry(2, "session", minutes=35),
    entry(3, "note", text=TEXT),
    {"kind": "note", "id": 'odd "id"', "when": "no time"},
    {"id": "odd order", "kind": "take", "when": "2030-05-04T18:30:00+02:00", "pair": "4:3"},
    entry(1, **TAKE),
    entry(2, "session", minutes=36),
    entry(4, "limit", key="flam", value=31.5),
    {"kind": "take"},
]
LINES = [
    journal_module.journal_line({journal_module.HEAD: journal_module.VERSION}),
    *map(journal_module.journal_line, ENTRIES),
]


def agrees(contents: bytes) -> None:
    """Hold a glance against what reading all of it gives."""
    read, seen = journal_module.parsed(contents, PATH.name), glance(contents, PATH)
    assert [seen.whole(head) for head in seen.heads] == list(read)
    assert seen.warning == read.warning
    for head, brief, whole in zip(seen.heads, seen.brief(seen.heads), read, strict=True):
        assert (head.kind, head.when) == (str(whole.get("kind")), whole.get("when"))
        left = {key: value for key, value in whole.items() if key not in LEFT_OUT}
        kept = {key: value for key, value in brief.items() if key not in LEFT_OUT}
        if isinstance(left.get("cycle"), dict) and "ticks" in left["cycle"]:
            assert kept.pop("cycle")["ticks"] == left.pop("cycle")["ticks"]
        assert kept == left


@st.composite
def damage(draw) -> bytes:
    """Draw a journal: lines in any order and number, some cut, flipped, or run together with the next."""
    chosen = draw(st.lists(st.sampled_from(LINES), max_size=8))
    made = b""
    for line in chosen:
        what = draw(st.sampled_from(["whole", "whole", "cut", "flipped", "joined", "padded", "rubbish"]))
        at = draw(st.integers(0, len(line) - 1))
        made += {
            "whole": line,
            "cut": line[:at] + b"\n",
            "flipped": line[:at] + bytes([line[at] ^ draw(st.integers(1, 255))]) + line[at + 1 :],
            "joined": line[:-1],
            "padded": b" " + line[:-1] + b" \r\n",
            "rubbish": b"\xff\0{" + line[at:],
        }[what]
    return made


@settings(max_examples=tries(400), deadline=None)
@given(damage())
def test_a_glance_agrees_with_reading(contents):
    """Entries, heads and what is told are the same; in brief all but strokes, taps, lanes and sentences."""
    looking._known.clear()
    agrees(contents)


@settings(max_examples=tries(200), deadline=None)
@given(damage(), damage(), damage(), st.booleans())
def test_a_journal_that_grew_or_changed_is_seen_as_it_is_now(first, more, other, changed):
    """Looked at, then longer or rewritten, then looked at again: never what was there before."""
    looking._known.clear()
    agrees(first)
    agrees((other if changed else first) + more)
    agrees(first + more)


@pytest.mark.parametrize("at", [0, 30, -40])
def test_a_byte_that_flips_in_the_old_part_is_told(at):
    """Between two looks the part that was known is damaged: the second look says so."""
    whole = b"".join(LINES)
    assert glance(whole, PATH).warning == journal_module.parsed(whole, PATH.name).warning
    damaged = bytearray(whole)
    damaged[len(LINES[0]) + at] ^= 1
    agrees(bytes(damaged) + journal_module.journal_line(entry(7)))


def test_only_new_lines_are_read_again(tmp_path, monkeypatch):
    """After a take was added no old line is decoded, and none at all to count the takes of today."""
    journal = Journal(tmp_path / "journal.jsonl", clock=lambda: datetime(2030, 5, 4, 18, tzinfo=UTC))
    for number in range(20):
        journal.append({"kind": "take", "id": str(number), "when": "2030-01-01T10:00:00+00:00"})
    seen = journal.glance()
    seen.brief(seen.heads)
    journal.append({"kind": "take", "id": "new"})
    read = []
    monkeypatch.setattr(looking, "_decoded", lambda text: read.append(text) or json.loads(text))
    monkeypatch.setattr(journal_module, "entry_of_line", lambda text: read.append(text))
    seen = journal.glance()
    assert [head.when[:10] for head in seen.on(journal.day())] == ["2030-05-04"]
    assert read == []
    seen.brief(seen.heads)
    assert len(read) == 1
    assert read[0].count('"kind"') == 1


def test_a_line_with_a_true_checksum_and_no_sense_breaks_nothing():
    """Something else may write such lines: they are seen as empty."""
    body = b'{"kind":"take","id":"x","when":"2030-05-04T18:30:00+02:00",'
    line = body + b',"crc32":"%08x"}' % zlib.crc32(b"}", zlib.crc32(body))
    seen = glance(LINES[0] + line + b"\n" + LINES[2], PATH)
    assert seen.brief(seen.heads)[0] == seen.whole(seen.heads[0]) == {}
    assert seen.brief(seen.heads)[1]["minutes"] == 35

"""A film: what is seen keeps time with what is heard, nothing flashes, and what cannot be made is said."""

import re
from fractions import Fraction
from html import unescape
from itertools import pairwise

import numpy as np
import pytest

import rhythmlab as rl
from rhythmlab.export import film as filming
from rhythmlab.export.film import FPS, WIDE
from tests.refusals import refusal, works

av = pytest.importorskip("av")

#: A pair, its home, its tempo, and the lane that is heard alone, so that no stroke hides another.
PLAYED = [((5, 4), 1, 72, 0), ((3, 2), 0, 110, 1)]


@pytest.fixture(scope="module", params=PLAYED, ids=lambda one: "{}:{}".format(*one[0]))
def shown(request, tmp_path_factory):
    """Give a film of two cycles with one lane sounding, its frames and its samples as they are decoded."""
    pair, home, bpm, lane = request.param
    levels = [float(i == lane) for i in range(2)]
    film = rl.pictures.filmed(pair, bpm, home=home, cycles=2, mix=rl.Mix(levels=levels, home=0))
    path = film.write(tmp_path_factory.mktemp("film") / "a.webm")
    with av.open(path) as opened:
        assert [one.codec_context.name for one in opened.streams] == ["vp9", "opus"]
        seen, heard, times = [], [], []
        for frame in opened.decode():
            if isinstance(frame, av.VideoFrame):
                seen.append(frame.to_ndarray(format="gray"))
                times.append(Fraction(frame.pts * frame.time_base))
            else:
                if not heard:
                    begins = Fraction(frame.pts * frame.time_base)
                heard.append(frame.to_ndarray())
    sound = np.concatenate(heard, axis=1).mean(axis=0)
    return film, lane, np.array(seen), times, sound, begins


def onsets(sound, rate=48_000):
    """Return the seconds at which the sound rises out of what rang before."""
    size = rate // 500
    loud = np.abs(sound[: len(sound) // size * size]).reshape(-1, size).max(axis=1)
    found, last = [], -100
    for i, now in enumerate(loud):
        before = loud[max(0, i - 10) : i].max(initial=0)
        if now > 0.1 * loud.max() and now > 3 * before and i - last > 40:
            found.append(i * size / rate)
            last = i
    return found


def playhead(frame, still):
    """Return where the playhead is in a frame, in px: the line that differs all the way down."""
    differs = (still.astype(int) - frame > 60)[4:24]  # above all strokes
    columns = np.flatnonzero(differs.mean(axis=0) > 0.7)
    return columns.mean() + 0.5 if len(columns) else None


def test_each_stroke_is_seen_within_one_frame_of_its_sound(shown):
    """Of the decoded film: as many onsets as strokes, and at each the playhead stands on a stroke."""
    film, lane, seen, times, sound, begins = shown
    still = np.median(seen[::8], axis=0)
    (scene,) = film.pages
    strokes = [one.x for one in scene.strokes(lane)] * film.sound.cycles
    heard = [float(begins) + at for at in onsets(sound)]
    assert len(heard) == len(strokes)
    tick_px = (scene.x(1) - scene.x(0)) * WIDE / scene.width
    for at, tick in zip(heard, strokes, strict=True):
        number = max(i for i, time in enumerate(times) if time <= at + 1e-3)
        there = playhead(seen[number], still)
        if there is None:  # it lies on a line of the picture
            there = scene.x(float(film.tick(number))) * WIDE / scene.width
        stands = scene.x(tick) * WIDE / scene.width
        half = (film.sound.stop - film.sound.start) / 2  # the end of a cycle is the beginning of the next
        apart = ((stands - there) / tick_px + half) % (2 * half) - half
        apart_s = apart * float(film.sound.tick_seconds)
        assert abs(apart_s) <= 1 / FPS + 0.004


def test_frames_come_steadily_and_the_playhead_is_where_its_tick_is(shown):
    """Thirty a second from zero, as many as said; in each frame the line is within a px of its place."""
    film, _, seen, times, _, begins = shown
    assert len(times) == film.frames
    assert all(abs(time - Fraction(i, FPS)) <= Fraction(1, 1000) for i, time in enumerate(times))
    assert abs(begins) <= Fraction(1, 1000)
    still = np.median(seen[::8], axis=0)
    (scene,) = film.pages
    found = 0
    for number, frame in enumerate(seen):
        tick, there = film.tick(number), playhead(frame, still)
        if tick is not None and there is not None:
            found += 1
            assert there == pytest.approx(scene.x(float(tick)) * WIDE / scene.width, abs=1.5)
    assert found > 0.8 * film.frames * film.sound.seconds / film.seconds


def test_nothing_flashes(shown):
    """What changes its luminance by a tenth from a frame to the next is far under the area of a flash."""
    _, _, seen, *_ = shown
    area = 341 * 256 / 4 * (WIDE / 1024) ** 2  # WCAG 2.2, "general flash", on a screen 1024 px wide
    most = max(int((np.abs(a.astype(int) - b) > 25).sum()) for a, b in pairwise(seen))
    assert 0 < most < area / 4


def test_captions_are_the_count_to_the_millisecond():
    """Every beat of every cycle in order, without a gap, at its exact time; no caption too short to read."""
    film = rl.pictures.filmed((5, 4), 72, cycles=2)
    assert [one.text.split()[0] for one in film.cues] == ["1", "2", "3", "4"] * 2
    assert [one.start for one in film.cues] == [Fraction(60, 72) * i for i in range(8)]
    assert all(a.stop == b.start for a, b in pairwise(film.cues))
    assert film.cues[-1].stop == film.sound.seconds
    assert film.vtt.startswith("WEBVTT\n\n00:00:00.000 --> 00:00:00.833\n1 ")
    assert len(re.findall(r"\d\d:\d\d:\d\d\.\d{3} --> \d\d:\d\d:\d\d\.\d{3}\n.+\n", film.vtt)) == 8
    fast = rl.pictures.filmed((31, 32), 300, cycles=2).cues
    assert all(one.stop - one.start >= filming.CAPTION_S for one in fast)
    assert "2 3" in " ".join(one.text for one in fast)


def test_a_long_cycle_is_shown_page_by_page():
    """The pages follow each other to the end of the cycle, and each tick is on one of them."""
    hands = rl.Lane("hands", range(0, 480, 3))
    cycle = rl.Cycle(480, [hands], beats=range(0, 480, 4), bars=range(0, 480, 16))
    film = rl.pictures.filmed(cycle, 120, cycles=1)
    assert len(film.pages) > 1
    assert film.pages[0].start == 0
    assert all(a.stop == b.start for a, b in pairwise(film.pages))
    assert film.pages[-1].stop == cycle.ticks


def test_a_count_that_is_asked_for_stands_in_the_picture():
    """Under the picture, and only then."""
    plain, counted = (rl.pictures.filmed((3, 2), 120, cycles=1, counted=one) for one in (False, True))
    before, after = (next(film._drawn()) for film in (plain, counted))
    assert len(after) >= len(before) + 62
    assert after[-60:].min() < 60


def test_a_film_is_whole_or_not_there_and_replaces_nothing(tmp_path, monkeypatch):
    """Stopped on the way neither file is there; what is there stays, the film or its captions."""
    film = rl.pictures.filmed((3, 2), 240, cycles=1)
    (tmp_path / "a.vtt").write_text("mine")
    with pytest.raises(FileExistsError):
        film.write(tmp_path / "a.webm")
    assert [one.name for one in tmp_path.iterdir()] == ["a.vtt"]

    def stopped(self):
        yield next(drawn(self))
        raise KeyboardInterrupt

    drawn = filming.Film._drawn
    monkeypatch.setattr(filming.Film, "_drawn", stopped)
    with pytest.raises(KeyboardInterrupt):
        film.write(tmp_path / "b.webm")
    assert [one.name for one in tmp_path.iterdir()] == ["a.vtt"]


def test_what_cannot_be_filmed_is_said(tmp_path, monkeypatch):
    """Too long, another ending, and where what it needs is missing the command that installs it."""
    monkeypatch.chdir(tmp_path)
    example = refusal(
        lambda: rl.pictures.filmed((5, 4), 60, cycles=151), "cycles=151", "longer than a film may be"
    )
    works(example)
    refusal(lambda: rl.pictures.filmed((5, 4), 60).write("a.mp4"), "path=", "does not end in .webm")
    monkeypatch.setattr(filming, "can_film", lambda: False)
    works(
        refusal(
            lambda: rl.pictures.filmed((5, 4), 60).write("a.webm"), "PyAV", 'pip install "rhythmlab[film]"'
        )
    )
    assert not (tmp_path / "a.webm").exists()


def test_a_cell_shows_a_film_in_the_colours_of_its_page_and_says_how_it_is_written(tmp_path):
    """Its picture is no white block on a dark page; the name that is said is one that can be written."""
    film = rl.pictures.filmed((5, 4), 72)
    shown = film._repr_html_()
    picture = shown[shown.index("<svg") : shown.index("</svg>")]
    assert film.pages[0].alt in unescape(picture)
    assert not re.search("#[0-9a-f]{3}", picture.replace("&#", ""))
    assert 'body[data-jp-theme-light="false"] :is(.rl-drawn){--rl-ink:#e' in shown
    (name,) = re.findall(r'\.write\("([^"]*)"\)', shown)
    assert filming.with_ending(tmp_path / name, ".webm", call="") == tmp_path / name

"""What a page plays: a WAV of about 30 seconds at most, with one sentence that says what it is."""

import base64
import io
from html.parser import HTMLParser

import numpy as np
import soundfile

import rhythmlab as rl
from rhythmlab.audio.sound import Mix, Sound, sound

SEVEN_FOUR = rl.Polyrhythm(7, 4)
TEMPO = rl.Tempo(72, pulse=1)


class Page(HTMLParser):
    """Read a snippet: the attributes of each element, and the text."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.found, self.text = {}, ""
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        self.found[tag] = dict(attrs)

    def handle_data(self, data):
        self.text += data


def playable(s: Sound) -> tuple[Page, np.ndarray]:
    page = Page(s._repr_html_())
    kind, data = page.found["audio"]["src"].split(",")
    assert kind == "data:audio/wav;base64"
    return page, soundfile.read(io.BytesIO(base64.b64decode(data)))[0]


def test_a_static_page_plays_it_and_says_what_it_is():
    """The audio element holds the WAV and one sentence, however strange the lane's name."""
    c = rl.Cycle(4, [rl.Lane('<b>"tune" & co', [0, 2])], beats=[0])
    page, samples = playable(sound(c, rl.Tempo(120, ticks=1), cycles=2))
    said = (
        '<b>"tune" & co at 120 bpm, 2 cycles, 4 seconds: <b>"tune" & co on high wood block '
        "and home on bass drum."
    )
    assert page.found["audio"]["aria-label"] == page.text == said
    assert set(page.found) == {"div", "figure", "audio", "figcaption"}
    assert "controls" in page.found["audio"]
    assert len(samples) == 4 * 48_000


def test_a_page_plays_whole_cycles_of_a_long_sound():
    """Of 100 cycles of 3.3 seconds after a count-in the first eight are played, and the page says so."""
    s = sound(SEVEN_FOUR, TEMPO, cycles=100, count_in=2)
    page, samples = playable(s)
    assert page.text.endswith("Played here: the first 8 cycles.")
    assert np.abs(samples - sound(SEVEN_FOUR, TEMPO, cycles=8, count_in=2).samples()).max() <= 0.5 / 32768


def test_a_page_fades_out_of_a_long_cycle():
    """A cycle of 63 seconds is cut at 30, fading in the last 20 ms so that nothing clicks."""
    s = sound(
        rl.Polyrhythm(64, 63), rl.Tempo(60, pulse=1), mix=Mix(levels=[0, 1], sounds=["bell"] * 2, ticks=1)
    )
    page, samples = playable(s)
    assert page.text.endswith("Played here: the first 30 seconds.")
    assert len(samples) == 30 * 48_000
    whole = s._block(0, 30 * 48_000)
    assert np.abs(samples[:-960] - whole[:-960]).max() <= 0.5 / 32768
    assert np.abs(samples[-960:]).max() < np.abs(whole[-960:]).max() or not whole[-960:].any()
    assert not samples[-1].any()


def test_the_player_of_a_notebook_has_the_same_wav():
    """`player()` embeds the bytes that the static page has."""
    s = sound(SEVEN_FOUR, TEMPO, cycles=1)
    player = s.player()
    assert player.data == s._wav()[0]
    assert 'type="audio/wav"' in player._repr_html_()
